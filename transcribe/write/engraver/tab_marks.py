"""What joins numbers on the tab staff: slides, slurs, ties; and vibrato over it."""

from __future__ import annotations

from transcribe.write.engraver.canvas import Canvas, number
from transcribe.write.engraver.curves import arc, wave
from transcribe.write.engraver.frame import Frame
from transcribe.write.engraver.links import HeadAt
from transcribe.write.engraver.measures import string_y
from transcribe.write.engraver.sheet import Sheet
from transcribe.write.engraver.tab import FretAt, Strings, fret_words

SLIDE_RISE = 3.0  # half the rise of a slide's line
SLIDE_AIR = 2.2
SLIDE_RUN = 9.0  # of a slide from or to nowhere
SLUR_OVER = 6.8  # from a string to a slur over its number
FLAT_SLUR = 2.6  # height of a slur that keeps clear of the next string
WAVE_LEAST = 13.0
LEAST_TIE = 10.0


def draw_tab_joins(frets: tuple[FretAt, ...], strings: Strings, frame: Frame, sheet: Sheet) -> None:
    """Draw slides, slurs and ties between numbers; those that cross a line break are drawn in halves."""
    canvas = strings.canvas
    for join in sheet.links.joins:
        if join.kind in ("legato", "shift") and _is_slide(join.source, join.target, join.kind):
            _slide(canvas, strings, frame, _written(join.source, sheet), join.target)
    for fret in frets:
        _open_slide(canvas, fret, strings, sheet)
    for first, last in sheet.links.chains:
        _slur(strings, frame, _written(first, sheet), last)
    for before, after in sheet.links.ties:
        if after.slot.beat == 0 or not sheet.has_notation:
            _tie(strings, frame, _written(before, sheet), after)


def _written(head: HeadAt, sheet: Sheet) -> HeadAt:
    """Return the head whose number stands for this one: where a note is tied on inside a bar, that of its last number.

    What leads on from a tied head would otherwise begin where the tab shows nothing.
    """
    heads = [one for one in sheet.links.of_note[head.take.id] if one.slot.number <= head.slot.number]
    shown = [one for one in heads if fret_words(one, ties=not sheet.has_notation) is not None]
    return shown[-1] if shown else head


def _is_slide(source: HeadAt, target: HeadAt, kind: str) -> bool:
    slide = source.take.note.slide
    return kind == "shift" or target.take.note.attack == "slide" or (slide is not None and slide.to == target.take.id)


def _ends(strings: Strings, frame: Frame, source: HeadAt, target: HeadAt) -> tuple[float, float] | None:
    """Right end of the first number and left end of the second; the system's edges where one is elsewhere."""
    if frame.holds(source.slot):
        number_at = strings.last_number.get((source.take.id, source.slot.number))
        start = max(number_at[1] if number_at else 0.0, frame.x_of(source.slot))
    elif frame.holds(target.slot):
        start = frame.edges[0] - 4.0
    else:
        return None
    if frame.holds(target.slot):
        number_at = strings.last_number.get((target.take.id, target.slot.number))
        return start, min(number_at[0] if number_at else 1e9, frame.x_of(target.slot))
    return start, frame.edges[-1]


def _slide(canvas: Canvas, strings: Strings, frame: Frame, source: HeadAt, target: HeadAt) -> None:
    ends = _ends(strings, frame, source, target)
    if ends is None or target.take.placement is None or source.take.placement is None:
        return
    y = string_y(target.take.placement.string)
    rise = SLIDE_RISE if target.take.placement.fret >= source.take.placement.fret else -SLIDE_RISE
    left, right = ends[0] + SLIDE_AIR, ends[1] - SLIDE_AIR
    if right - left >= 3.0:
        _line(canvas, left, y + rise, right, y - rise)


def _open_slide(canvas: Canvas, fret: FretAt, strings: Strings, sheet: Sheet) -> None:
    slide = fret.head.take.note.slide
    if slide is None:
        return
    rise = SLIDE_RISE if slide.cents >= 0 else -SLIDE_RISE
    if slide.kind == "in" and not fret.head.head.note.tied_from:
        right = fret.left - SLIDE_AIR
        _line(canvas, right - SLIDE_RUN, fret.y + rise, right, fret.y - rise)
    last = sheet.links.of_note[fret.head.take.id][-1]
    if slide.kind == "out" and _written(last, sheet) == fret.head:
        left = strings.last_number[fret.head.take.id, fret.head.slot.number][1] + SLIDE_AIR
        _line(canvas, left, fret.y + rise, left + SLIDE_RUN, fret.y - rise)


