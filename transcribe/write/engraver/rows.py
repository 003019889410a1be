"""Rows of text along a staff: chord symbols, degrees, tone labels, roles, strokes, fingers, positions."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from transcribe.document.model import TakeNote
from transcribe.score.score import Score
from transcribe.write.engraver.canvas import ASCENT, DESCENT, Canvas, Shape, Words, text_left
from transcribe.write.engraver.frame import Frame
from transcribe.write.engraver.measures import (
    CHORD_SIZE,
    FINGER_SIZE,
    LABEL_SIZE,
    NUMERAL_SIZE,
    ROW_GAP,
    ROW_LABEL_SIZE,
    SMALL_SIZE,
)
from transcribe.write.engraver.plan import Slot
from transcribe.write.engraver.system import INK, BoxKind
from transcribe.write.fonts import SERIF, SERIF_BOLD, SERIF_ITALIC

RowName = Literal["chords", "roles", "degrees", "tones", "positions", "strokes", "fingers", "unplaced", "harmonics"]
ROMAN = ("0", "I", "II", "III", "IV", "V", "VI", "VII", "VIII", "IX", "X", "XI", "XII", "XIII", "XIV", "XV", "XVI",
         "XVII", "XVIII", "XIX", "XX", "XXI", "XXII", "XXIII", "XXIV")  # fmt: skip
AIR = 3.0  # least room between two texts of a row
ARTIFICIAL = Words("A.H.", SMALL_SIZE, SERIF)  # over artificial harmonics (common practice)
STROKE_SIGNS = {"down": "down stroke", "up": "up stroke"}
STROKE_HALF = 5.0  # half the width of a stroke sign


@dataclass(frozen=True, slots=True)
class RowText:
    """One text of a row, in lines from top to bottom, at a slot."""

    slot: Slot
    lines: tuple[Words, ...]
    anchor: Literal["start", "middle"] = "middle"
    glyph: str | None = None  # a sign drawn in place of the words: "down stroke", "up stroke"

    @property
    def reach(self) -> tuple[float, float]:
        """How far it reaches to the left and right of its slot."""
        width = max(words.width for words in self.lines)
        if self.glyph is not None:
            return STROKE_HALF, STROKE_HALF
        if self.anchor == "start":
            return START_LEAD, width - START_LEAD
        return width / 2, width / 2


START_LEAD = 6.0  # a chord symbol starts at the left edge of the head under it


def signs(text: str) -> str:
    """Return text with the flat and sharp signs of music for b and # before figures and after note names.

    >>> signs("b3"), signs("Bb7#9"), signs("bVII")
    ('♭3', 'B♭7♯9', '♭VII')
    """
    out = []
    for place, letter in enumerate(text):
        before, after = text[place - 1 : place], text[place + 1 : place + 2]
        if letter == "#":
            out.append("♯")
        elif letter == "b" and (before in tuple("ABCDEFG") or after.isdigit() or after in tuple("IViv#b")):
            out.append("♭")
        else:
            out.append(letter)
    return "".join(out)


def row_texts(name: RowName, slots: Sequence[Slot], score: Score) -> tuple[RowText, ...]:
    """Return the texts of one row over all given slots, in order."""
    if name in ("chords", "roles"):
        return _chord_texts(name, slots, score)
    if name == "positions":
        return _positions(slots)
    found = []
    for slot in slots:
        lines = tuple(
            words
            for cell in slot.cells
            for head in reversed(cell.heads)
            if not head.note.tied_from and (words := _note_words(name, head.note.take)) is not None
        )
        if name in ("strokes", "harmonics"):
            lines = tuple(dict.fromkeys(lines))
        if lines:
            glyph = STROKE_SIGNS.get(lines[0].text) if name == "strokes" and len(lines) == 1 else None
            found.append(RowText(slot, lines, glyph=glyph))
    return tuple(found)


def _note_words(name: RowName, take: TakeNote) -> Words | None:
    place = take.placement
    if name == "degrees" and take.degree:
        return Words(signs(take.degree), LABEL_SIZE, SERIF)
    if name == "tones" and take.tone:
        return Words(take.tone, SMALL_SIZE, SERIF_ITALIC)
    if name == "strokes" and place is not None and place.stroke:
        return Words(place.stroke, LABEL_SIZE, SERIF_ITALIC)
    if name == "fingers" and place is not None and place.finger and take.note.mute != "dead":
        return Words(str(place.finger), FINGER_SIZE, SERIF)
    if name == "harmonics" and take.note.harmonic == "artificial":
        return ARTIFICIAL
    if name == "unplaced" and place is None:
        return Words(pitch_name(take.note.midi), SMALL_SIZE, SERIF)
    return None


def pitch_name(midi: int) -> str:
    """Return a pitch in letters, middle C being C4.

    >>> pitch_name(69), pitch_name(61)
    ('A4', 'C♯4')
    """
    names = ("C", "C♯", "D", "E♭", "E", "F", "F♯", "G", "A♭", "A", "B♭", "B")
    return f"{names[midi % 12]}{midi // 12 - 1}"


def _chord_texts(name: RowName, slots: Sequence[Slot], score: Score) -> tuple[RowText, ...]:
    marks = {(mark.bar, mark.beat): mark for mark in score.chords}
    found = []
    for slot in slots:
        mark = marks.get((score.bars[slot.bar].number, slot.beat))
        if mark is None:
            continue
        if name == "chords":
            over = f"/{mark.over}" if mark.over else ""
            found.append(RowText(slot, (Words(signs(mark.symbol + over), CHORD_SIZE, SERIF_BOLD),), "start"))
        elif mark.role:
            closes = (Words(mark.cadence, SMALL_SIZE, SERIF_ITALIC),) if mark.cadence else ()
            found.append(RowText(slot, (Words(signs(mark.role), LABEL_SIZE, SERIF_BOLD), *closes)))
    return tuple(found)


def _positions(slots: Sequence[Slot]) -> tuple[RowText, ...]:
    """The hand's position where it changes: the fret of the index finger (common practice)."""
    found: list[RowText] = []
    position: int | None = None
    for slot in slots:
        takes = [head.note.take for cell in slot.cells for head in cell.heads if not head.note.tied_from]
        fretted = [take for take in takes if take.placement is not None and take.placement.fret > 0]
        told = sorted(take.position for take in fretted if take.position)
        wanted = told[len(told) // 2] if told else _guessed_position(fretted, position)
        if wanted is None or wanted == position:
            continue
        position = wanted
        if position < len(ROMAN):
            found.append(RowText(slot, (Words(ROMAN[position], NUMERAL_SIZE, SERIF),)))
    return tuple(found)


def _guessed_position(fretted: Sequence[TakeNote], before: int | None) -> int | None:
    """The position by the fingers, for a document that tells none; one fret off is a finger that reaches out."""
    here = sorted(
        take.placement.fret - take.placement.finger + 1
        for take in fretted
        if take.placement is not None and take.placement.finger
    )
    if not here:
        return None
    wanted = max(1, here[len(here) // 2])
    return before if before is not None and abs(wanted - before) <= 1 else wanted


def draw_row(
    canvas: Canvas,
    texts: Sequence[RowText],
    frame: Frame,
    *,
    floor: float | None = None,
    kind: BoxKind = "text",
    colour: str = INK,
    glyphs: Mapping[str, tuple[Shape, ...]] | None = None,
    label: str = "",
) -> None:
    """Draw a row on one level over the staff, or under it when the staff's bottom line is given as ``floor``.

    Signs come from ``glyphs``; a ``label`` at the left end says what the row tells.
    """
    here = [text for text in texts if frame.holds(text.slot)]
    if not here:
        return
    places = [(text, frame.x_of(text.slot) - (START_LEAD if text.anchor == "start" else 0.0)) for text in here]
    spans = [_span(text, x) for text, x in places]
    size = max(words.size for text in here for words in text.lines)
    depth = max(len(text.lines) for text in here)
    pitch = size * 1.02
    if floor is None:
        lowest = min(min(0.0, canvas.top_over(left - AIR, right + AIR)) for left, right in spans)
        first = lowest - ROW_GAP - DESCENT * size - pitch * (depth - 1)
    else:
        first = max(canvas.bottom_over(left - AIR, right + AIR, floor) for left, right in spans)
        first = max(first, floor) + ROW_GAP + ASCENT * size
    if label:
        canvas.words(Words(label, ROW_LABEL_SIZE, SERIF_ITALIC), 0.0, first, anchor="start")
    for text, x in places:
        if text.glyph is not None and glyphs is not None:
            shapes = glyphs[text.glyph]
            middle = (max(shape.right for shape in shapes) + min(shape.left for shape in shapes)) / 2
            canvas.shapes(shapes, x - middle, first - max(shape.bottom for shape in shapes))
            continue
        for line, words in enumerate(text.lines):
            canvas.words(words, x, first + pitch * line, anchor=text.anchor, kind=kind, colour=colour)


def _span(text: RowText, x: float) -> tuple[float, float]:
    lefts = [text_left(words, x, text.anchor) for words in text.lines]
    return min(lefts), max(left + words.width for left, words in zip(lefts, text.lines, strict=True))
