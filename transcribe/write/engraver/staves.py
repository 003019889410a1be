"""One system: both staves drawn, the rows around them, and how far apart they stand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from transcribe.write.engraver.bends import draw_bends
from transcribe.write.engraver.canvas import Canvas, Words
from transcribe.write.engraver.frame import Frame
from transcribe.write.engraver.heading import draw_heading
from transcribe.write.engraver.layout import AFTER_CLEF, Rows, prefix_signs
from transcribe.write.engraver.measures import (
    BARLINE_THICK,
    FINAL_THICK,
    LABEL_SIZE,
    SMALL_SIZE,
    STAFF_DISTANCE,
    STAFF_GAP,
    STAFF_HEIGHT,
    TAB_HEIGHT,
)
from transcribe.write.engraver.notation import draw_notes, staff_lines
from transcribe.write.engraver.notation_bends import draw_notation_bends
from transcribe.write.engraver.notation_marks import draw_joins, draw_tuplets
from transcribe.write.engraver.rows import RowName, RowText, draw_row
from transcribe.write.engraver.sheet import Sheet
from transcribe.write.engraver.spans import draw_octaves, draw_spans
from transcribe.write.engraver.system import DOUBT, Box, NotePlace, System
from transcribe.write.engraver.tab import Strings, draw_frets, place_frets
from transcribe.write.engraver.tab_marks import draw_tab_joins, draw_vibrato, draw_wave
from transcribe.write.engraver.tab_rhythm import draw_tab_rhythm
from transcribe.write.fonts import SERIF_BOLD, SERIF_ITALIC

EDGE = 1.0  # air around the whole system
LABELS: dict[RowName, str] = {"fingers": "finger", "degrees": "degree"}  # two rows of figures under one tab staff
UNDER: tuple[RowName, ...] = ("fingers", "strokes", "degrees", "tones", "roles")


def draw_system(frame: Frame, sheet: Sheet, rows: Rows) -> System:
    """Return one line of music."""
    canvases: list[tuple[Canvas, float]] = []
    if sheet.has_notation:
        canvases.append((_notation(frame, sheet, rows), STAFF_HEIGHT))
    if sheet.has_tab:
        canvases.append((_tab(frame, sheet, rows), TAB_HEIGHT))
    top = canvases[0][0]
    _above_all(top, frame, sheet, rows)
    offsets = _offsets(canvases)
    parts: list[str] = []
    boxes: list[Box] = []
    for (canvas, _), offset in zip(canvases, offsets, strict=True):
        part, moved = canvas.moved(offset)
        parts.append(part)
        boxes += moved
    bottom_line = offsets[-1] + canvases[-1][1]
    lines = _barlines(frame, offsets[0], bottom_line, joined=len(canvases) > 1)
    parts += lines.parts
    boxes += lines.boxes
    height = max(max(box.bottom for box in boxes), bottom_line) + EDGE
    system = System(
        body="".join(parts),
        width=frame.width + FINAL_THICK,
        height=height,
        first_bar=frame.plans[0].bar.number,
        last_bar=frame.plans[-1].bar.number,
        boxes=tuple(boxes),
        places=_places(frame, sheet),
        staves=tuple(
            (canvas.staff, offset, offset + tall) for (canvas, tall), offset in zip(canvases, offsets, strict=True)
        ),
    )
    return _fitted(system, sheet.options.width + FINAL_THICK)


def _notation(frame: Frame, sheet: Sheet, rows: Rows) -> Canvas:
    canvas = Canvas("notation")
    _prefix(canvas, frame, sheet, 0.0)
    tips = draw_notes(canvas, frame, sheet)
    draw_notation_bends(canvas, frame, sheet)
    staff_lines(canvas, frame.width)
    draw_joins(canvas, frame, sheet, tips)
    draw_tuplets(canvas, frame, tips)
    draw_octaves(canvas, frame, sheet)
    under = [name for name in UNDER if not (sheet.has_tab and name == "strokes")]
    if not sheet.has_tab:
        _waves(canvas, frame, sheet)
        draw_row(canvas, rows.get("harmonics", ()), frame)
        draw_spans(canvas, frame, sheet)
        _doubts(canvas, frame, sheet)
    for name in under:
        draw_row(canvas, rows.get(name, ()), frame, floor=STAFF_HEIGHT, glyphs=sheet.art.glyphs)
    return canvas


def _tab(frame: Frame, sheet: Sheet, rows: Rows) -> Canvas:
    canvas = Canvas("tab")
    strings = Strings(canvas)
    frets = place_frets(frame, sheet)
    _prefix(canvas, frame, sheet, (TAB_HEIGHT - STAFF_HEIGHT) / 2 if not sheet.has_notation else None)
    draw_frets(frets, strings, sheet)
    draw_bends(frets, strings, frame, sheet)
    if not sheet.has_notation:
        draw_tab_rhythm(canvas, frame, sheet)
        draw_tuplets(canvas, frame, {}, floor=TAB_HEIGHT, under=True)
    draw_tab_joins(frets, strings, frame, sheet)
    strings.draw(0.0, frame.width, len(sheet.score.instrument.open_strings_midi))
    draw_vibrato(frets, strings, frame, sheet)
    draw_row(canvas, rows.get("unplaced", ()), frame)
    draw_row(canvas, rows.get("harmonics", ()), frame)
    _doubts(canvas, frame, sheet)
    draw_spans(canvas, frame, sheet)
    under: tuple[RowName, ...] = UNDER if not sheet.has_notation else ("strokes",)
    for name in under:
        label = "" if sheet.has_notation else LABELS.get(name, "")
        draw_row(canvas, rows.get(name, ()), frame, floor=TAB_HEIGHT, glyphs=sheet.art.glyphs, label=label)
    return canvas


def _above_all(canvas: Canvas, frame: Frame, sheet: Sheet, rows: Rows) -> None:
    above: tuple[RowName, ...] = ("positions", "chords")
    for name in above:
        draw_row(canvas, rows.get(name, ()), frame)
    first = frame.plans[0].bar.number
    if first > 1:
        words = Words(str(first), SMALL_SIZE, SERIF_ITALIC)
        canvas.words(words, 0.0, min(-5.0, canvas.top_over(0.0, words.width + 2.0) - 3.0), anchor="start")
    if frame.is_first and sheet.options.heading:
        draw_heading(canvas, sheet.score, sheet.art, 0.0, frame.width, final=sheet.options.final)


def _prefix(canvas: Canvas, frame: Frame, sheet: Sheet, meter_y: float | None) -> None:
    """Clef, key signature and meter; the meter only where ``meter_y`` tells how far down it stands."""
    x = 4.0
    for name, width in prefix_signs(sheet, is_first=frame.is_first):
        is_tab = canvas.staff == "tab"
        shapes = sheet.art.signs.get(name, ())
        if name in ("clef", "tab clef"):
            shapes = sheet.art.glyphs["tab clef"] if is_tab else sheet.art.signs["clef"]
            shapes = tuple(replace(shape, kind="clef") for shape in shapes)
        elif (name == "key" and is_tab) or (name == "time" and meter_y is None):
            shapes = ()
        if shapes:
            y = meter_y or 0.0 if name == "time" else TAB_HEIGHT / 2 if name == "clef" and is_tab else 0.0
            if name == "tab clef":
                y = TAB_HEIGHT / 2
            canvas.shapes(shapes, x - min(shape.left for shape in shapes), y)
        x += width + AFTER_CLEF


def _waves(canvas: Canvas, frame: Frame, sheet: Sheet) -> None:
    """Vibrato over the notation staff, where no tab staff carries it."""
    for head in sheet.links.heads:
        take = head.take
        if take.note.vibrato is not None and frame.holds(head.slot) and not head.head.note.tied_from:
            end = sheet.links.of_note[take.id][-1].end
            draw_wave(canvas, frame.x_of(head.slot) - 5.0, frame.x_at(*end), note=take.id)


def _doubts(canvas: Canvas, frame: Frame, sheet: Sheet) -> None:
    """A question mark over every slot that holds a doubted note."""
    words = Words("?", LABEL_SIZE + 1.0, SERIF_BOLD)
    marked: dict[int, RowText] = {}
    for head in sheet.links.heads:
        if head.take.id in sheet.doubted and not head.head.note.tied_from:
            marked.setdefault(head.slot.number, RowText(head.slot, (words,)))
    draw_row(canvas, tuple(marked.values()), frame, kind="doubt", colour=DOUBT)


def _offsets(canvases: Sequence[tuple[Canvas, float]]) -> list[float]:
    """Where each staff's top line goes: everything clear of everything, staves at least the usual distance apart."""
    tops = [min([0.0, *(box.top for box in canvas.boxes)]) for canvas, _ in canvases]
    offsets = [EDGE - tops[0]]
    for (canvas, height), top in zip(canvases, tops[1:], strict=False):
        bottom = max([height, *(box.bottom for box in canvas.boxes)])
        offsets.append(offsets[-1] + max(bottom - top + STAFF_GAP, height + STAFF_DISTANCE))
    return offsets