def _line(canvas: Canvas, x1: float, y1: float, x2: float, y2: float) -> None:
    path = f"M{number(x1)} {number(y1)}L{number(x2)} {number(y2)}"
    canvas.stroke("slide", path, [(x1, y1), (x2, y2)], width=1.2)


def _slur(strings: Strings, frame: Frame, first: HeadAt, last: HeadAt) -> None:
    if last.take.placement is None or first.take.placement is None:
        return
    starts, ends = frame.holds(first.slot), frame.holds(last.slot)
    if not starts and not ends:
        return
    strings_y = [string_y(head.take.placement.string) for head in (first, last) if head.take.placement is not None]
    start_at = strings.last_number.get((first.take.id, first.slot.number))
    start = (sum(start_at) / 2 if start_at else frame.x_of(first.slot)) if starts else frame.edges[0] - 4.0
    end = frame.x_of(last.slot) if ends else frame.edges[-1]
    if end - start <= 4.0:
        return
    high = min(8.0, 4.0 + 0.04 * (end - start))
    above, below = min(strings_y) - SLUR_OVER, max(strings_y) + SLUR_OVER
    ways = ((above, high), (below, -high), (above, FLAT_SLUR), (below, -FLAT_SLUR))
    own = {first.take.id, last.take.id}
    y, height = min(ways, key=lambda way: _crossed(strings.canvas, (start, end), way, own))
    arc(strings.canvas, "slur", (start, y), (end, y), height)


def _crossed(canvas: Canvas, run: tuple[float, float], way: tuple[float, float], own: set[str]) -> int:
    """Return how many numbers of other notes a slur would run through; ``way`` is its level and height."""
    (start, end), (y, height) = run, way
    points = [(start + (end - start) * k / 24, y - height * 4 * (k / 24) * (1 - k / 24)) for k in range(25)]
    return sum(
        box.kind == "fret"
        and box.note not in own
        and any(box.left - 1.0 < x < box.right + 1.0 and box.top < at < box.bottom + 1.0 for x, at in points)
        for box in canvas.boxes
    )


def _tie(strings: Strings, frame: Frame, before: HeadAt, after: HeadAt) -> None:
    ends = _ends(strings, frame, before, after)
    if ends is None or after.take.placement is None or not frame.holds(after.slot):
        return
    y = string_y(after.take.placement.string) - 4.0
    if frame.holds(before.slot):
        reach = strings.reach.get(before.take.id, ends[0]) if after.take.note.bends else ends[0]
        if after.take.note.bends and ends[1] - reach < LEAST_TIE:
            return  # the dashes of the held bend say that it sounds on
        start = max(min(ends[0], ends[1] - 8.0), min(reach, ends[1] - 8.0))
    else:
        start = ends[1] - 14.0
    arc(strings.canvas, "tie", (start + 1.0, y), (ends[1] - 0.5, y), 4.0)


def draw_vibrato(frets: tuple[FretAt, ...], strings: Strings, frame: Frame, sheet: Sheet) -> None:
    """Draw the wave of every note with vibrato over the tab staff, from the note or the tip of its bend on."""
    for fret in frets:
        take = fret.head.take
        if take.note.vibrato is None or fret.head.head.note.tied_from:
            continue
        heads = sheet.links.of_note[take.id]
        draw_wave(
            strings.canvas,
            strings.reach[take.id] + 2.0 if take.note.bends else fret.left,
            frame.x_at(*heads[-1].end),
            note=take.id,
        )


def draw_wave(canvas: Canvas, left: float, end: float, *, note: str) -> None:
    """Draw a wave over the staff from ``left`` until a note ends, over all that stands there."""
    right = max(left + WAVE_LEAST, end - 9.0)
    wave(canvas, left, right, min(-7.0, canvas.top_over(left - 1.0, right + 4.0) - 5.0), note=note)
