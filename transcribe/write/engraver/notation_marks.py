"""What joins heads on the notation staff: ties, slurs, slides; and tuplet signs on either staff."""

from __future__ import annotations

from collections.abc import Mapping

from transcribe.write.engraver.canvas import Canvas, Point, Words, number
from transcribe.write.engraver.curves import arc
from transcribe.write.engraver.frame import Frame
from transcribe.write.engraver.links import HeadAt, Join
from transcribe.write.engraver.measures import STAFF_HEIGHT, TUPLET_SIZE
from transcribe.write.engraver.notation_bends import SMALL_HALF, bend_end
from transcribe.write.engraver.plan import Cell, Slot
from transcribe.write.engraver.sheet import Sheet
from transcribe.write.fonts import SERIF_ITALIC

Tips = Mapping[tuple[int, int], float]
TIE_BESIDE = 6.0  # a tie lies nearer to its heads
HALF_TIE = 15.0  # a tie that comes from the line before
BESIDE = 8.0  # from the middle of a head to a slur over or under it
NEAR_END = 10.0
CLEAR_END = 1.5
SLIDE_AIR = 2.5
SLIDE_RUN = 10.0
BRACKET_HOOK = 5.0
FINGER_COLUMN = 7.3  # room of a fretting finger before its head


def draw_joins(canvas: Canvas, frame: Frame, sheet: Sheet, tips: Tips) -> None:
    """Draw ties, slurs and slides; those that cross a line break are drawn in halves."""
    for before, after in sheet.links.ties:
        _tie(canvas, frame, sheet, before, after)
    for join in sheet.links.joins:
        slide = join.source.take.note.slide
        slides = join.kind == "shift" or join.target.take.note.attack == "slide"
        if slides or (slide is not None and slide.to == join.target.take.id):
            _slide(canvas, frame, sheet, join)
    for head in sheet.links.heads:
        if frame.holds(head.slot):
            _open_slide(canvas, frame, sheet, head)
    for first, last in sheet.links.chains:
        _slur(canvas, frame, sheet, first, last, tips)


def _y(sheet: Sheet, head: HeadAt) -> float:
    return sheet.art.cells[head.slot.number, head.cell.voice].ys[head.index]


def _sides(sheet: Sheet, frame: Frame, head: HeadAt) -> tuple[float, float]:
    """Left and right end of a cell, accidentals and dots included."""
    art = sheet.art.cells[head.slot.number, head.cell.voice]
    x = frame.x_of(head.slot)
    return x - art.left, x + art.right


def _tie(canvas: Canvas, frame: Frame, sheet: Sheet, before: HeadAt, after: HeadAt) -> None:
    starts, ends = frame.holds(before.slot), frame.holds(after.slot)
    if not starts and not ends:
        return
    head = before if starts else after
    y = _y(sheet, head)
    count = len(head.cell.heads)
    upper = head.index >= count / 2 if count > 1 else head.cell.stem < 0
    if count > 1 and count % 2 == 1 and head.index == count // 2:
        upper = head.cell.stem < 0
    sign = 1.0 if upper else -1.0
    offset = 0.0 if count > 1 else TIE_BESIDE
    inward = 6.5 if count > 1 else 1.5  # inside a chord ties run from head to head, alone they hang under them
    bent = bend_end(before, sheet) if starts else None
    if bent is not None:
        y = bent[1]
    begin = frame.x_of(before.slot) + (bent[0] if bent else 0.0) if starts else 0.0
    left = begin + inward if starts else frame.x_of(after.slot) - HALF_TIE
    right = frame.x_of(after.slot) - inward if ends else frame.edges[-1] - 1.0
    if count > 1 and starts:
        left = max(left, begin if bent else _sides(sheet, frame, before)[1] + 1.0)
    if right - left < 6.0:
        left = right - 6.0
    height = min(9.0, 3.5 + 0.05 * (right - left))
    arc(canvas, "tie", (left, y - sign * offset), (right, y - sign * offset), sign * height)