def _barlines(frame: Frame, top: float, bottom: float, *, joined: bool) -> Canvas:
    """Bar lines through all staves, the line and bracket that open a system of two, thin and thick at the end."""
    canvas = Canvas("between")
    half = BARLINE_THICK / 2
    if joined:
        canvas.rect("barline", 0.0, top, BARLINE_THICK, bottom)
    for edge in frame.edges[1:-1]:
        canvas.rect("barline", edge - half, top, edge + half, bottom)
    end = frame.edges[-1]
    if frame.is_last:
        canvas.rect("barline", end - 3.5 - half, top, end - 3.5 + half, bottom)
        canvas.rect("barline", end, top, end + FINAL_THICK, bottom)
    else:
        canvas.rect("barline", end - half, top, end + half, bottom)
    return canvas


def _places(frame: Frame, sheet: Sheet) -> tuple[NotePlace, ...]:
    found = [
        NotePlace(
            head.take.id,
            sheet.score.bars[head.slot.bar].number,
            head.slot.beat,
            frame.x_of(head.slot),
            head.take.note.onset_s,
            head.head.note.tied_from,
        )
        for head in sheet.links.heads
        if frame.holds(head.slot)
    ]
    return tuple(sorted(found, key=lambda place: place.x))


def _fitted(system: System, width: float) -> System:
    """A system with a bar too full for the line is made smaller as a whole, so that nothing runs together."""
    if system.width <= width + 1e-6:
        return system
    scale = width / system.width
    return replace(
        system,
        body=f'<g transform="scale({number_fine(scale)})">{system.body}</g>',
        width=width,
        height=system.height * scale,
        boxes=tuple(
            replace(box, left=box.left * scale, top=box.top * scale, right=box.right * scale, bottom=box.bottom * scale)
            for box in system.boxes
        ),
        places=tuple(replace(place, x=place.x * scale) for place in system.places),
        staves=tuple((staff, top * scale, bottom * scale) for staff, top, bottom in system.staves),
    )


def number_fine(value: float) -> str:
    """Return a factor as SVG text, to a millionth.

    >>> number_fine(2 / 3)
    '0.666667'
    """
    return f"{value:.6f}".rstrip("0").rstrip(".")
