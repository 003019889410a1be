"""The rhythm under the tab staff when no notation staff carries it: stems, beams, flags, dots, rests."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace

from transcribe.write.beams import FLAGS
from transcribe.write.engraver.canvas import Canvas, Shape
from transcribe.write.engraver.frame import Frame
from transcribe.write.engraver.measures import TAB_HEIGHT, TAB_SPACE
from transcribe.write.engraver.notation import FLAG_NAMES
from transcribe.write.engraver.plan import Cell, Slot
from transcribe.write.engraver.sheet import Sheet
from transcribe.write.engraver.stems import BEAM_STEP, BEAM_THICK, STEM_WIDTH, Stem, draw_beams, draw_stem

STEM_FROM = 6.0  # under the lowest string, or over the highest
STEM_TO = 41.0
OVER_BENDS = 4.0  # air between a bend's arrow and a beam or flag over it
HALF_NOTE_FROM = 24.0  # a half note's stem is short (common practice in tab), a whole note has none
DOT_AIR = 2.6
REST_AWAY = 24.0


def draw_tab_rhythm(canvas: Canvas, frame: Frame, sheet: Sheet) -> None:
    """Draw stems under the tab staff; with two voices, those of the upper one over it."""
    beamed: dict[tuple[int, int, int], list[tuple[Slot, Cell]]] = defaultdict(list)
    for slot in frame.slots:
        for cell in slot.cells:
            if cell.event.is_rest:
                _rest(canvas, slot, cell, frame, sheet)
                continue
            stem = _stem(frame.x_of(slot), cell, stems_go_up(_bar_of(slot, frame), cell))
            _dots(canvas, stem, cell, sheet)
            if cell.group is not None:
                beamed[slot.bar, cell.voice, cell.group].append((slot, cell))
            elif cell.event.value.type != "whole":
                _lone(canvas, stem, sheet)
    for (bar, _, _), members in beamed.items():
        up = stems_go_up(sheet.plans[bar].slots, members[0][1])
        stems = [_stem(frame.x_of(slot), cell, up) for slot, cell in members]
        room = BEAM_THICK + BEAM_STEP * (max(stem.level for stem in stems) - 1)
        tip = _tip(canvas, stems[0].x, stems[-1].x, room, up=up)
        for stem in stems:
            draw_stem(canvas, stem, tip)
        draw_beams(canvas, stems, [tip] * len(stems))


def _lone(canvas: Canvas, stem: Stem, sheet: Sheet) -> None:
    """Draw a stem that no beam joins to others, with its flag."""
    up = stem.direction > 0
    flag: list[Shape] = []
    if stem.type in FLAGS:
        name = f"flag {FLAG_NAMES[stem.type]} {'up' if up else 'down'}"
        flag = [replace(shape, kind="flag") for shape in sheet.art.glyphs[name]]
    right, hangs = max((s.right for s in flag), default=0.0), max((s.bottom for s in flag), default=0.0)
    tip = _tip(canvas, stem.x, stem.x + right, hangs, up=up)
    draw_stem(canvas, stem, tip)
    canvas.shapes(flag, stem.x - STEM_WIDTH / 2, tip)


def _tip(canvas: Canvas, left: float, right: float, room: float, *, up: bool) -> float:
    """Return where stems end: over the bends' arrows where they go up, with ``room`` for their flags or beams."""
    if not up:
        return TAB_HEIGHT + STEM_TO
    return min(-STEM_TO, canvas.top_over(left - 1.0, right + 1.0) - OVER_BENDS - room)


def stems_go_up(slots: Sequence[Slot], cell: Cell) -> bool:
    """Return whether a cell's stems stand over the tab staff: it is the upper of two voices in its bar's slots."""
    return cell.voice == 0 and any(len(slot.cells) > 1 or any(cell.voice for cell in slot.cells) for slot in slots)


def _bar_of(slot: Slot, frame: Frame) -> Sequence[Slot]:
    return frame.plans[slot.bar - frame.first_index].slots


def _stem(x: float, cell: Cell, up: bool) -> Stem:
    start = HALF_NOTE_FROM if cell.event.value.type == "half" else STEM_FROM
    near = -start if up else TAB_HEIGHT + start
    return Stem(x, near, near, 1 if up else -1, cell.event.value.type, cell.beams)


def _dots(canvas: Canvas, stem: Stem, cell: Cell, sheet: Sheet) -> None:
    y = -STEM_FROM - 4.0 if stem.direction > 0 else TAB_HEIGHT + STEM_FROM + 4.0
    if cell.event.value.type == "half":
        y = -HALF_NOTE_FROM - 4.0 if stem.direction > 0 else TAB_HEIGHT + HALF_NOTE_FROM + 4.0
    for dot in range(cell.event.value.dots):
        shapes = [replace(shape, kind="dot") for shape in sheet.art.glyphs["dot"]]
        canvas.shapes(shapes, stem.x + DOT_AIR + 5.5 * dot, y)


def _rest(canvas: Canvas, slot: Slot, cell: Cell, frame: Frame, sheet: Sheet) -> None:
    kind = "whole" if cell.fills_bar else cell.event.value.type
    shapes = [replace(shape, kind="rest") for shape in sheet.art.glyphs[f"rest {kind}"]]
    width = max(shape.right for shape in shapes)
    x = frame.x_of(slot)
    if cell.fills_bar:
        place = slot.bar - frame.first_index
        x = (frame.edges[place] + frame.edges[place + 1]) / 2.0
    y = TAB_SPACE * 2 if kind == "whole" else TAB_HEIGHT / 2
    if any(other.heads for other in slot.cells):  # beside the other voice's number: where its own stems stand
        y = -REST_AWAY if cell.voice == 0 else TAB_HEIGHT + REST_AWAY
    canvas.shapes(shapes, x - width / 2, y)
    if not cell.fills_bar:
        for dot in range(cell.event.value.dots):
            dots = [replace(shape, kind="dot") for shape in sheet.art.glyphs["dot"]]
            canvas.shapes(dots, x + width / 2 + 3.0 + 5.5 * dot, y - 5.0)
