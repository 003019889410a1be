"""Bends on the notation staff: small heads at the pitches a string is pushed to, led to by an angled line.

Common practice of printed guitar music: the note is written at the pitch it begins with, the pitch a bend reaches
follows as a small head, and an angled line (a slur with a corner) joins them, so that it cannot be read as a legato
slur or as a slide. A pre-bend shows its fretted pitch, which is not heard, as a small head in brackets before the
note. What lies between semitones has no head of its own: an arrow with the amount curls up from the note.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise

from transcribe.write.beams import FLAGS
from transcribe.write.engraver.bends import AIR_OVER, LABEL_RISE, bend_label
from transcribe.write.engraver.canvas import Canvas, Point, Shape, number
from transcribe.write.engraver.curves import bow_up
from transcribe.write.engraver.frame import Frame
from transcribe.write.engraver.links import HeadAt
from transcribe.write.engraver.measures import BEND_RUN, LINE_THICK, STAFF_HEIGHT
from transcribe.write.engraver.notation import finger_reach
from transcribe.write.engraver.plan import Cell, Slot, SmallHead
from transcribe.write.engraver.sheet import Sheet
from transcribe.write.engraver.system import BoxKind

HALF_STEP = 5.0  # from a line of the staff to the next space
SMALL_HALF = 3.8  # half the width of a small head
GAP = 7.0  # between heads: room for the line to be seen
SIGN_GAP = 1.5  # from an accidental or bracket to its head
BEFORE_NEXT = 2.0  # after the last of them
FLAG_REACH = 12.0  # from a stem to where its flag ends
LEDGER_OVER = 2.2  # how far a ledger line reaches past a small head
OFF_HEAD = 5.5  # from the middle of a head to an end of its line
CORNER = 8.0  # from the farther head to the corner of the line
LINE, PARTS = 1.1, 4  # how thick the line is; boxes along each half of it
CURL = 16.0  # how high an arrow curls up from a head at least


@dataclass(slots=True)
class _Filled:
    """What stands in a column already: the places of its heads, and the room its accidentals take before them."""

    lines: set[int] = field(default_factory=set)
    signs: float = 0.0


@dataclass(frozen=True, slots=True)
class Column:
    """Where the small heads of one step of all bends in a slot stand: the middle of their heads, from the slot."""

    middle: float
    right: float


def bend_reach(slot: Slot, sheet: Sheet) -> tuple[float, float]:
    """Return how far a slot reaches to the left and right for the sake of its bends; 0 where it has none."""
    left = right = 0.0
    if any(head.before for cell in slot.cells for head in cell.heads):
        widest = max(_lead(head.before, sheet) for cell in slot.cells for head in cell.heads if head.before)
        left = _left_edge(slot, sheet) + _brackets(sheet) + 2 * SMALL_HALF + widest + GAP / 2
    columns = columns_of(slot, sheet)
    if columns:
        right = columns[-1].right
    return left, right


def bend_end(head: HeadAt, sheet: Sheet) -> tuple[float, float] | None:
    """Return where a head's bends end: the middle of its last small head from its slot, and y; None without any."""
    found = [(place, small) for place, small in enumerate(head.head.after) if small is not None]
    if not found:
        return None
    place, small = found[-1]
    return columns_of(head.slot, sheet)[place].middle, y_of(small.line)


def columns_of(slot: Slot, sheet: Sheet) -> tuple[Column, ...]:
    """Return the columns of what follows a slot's heads, from left to right."""
    count = max((len(head.after) for cell in slot.cells for head in cell.heads), default=0)
    at = _right_edge(slot, sheet) if count else 0.0
    columns = []
    for place in range(count):
        here = [head for cell in slot.cells for head in cell.heads if place < len(head.after)]
        lead = sum(_lead(head.after[place], sheet) for head in here)  # accidentals stand side by side
        lines = [small.line for head in here if (small := head.after[place]) is not None]
        aside = 2 * SMALL_HALF if any(lines.count(line + 1) for line in lines) else 0.0
        labels = [bend_label(head.note.bent[place].bend.target_cents).width for head in here if not head.after[place]]
        half = max([SMALL_HALF, *(width / 2 for width in labels)])
        middle = at + (GAP + lead if lines else BEND_RUN) + half
        at = middle + half + aside
        columns.append(Column(middle, at + BEFORE_NEXT))
    return tuple(columns)