def _slide(canvas: Canvas, frame: Frame, sheet: Sheet, join: Join) -> None:
    starts, ends = frame.holds(join.source.slot), frame.holds(join.target.slot)
    if not starts and not ends:
        return
    y1, y2 = _y(sheet, join.source), _y(sheet, join.target)
    rising = join.target.take.note.midi >= join.source.take.note.midi
    bent = bend_end(join.source, sheet)
    left = _sides(sheet, frame, join.source)[1] + SLIDE_AIR if starts else 0.0
    if starts and bent is not None:
        left, y1 = frame.x_of(join.source.slot) + bent[0] + SMALL_HALF + SLIDE_AIR, bent[1]
    if abs(y2 - y1) < 3.0:
        y1, y2 = (y1 + 2.0, y2 - 2.0) if rising else (y1 - 2.0, y2 + 2.0)
    right = _left_of(sheet, frame, join.target) - SLIDE_AIR if ends else frame.edges[-1] - 2.0
    if not starts:
        left, y1 = right - SLIDE_RUN, y2 + (3.0 if rising else -3.0)
    if not ends:
        y2 = y1 + (-4.0 if rising else 4.0)
    if right - left > 3.0:
        _line(canvas, left, y1, right, y2)


def _left_of(sheet: Sheet, frame: Frame, head: HeadAt) -> float:
    place = head.take.placement
    has_finger = sheet.shows("fingers") and place is not None and bool(place.finger)
    return _sides(sheet, frame, head)[0] - (FINGER_COLUMN if has_finger else 0.0)


def _open_slide(canvas: Canvas, frame: Frame, sheet: Sheet, head: HeadAt) -> None:
    slide = head.take.note.slide
    if slide is None:
        return
    y = _y(sheet, head)
    rise = 3.5 if slide.cents >= 0 else -3.5
    if slide.kind == "in" and not head.head.note.tied_from:
        right = _left_of(sheet, frame, head) - SLIDE_AIR
        _line(canvas, right - SLIDE_RUN, y + 2 * rise, right, y)
    if slide.kind == "out" and not head.head.note.tied_to:
        left = _sides(sheet, frame, head)[1] + SLIDE_AIR
        _line(canvas, left, y, left + SLIDE_RUN, y - 2 * rise)


def _line(canvas: Canvas, x1: float, y1: float, x2: float, y2: float) -> None:
    canvas.stroke("slide", f"M{number(x1)} {number(y1)}L{number(x2)} {number(y2)}", [(x1, y1), (x2, y2)])


def _slur(canvas: Canvas, frame: Frame, sheet: Sheet, first: HeadAt, last: HeadAt, tips: Tips) -> None:
    starts, ends = frame.holds(first.slot), frame.holds(last.slot)
    if not starts and not ends:
        return
    inside = [
        cell
        for slot in frame.slots
        if first.slot.number <= slot.number <= last.slot.number
        for cell in slot.cells
        if cell.voice == first.cell.voice
    ]
    above = first.cell.voice == 0 and any(cell.stem < 0 and cell.heads for cell in inside)
    sign = 1.0 if above else -1.0
    start = (frame.x_of(first.slot), _slur_y(sheet, first, sign, tips)) if starts else None
    end = (frame.x_of(last.slot), _slur_y(sheet, last, sign, tips)) if ends else None
    if start is None and end is not None:
        start = (max(frame.edges[0], end[0] - 30.0), end[1])
    if end is None and start is not None:
        end = (frame.edges[-1] - 2.0, start[1])
    assert start is not None
    assert end is not None
    start, end, height = _cleared(canvas, start, end, sign)
    arc(canvas, "slur", start, end, sign * height)


