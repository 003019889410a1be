"""Bends on the tab staff: arrows with the amount, pre-bends, releases, and bends that are held."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from transcribe.notes.note import Bend
from transcribe.write.engraver.canvas import Canvas, Words
from transcribe.write.engraver.curves import arrow_head, bow_down, bow_up, dashed
from transcribe.write.engraver.frame import Frame
from transcribe.write.engraver.links import HeadAt
from transcribe.write.engraver.measures import (
    BEND_BESIDE,
    BEND_RUN,
    BEND_STEP,
    BEND_TIP,
    FRET_SIZE,
    LABEL_SIZE,
)
from transcribe.write.engraver.sheet import Sheet
from transcribe.write.engraver.tab import FretAt, Strings
from transcribe.write.engraver.tab_rhythm import stems_go_up
from transcribe.write.fonts import SANS, SERIF

AMOUNTS = {1: "¼", 2: "½", 3: "¾"}
LABEL_RISE = 2.5  # from the arrow's tip to the label's baseline
AIR_OVER = 6.0  # from what stands under it to an arrow's tip
ABOVE_FRET = 6.0  # from a string to where an arrow over its number begins
ASIDE = 4.0  # from a number or stem to the arrow of a pre-bend beside it
RELEASE_ROOM = BEND_STEP + 4.0  # from a release's start to the number it comes back to, less that number
WORDS_AIR = 2.5  # from dashes to words in their way
AFTER_RELEASE = BEND_STEP + 10.5  # room of each bend made after a release
HIGHER = 13.0  # a second arrow that starts from the first one's tip


def amount(cents: float) -> str:
    """Return a bend's size in whole tones as it is written over the arrow.

    >>> amount(50), amount(100), amount(200), amount(300), amount(400)
    ('¼', '½', 'full', '1½', '2')
    """
    quarters = max(1, round(cents / 50.0))
    whole, part = divmod(quarters, 4)
    if quarters == 4:
        return "full"
    return (str(whole) if whole else "") + AMOUNTS.get(part, "")


def bend_label(cents: float) -> Words:
    """Return the amount as a line of text."""
    return Words(amount(cents), LABEL_SIZE, SERIF)


def bend_room(bends: tuple[Bend, ...], fret: Words, fret_number: int, aside: float = 0.0) -> float:
    """Return how far to the right of its slot a note with these bends reaches; ``aside`` as pre_bend_aside tells."""
    right = at = fret.width / 2 + 1.0
    raised = False
    for place, bend in enumerate(bends):
        if bend.kind == "release" and bend.target_cents < 25:
            words = released_words(fret_number).width
            middle = max(at + BEND_STEP - (0.0 if raised else 2.0), fret.width / 2 + 4.0 + words / 2)
            at, raised = middle + words / 2 + 1.0, False
            right = max(right, at)
            continue
        if bend.kind == "pre-bend" and place == 0:
            at = aside
        else:
            at += BEND_STEP if raised else BEND_RUN
        raised = True
        right = max(right, at + bend_label(bend.target_cents).width / 2)
    return right


def released_words(fret: int) -> Words:
    """Return the number a released bend comes back to."""
    return Words(f"({fret})", FRET_SIZE, SANS)


@dataclass(slots=True)
class _Pen:
    """Where the last arrow of a note has arrived."""

    x: float
    y: float
    raised: bool = False


def draw_bends(frets: tuple[FretAt, ...], strings: Strings, frame: Frame, sheet: Sheet) -> None:
    """Draw the bends of every note that starts in this system, and go on with those held from the one before."""
    labelled: dict[int, list[tuple[float, str]]] = {}
    for fret in sorted(frets, key=lambda fret: (fret.head.slot.number, fret.y)):
        if fret.head.head.note.tied_from or not fret.head.take.note.bends:
            continue
        others = labelled.setdefault(fret.head.slot.number, [])
        _draw_note(fret, strings, frame, sheet, others)
    _held_over(strings.canvas, frame, sheet)


def _draw_note(fret: FretAt, strings: Strings, frame: Frame, sheet: Sheet, others: list[tuple[float, str]]) -> None:
    canvas = strings.canvas
    bends = fret.head.take.note.bends
    heads = sheet.links.of_note[fret.head.take.id]
    end_x = frame.x_at(*heads[-1].end)
    pen = _Pen(fret.right + 1.0, fret.y)
    shift = len(others) * BEND_BESIDE  # two strings bent at once: the second arrow stands beside the first
    for place, bend in enumerate(bends):
        follows = bends[place + 1] if place + 1 < len(bends) else None
        if bend.kind == "release":
            _release(strings, fret, bend, pen)
        elif bend.kind == "pre-bend" and place == 0:
            _straight(canvas, fret, bend, pen, others, sheet)
        else:
            _raise(canvas, bend, pen, shift if place == 0 else 0.0, others)
        if bend.kind != "release":
            released_x = None
            if follows is not None and follows.kind == "release" and fret.head.take.placement is not None:
                back = released_words(fret.head.take.placement.fret).width
                more = len(bends[place + 2 :]) * AFTER_RELEASE
                released_x = _release_x(follows.start_s, heads, frame, strings, sheet, back, more)
            _hold(canvas, pen, fret, frame, end_x, released_x)
    label = bend_label(bends[-1].target_cents).width / 2 if pen.raised else 0.0
    strings.reach[fret.head.take.id] = max(strings.reach[fret.head.take.id], pen.x + label)


def _raise(canvas: Canvas, bend: Bend, pen: _Pen, shift: float, others: list[tuple[float, str]]) -> None:
    x = pen.x + (BEND_STEP if pen.raised else BEND_RUN) + shift
    tip = (x, pen.y - HIGHER if pen.raised else _tip(canvas, x - 8.0, x + 8.0))
    bow_up(canvas, (pen.x, pen.y), tip)
    _label(canvas, bend, tip, others)
    pen.x, pen.y, pen.raised = *tip, True


def _straight(
    canvas: Canvas, fret: FretAt, bend: Bend, pen: _Pen, others: list[tuple[float, str]], sheet: Sheet
) -> None:
    """A pre-bend: straight up from over its number, or from beside it."""
    aside = pre_bend_aside(fret.head, fret.right - fret.x, sheet)
    x = fret.x + aside
    start = fret.y if aside else fret.y - ABOVE_FRET
    tip = (x, _tip(canvas, x - 6.0, x + 6.0))
    canvas.stroke("bend", f"M{x:.2f} {start:.2f}L{x:.2f} {tip[1] + 6.0:.2f}", [(x, start), (x, tip[1] + 6.0)])
    arrow_head(canvas, tip, up=True)
    _label(canvas, bend, tip, others)
    pen.x, pen.y, pen.raised = *tip, True


def pre_bend_aside(head: HeadAt, half: float, sheet: Sheet) -> float:
    """Return how far to the right of its number, ``half`` of which is given, a pre-bend's arrow stands.

    0 where it stands over the number; beside it where another string's number or a stem of its own is in the way.
    """
    assert head.take.placement is not None
    if not sheet.has_notation and stems_go_up(sheet.plans[head.slot.bar].slots, head.cell):
        return max(half + ASIDE, bend_label(head.take.note.bends[0].target_cents).width / 2 + ASIDE)
    higher = any(
        other.note.take.placement is not None and other.note.take.placement.string < head.take.placement.string
        for cell in head.slot.cells
        for other in cell.heads
    )
    return half + ASIDE if higher else 0.0


def _tip(canvas: Canvas, left: float, right: float) -> float:
    """Where an arrow between two places ends: over everything that stands there already."""
    return min(BEND_TIP, canvas.top_over(left, right) - AIR_OVER)


def _label(canvas: Canvas, bend: Bend, tip: tuple[float, float], others: list[tuple[float, str]]) -> None:
    words = bend_label(bend.target_cents)
    canvas.words(words, tip[0], tip[1] - LABEL_RISE)
    others.append((tip[0], words.text))


def _release(strings: Strings, fret: FretAt, bend: Bend, pen: _Pen) -> None:
    """An arrow down from the last tip: to the number in brackets, or part of the way with the amount left."""
    canvas = strings.canvas
    assert fret.head.take.placement is not None
    start = (pen.x + (2.0 if pen.raised else 0.0), pen.y if pen.raised else BEND_TIP)
    if bend.target_cents < 25:
        words = released_words(fret.head.take.placement.fret)
        x = max(start[0] + BEND_STEP - 2.0, fret.right + 4.0 + words.width / 2)
        bow_down(canvas, start, (x, fret.y - ABOVE_FRET))
        strings.number_on(words, x, fret.y, fret.head)
        pen.x, pen.y, pen.raised = x + words.width / 2 + 1.0, fret.y, False
        return
    x = start[0] + BEND_STEP - 2.0
    y = min((start[1] + fret.y) / 2.0, start[1] + 22.0)
    bow_down(canvas, start, (x, y))
    canvas.words(bend_label(bend.target_cents), x, y + LABEL_SIZE * 0.8)
    pen.x, pen.y, pen.raised = x, y, True


def _release_x(
    time_s: float, heads: Sequence[HeadAt], frame: Frame, strings: Strings, sheet: Sheet, back: float, more: float
) -> float:
    """Where a string is let down, so that the number it comes back to stands before its head ends.

    ``back`` is how wide that number is, ``more`` the room of what is bent after it.
    """
    room = RELEASE_ROOM + back + more
    quarters = (time_s - heads[0].take.note.onset_s) * sheet.score.tempo_bpm / 60.0
    at = Fraction(max(0.0, quarters)).limit_denominator(960)
    for head in heads:
        length = head.cell.event.value.quarters
        if at < length:
            wanted = min(frame.x_at(head.slot.bar, head.slot.beat + at), frame.x_at(*head.end) - room)
            tied = head is not heads[0] and (head.take.id, head.slot.number) in strings.last_number
            return max(wanted, frame.x_of(head.slot) + back - RELEASE_ROOM + WORDS_AIR + 8.0) if tied else wanted
        at -= length
    return frame.x_at(*heads[-1].end) - room


def _hold(canvas: Canvas, pen: _Pen, fret: FretAt, frame: Frame, end_x: float, released_x: float | None) -> None:
    """A dashed line from the tip for as long as the bend is held under other notes or over a bar line."""
    later = [
        frame.x_of(slot)
        for slot in frame.slots
        if slot.number > fret.head.slot.number and frame.x_of(slot) < end_x - 1.0
    ]
    if not later:
        return
    stop = end_x - 6.0 if released_x is None else released_x
    label = pen.x + 6.0
    if stop - label < 8.0:
        return
    pieces = _between_words(canvas, label, stop, pen.y)
    for left, right in pieces:
        hook = 4.0 if released_x is None and right == stop else 0.0
        dashed(canvas, "bend", (left, pen.y), (right, pen.y), hook=hook)
    if released_x is not None:
        pen.x = stop


def _between_words(canvas: Canvas, left: float, right: float, y: float) -> list[tuple[float, float]]:
    """Return the stretches of a level line that run through no words, such as the amount of another string's bend."""
    words = [
        box
        for box in canvas.boxes
        if box.words is not None and box.top < y + 1.0 < box.bottom + 2.0 and box.left < right and left < box.right
    ]
    pieces, at = [], left
    for box in sorted(words, key=lambda box: box.left):
        pieces.append((at, box.left - WORDS_AIR))
        at = max(at, box.right + WORDS_AIR)
    return [(start, end) for start, end in (*pieces, (at, right)) if end - start > 2 * WORDS_AIR]


def _held_over(canvas: Canvas, frame: Frame, sheet: Sheet) -> None:
    """Bends that began in an earlier system and are still held: the dashed line goes on."""
    for heads in sheet.links.of_note.values():
        bends = heads[0].take.note.bends
        if not bends or frame.holds(heads[0].slot) or bends[-1].kind == "release":
            continue
        here = [head for head in heads if frame.holds(head.slot)]
        if here and here[0].take.placement is not None:
            start, stop = frame.x_of(here[0].slot) - 6.0, frame.x_at(*here[-1].end) - 6.0
            dashed(canvas, "bend", (start, _tip(canvas, start, stop)), (stop, _tip(canvas, start, stop)), hook=4.0)