def y_of(line: int) -> float:
    """Return how far under the top line of the staff a place in steps over the middle line is."""
    return STAFF_HEIGHT / 2 - HALF_STEP * line


def draw_notation_bends(canvas: Canvas, frame: Frame, sheet: Sheet) -> None:
    """Draw the small heads, lines and curls of every head in this system."""
    for slot in frame.slots:
        columns = columns_of(slot, sheet)
        filled = [_Filled() for _ in columns]
        heads = [HeadAt(slot, cell, head, index) for cell in slot.cells for index, head in enumerate(cell.heads)]
        for at in heads:
            if at.head.before is not None:
                _pre_bend(canvas, frame, sheet, at, at.head.before)
            _bends(canvas, frame, sheet, at, columns, filled)
        for at in heads:
            _curls(canvas, frame, sheet, at, columns)


def _bends(
    canvas: Canvas, frame: Frame, sheet: Sheet, at: HeadAt, columns: Sequence[Column], filled: Sequence[_Filled]
) -> None:
    x = frame.x_of(at.slot)
    from_x, line = x, at.head.line
    stemmed = at.cell.stem > 0 and at.cell.event.value.type != "whole"
    for place, small in enumerate(at.head.after):
        if small is None:
            continue
        middle = x + columns[place].middle
        signs_at = middle - SMALL_HALF - filled[place].signs
        if small.line - 1 in filled[place].lines or small.line + 1 in filled[place].lines:
            middle += 2 * SMALL_HALF
        filled[place].lines.add(small.line)
        filled[place].signs += _lead(small, sheet)
        _small_head(canvas, sheet, small, middle, signs_at, note=at.take.id)
        start = (from_x + (SMALL_HALF + 3.5 if stemmed and from_x == x else 0.0), y_of(line))
        _angle(canvas, start, (middle, y_of(small.line)), _side(at), note=at.take.id)
        from_x, line = middle, small.line


def _side(at: HeadAt) -> float:
    """The line of a head alone is on the side away from its stem; of several heads the top one's is over them."""
    lines = [head.line for cell in at.slot.cells for head in cell.heads]
    if len(lines) > 1:
        return 1.0 if at.head.line == max(lines) else -1.0
    if at.cell.voice:
        return -1.0
    return -1.0 if at.cell.stem > 0 else 1.0


def _angle(canvas: Canvas, start: Point, end: Point, side: float, *, note: str) -> None:
    """A line with a corner from head to head, over them for side 1 and under them for -1."""
    (x1, y1), (x2, y2) = start, end
    y1, y2 = y1 - side * OFF_HEAD, y2 - side * OFF_HEAD
    corner = ((x1 + x2) / 2, (min(y1, y2) if side > 0 else max(y1, y2)) - side * CORNER)
    points = [(x1, y1), corner, (x2, y2)]
    canvas.stroke(None, "M" + "L".join(f"{number(x)} {number(y)}" for x, y in points), points, width=LINE)
    for (left, top), (right, bottom) in pairwise(points):
        for part in range(PARTS):  # a slanted line fills little of one box around all of it
            (xa, ya), (xb, yb) = (
                (left + share * (right - left), top + share * (bottom - top))
                for share in (part / PARTS, (part + 1) / PARTS)
            )
            canvas.box("bend", xa, min(ya, yb) - LINE / 2, xb, max(ya, yb) + LINE / 2, note=note)


def _curls(canvas: Canvas, frame: Frame, sheet: Sheet, at: HeadAt, columns: Sequence[Column]) -> None:
    """Arrows with their amounts, for what lies between semitones: over the small heads of other strings."""
    x = frame.x_of(at.slot)
    y = sheet.art.cells[at.slot.number, at.cell.voice].ys[at.index]
    for place, small in enumerate(at.head.after):
        bent = at.head.note.bent[place].bend
        if small is not None or bent.kind == "release":
            continue
        middle = x + columns[place].middle
        tip = min(y - CURL, canvas.top_over(middle - 8.0, middle + 8.0) - AIR_OVER)
        bow_up(canvas, (x + _right_edge(at.slot, sheet) + 1.0, y), (middle, tip))
        canvas.words(bend_label(bent.target_cents), middle, tip - LABEL_RISE)


