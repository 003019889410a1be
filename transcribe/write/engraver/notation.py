"""The notation staff: heads, accidentals, dots, rests, stems, beams, flags, fingers beside the heads."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace

from transcribe.write.beams import FLAGS
from transcribe.write.engraver.art import CellArt
from transcribe.write.engraver.canvas import Canvas, Words, number
from transcribe.write.engraver.frame import Frame
from transcribe.write.engraver.links import HeadAt
from transcribe.write.engraver.measures import FINGER_SIZE, LINE_THICK, STAFF_HEIGHT
from transcribe.write.engraver.plan import Cell, Slot
from transcribe.write.engraver.sheet import Sheet
from transcribe.write.engraver.stems import STEM_WIDTH, Stem, beam_line, draw_beams, draw_stem, lone_tip
from transcribe.write.engraver.system import RULE
from transcribe.write.engraver.tab import ring
from transcribe.write.fonts import SERIF

FINGER_AIR = 2.0
FINGER_GAP = 0.5  # between a finger and a line of the staff
FINGER_DROP = 3.6  # from the middle of a head to the baseline of its finger
FINGERS_APART = 7.5  # fingers nearer than this stand in two columns
FLAG_NAMES = {"eighth": "8th", "16th": "16th", "32nd": "32nd"}


def staff_lines(canvas: Canvas, right: float) -> None:
    """Draw the five lines, broken where a fretting finger stands on them."""
    fingers = [box for box in canvas.boxes if box.kind == "text" and box.note is not None]
    path = ""
    for y in (10.0 * line for line in range(5)):
        at = 0.0
        for box in sorted((b for b in fingers if b.top < y < b.bottom), key=lambda b: b.left):
            path += f"M{number(at)} {number(y)}H{number(box.left - FINGER_GAP)}"
            at = box.right + FINGER_GAP
        path += f"M{number(at)} {number(y)}H{number(right)}"
    canvas.parts.insert(0, f'<path d="{path}" fill="none" stroke="{RULE}" stroke-width="{number(LINE_THICK)}"/>')


def finger_columns(cell: Cell, art: CellArt) -> list[tuple[int, str, int]]:
    """Return (head, finger, column) for the fingers of a cell; columns count leftwards from the heads."""
    found: list[tuple[int, str, int]] = []
    last_y = [float("inf"), float("inf")]
    for index, head in enumerate(cell.heads):
        place = head.note.take.placement
        if place is None or not place.finger or head.note.tied_from or head.note.take.note.mute == "dead":
            continue
        y = art.ys[index]
        column = 0 if abs(last_y[0] - y) >= FINGERS_APART else 1
        last_y[column] = y
        found.append((index, str(place.finger), column))
    return found


def finger_reach(cell: Cell, art: CellArt) -> float:
    """How far fingers reach to the left of their slot; 0 without any."""
    columns = [column for _, _, column in finger_columns(cell, art)]
    if not columns:
        return 0.0
    return art.left + (max(columns) + 1) * (FINGER_AIR + Words("2", FINGER_SIZE, SERIF).width)


def draw_notes(canvas: Canvas, frame: Frame, sheet: Sheet) -> dict[tuple[int, int], float]:
    """Draw all heads, rests, stems and beams; return where each stem ends, by slot number and voice."""
    at = {(head.slot.number, head.cell.voice, head.index): head for head in sheet.links.heads}
    beamed: dict[tuple[int, int, int], list[tuple[Slot, Cell]]] = defaultdict(list)
    tips: dict[tuple[int, int], float] = {}
    for slot in frame.slots:
        for cell in slot.cells:
            art = sheet.art.cells[slot.number, cell.voice]
            x = _cell_x(slot, cell, frame)
            _draw_cell(canvas, slot, cell, art, x, sheet, at)
            if cell.group is not None:
                beamed[slot.bar, cell.voice, cell.group].append((slot, cell))
            elif cell.heads and cell.event.value.type != "whole":
                stem = _stem(slot, cell, art, frame)
                tip = lone_tip(stem, middle_y=STAFF_HEIGHT / 2)
                tips[slot.number, cell.voice] = tip
                draw_stem(canvas, stem, tip)
                _flag(canvas, stem, tip, sheet)
    for members in beamed.values():
        stems = [_stem(slot, cell, sheet.art.cells[slot.number, cell.voice], frame) for slot, cell in members]
        ends = beam_line(stems, middle_y=STAFF_HEIGHT / 2)
        for (slot, cell), stem, tip in zip(members, stems, ends, strict=True):
            tips[slot.number, cell.voice] = tip
            draw_stem(canvas, stem, tip)
        draw_beams(canvas, stems, ends)
    return tips


def _cell_x(slot: Slot, cell: Cell, frame: Frame) -> float:
    if not cell.fills_bar:
        return frame.x_of(slot)
    place = slot.bar - frame.first_index
    return (frame.edges[place] + frame.edges[place + 1]) / 2.0


def _draw_cell(
    canvas: Canvas,
    slot: Slot,
    cell: Cell,
    art: CellArt,
    x: float,
    sheet: Sheet,
    at: dict[tuple[int, int, int], HeadAt],
) -> None:
    left = x - art.half
    canvas.shapes([shape for shape in art.shapes if shape.kind in ("ledger", "rest")], left, 0.0)
    if cell.event.is_rest:
        canvas.shapes([shape for shape in art.shapes if shape.kind == "dot"], left, 0.0)
        return
    fingers = finger_columns(cell, art) if sheet.shows("fingers") else []
    columns = {index: (finger, column) for index, finger, column in fingers}
    width = Words("2", FINGER_SIZE, SERIF).width
    for index, head in enumerate(cell.heads):
        take = head.note.take
        place = at[slot.number, cell.voice, index]
        own = [shape for shape in art.shapes if shape.head == index]
        with canvas.group(sheet.titles[take.id], note=take.id, name=sheet.name(place, "notation")):
            canvas.shapes(own, left, 0.0, note=take.id)
            if index in columns:
                finger, column = columns[index]
                right = x - art.left - FINGER_AIR - column * (width + FINGER_AIR)
                words = Words(finger, FINGER_SIZE, SERIF)
                canvas.words(words, right, art.ys[index] + FINGER_DROP, anchor="end", note=take.id)
            if take.id in sheet.doubted and not sheet.has_tab:
                drawn = next(shape for shape in own if shape.kind == "head")
                ring(canvas, left + drawn.left, left + drawn.right, art.ys[index], note=take.id)


def _stem(slot: Slot, cell: Cell, art: CellArt, frame: Frame) -> Stem:
    low, high = max(art.ys), min(art.ys)
    up = cell.stem > 0
    return Stem(
        frame.x_of(slot) + art.stem_x,
        low if up else high,
        high if up else low,
        cell.stem,
        cell.event.value.type,
        cell.beams,
    )


def _flag(canvas: Canvas, stem: Stem, tip: float, sheet: Sheet) -> None:
    if stem.type not in FLAGS:
        return
    name = f"flag {FLAG_NAMES[stem.type]} {'up' if stem.direction > 0 else 'down'}"
    canvas.shapes([replace(shape, kind="flag") for shape in sheet.art.glyphs[name]], stem.x - STEM_WIDTH / 2, tip)