def _cleared(canvas: Canvas, start: Point, end: Point, sign: float) -> tuple[Point, Point, float]:
    """A slur's ends and height, raised until it clears what stands under it."""
    (x1, y1), (x2, y2) = start, end
    obstacles = [
        (x, box.top if sign > 0 else box.bottom)
        for box in canvas.boxes
        if box.kind in ("head", "cue", "text", "accidental", "bend") and box.right > x1 + 3.0 and box.left < x2 - 3.0
        for x in (max(box.left, x1), min(box.right, x2))
    ]
    for x, y in obstacles:  # right beside an end the bow is too flat to clear anything: the end itself moves
        if x1 <= x < x1 + NEAR_END:
            y1 -= sign * max(0.0, sign * (y1 - y) + CLEAR_END)
        if x2 - NEAR_END < x <= x2:
            y2 -= sign * max(0.0, sign * (y2 - y) + CLEAR_END)
    height = min(16.0, 4.0 + 0.07 * (x2 - x1))
    for x, y in obstacles:
        share = (x - x1) / (x2 - x1)
        if NEAR_END / (x2 - x1) < share < 1.0 - NEAR_END / (x2 - x1):
            lack = sign * (y1 + share * (y2 - y1) - y) + 3.0
            height = max(height, lack / max(0.4, 4.0 * share * (1.0 - share)))
    return (x1, y1), (x2, y2), height


def _slur_y(sheet: Sheet, head: HeadAt, sign: float, tips: Tips) -> float:
    """Where a slur meets a cell: beside its outer head, or past the stem when that is on its side."""
    ys = sheet.art.cells[head.slot.number, head.cell.voice].ys
    tip = tips.get((head.slot.number, head.cell.voice))
    if tip is not None and head.cell.stem * sign > 0:
        return tip - sign * 3.5
    return (min(ys) if sign > 0 else max(ys)) - sign * BESIDE


def tuplet_groups(frame: Frame) -> list[list[tuple[Slot, Cell]]]:
    """Return the cells of each tuplet in this system."""
    groups: list[list[tuple[Slot, Cell]]] = []
    for plan in frame.plans:
        for voice in range(2):
            running: list[tuple[Slot, Cell]] = []
            for slot in plan.slots:
                for cell in slot.cells:
                    if cell.voice != voice or cell.event.value.tuplet is None:
                        continue
                    if cell.event.tuplet_starts:
                        running = []
                    running.append((slot, cell))
                    if cell.event.tuplet_stops:
                        groups.append(running)
                        running = []
    return groups


def draw_tuplets(canvas: Canvas, frame: Frame, tips: Tips, *, floor: float = STAFF_HEIGHT, under: bool = False) -> None:
    """Draw the number of each tuplet at its beam, with a bracket where no beam holds it together."""
    for group in tuplet_groups(frame):
        cells = [cell for _, cell in group]
        value = cells[0].event.value.tuplet
        assert value is not None
        beamed = cells[0].group is not None and all(cell.group == cells[0].group for cell in cells)
        up = not under and sum(cell.stem for cell in cells if cell.heads) >= 0
        left = frame.x_of(group[0][0]) - 6.0
        right = frame.x_of(group[-1][0]) + 6.0
        words = Words(str(value[0]), TUPLET_SIZE, SERIF_ITALIC)
        edge = canvas.top_over(left, right) if up else canvas.bottom_over(left, right, floor)
        edge = min(edge, 0.0) if up and not beamed else max(edge, floor) if not beamed else edge
        _tuplet(canvas, left, right, edge, up, None if beamed else words, words)


def _tuplet(
    canvas: Canvas, left: float, right: float, edge: float, up: bool, bracket: Words | None, words: Words
) -> None:
    middle = (left + right) / 2.0
    drop = words.size * 0.33
    if bracket is None:
        baseline = edge - 2.5 if up else edge + 2.5 + 2 * drop
        canvas.words(words, middle, baseline, kind="tuplet")
        return
    y = edge - 6.0 if up else edge + 6.0
    hook = BRACKET_HOOK if up else -BRACKET_HOOK
    gap = words.width / 2 + 2.5
    for start, end, corner in ((left, middle - gap, left), (middle + gap, right, right)):
        canvas.stroke(
            "tuplet", f"M{number(start)} {number(y)}L{number(end)} {number(y)}", [(start, y), (end, y)], width=1.0
        )
        canvas.stroke(
            "tuplet",
            f"M{number(corner)} {number(y)}L{number(corner)} {number(y + hook)}",
            [(corner, y), (corner, y + hook)],
            width=1.0,
        )
    canvas.words(words, middle, y + drop, kind="tuplet")