def _pre_bend(canvas: Canvas, frame: Frame, sheet: Sheet, at: HeadAt, small: SmallHead) -> None:
    x = frame.x_of(at.slot)
    right = x - _left_edge(at.slot, sheet) - GAP / 2
    bracket = _width(sheet.art.glyphs["small )"])
    middle = right - bracket - SIGN_GAP - SMALL_HALF
    left = _small_head(canvas, sheet, small, middle, middle - SMALL_HALF, note=at.take.id)
    for name, edge in (("small (", left - SIGN_GAP - bracket), ("small )", right - bracket)):
        shapes = sheet.art.glyphs[name]
        canvas.shapes(shapes, edge - min(shape.left for shape in shapes), y_of(small.line), note=at.take.id)
    _angle(canvas, (middle, y_of(small.line)), (x - 1.0, y_of(at.head.line)), _side(at), note=at.take.id)


def _small_head(canvas: Canvas, sheet: Sheet, small: SmallHead, middle: float, signs_at: float, *, note: str) -> float:
    """Draw a small head with its ledger lines and its accidental before ``signs_at``, and return where it begins."""
    y = y_of(small.line)
    left = middle - SMALL_HALF
    for line in _ledgers(small.line):
        over = y_of(line)
        canvas.rect("ledger", left - LEDGER_OVER, over - LINE_THICK / 2, left + 2 * SMALL_HALF + LEDGER_OVER,
                    over + LINE_THICK / 2)  # fmt: skip
    _glyph(canvas, sheet.art.glyphs["small head"], left, y, "cue", note)
    if small.sign is None:
        return left
    shapes = sheet.art.glyphs[f"small {small.sign}"]
    left = signs_at - SIGN_GAP - _width(shapes)
    _glyph(canvas, shapes, left, y, "accidental", note)
    return left


def _glyph(canvas: Canvas, shapes: Sequence[Shape], left: float, y: float, kind: BoxKind, note: str) -> None:
    drawn = [replace(shape, kind=kind) for shape in shapes]
    canvas.shapes(drawn, left - min(shape.left for shape in shapes), y, note=note)


def _ledgers(line: int) -> list[int]:
    """Lines over or under the staff that a head at a place needs, in steps over the middle line."""
    if line > 0:
        return list(range(6, line + 1, 2))
    return list(range(-6, line - 1, -2))


def _width(shapes: Sequence[Shape]) -> float:
    return max(shape.right for shape in shapes) - min(shape.left for shape in shapes)


def _lead(small: SmallHead | None, sheet: Sheet) -> float:
    """Room of an accidental before a small head."""
    if small is None or small.sign is None:
        return 0.0
    return SIGN_GAP + _width(sheet.art.glyphs[f"small {small.sign}"])


def _brackets(sheet: Sheet) -> float:
    return sum(SIGN_GAP + _width(sheet.art.glyphs[name]) for name in ("small (", "small )"))


def _left_edge(slot: Slot, sheet: Sheet) -> float:
    """How far heads, accidentals and fingers of a slot reach to the left."""
    return max(_cell_left(cell, slot, sheet) for cell in slot.cells)


def _cell_left(cell: Cell, slot: Slot, sheet: Sheet) -> float:
    art = sheet.art.cells[slot.number, cell.voice]
    return max(art.left, finger_reach(cell, art) if sheet.shows("fingers") else 0.0)


def _right_edge(slot: Slot, sheet: Sheet) -> float:
    """How far heads, dots and flags of a slot reach to the right."""
    edge = 0.0
    for cell in slot.cells:
        art = sheet.art.cells[slot.number, cell.voice]
        edge = max(edge, art.right)
        if cell.heads and cell.group is None and cell.event.value.type in FLAGS and cell.stem > 0:
            edge = max(edge, art.stem_x + FLAG_REACH)
    return edge
