"""What stands over the first system: tempo, feel, tuning and capo."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from fingering.fretboard import STANDARD_OPEN_MIDI
from transcribe.document.model import Instrument
from transcribe.score.score import Score
from transcribe.write.beams import beat_length
from transcribe.write.engraver.art import Art
from transcribe.write.engraver.canvas import Canvas, Words, number
from transcribe.write.engraver.measures import LABEL_SIZE, TEMPO_SIZE
from transcribe.write.engraver.rows import pitch_name
from transcribe.write.fonts import SERIF, SERIF_BOLD, SERIF_ITALIC

HEAD_UP = 3.2  # half the height of a small head
STEM = 21.0
SIGN_GAP = 18.0
OVER_STAFF = 8.0


@dataclass(slots=True)
class _Line:
    """A pen moving right along the heading's baseline."""

    canvas: Canvas
    art: Art
    baseline: float
    x: float

    def words(self, words: Words, gap: float = 4.0) -> None:
        """Write words at the pen and move it past them."""
        self.canvas.words(words, self.x, self.baseline, anchor="start")
        self.x += words.width + gap

    def note(self, *, flag: bool = False, dot: bool = False, gap: float = 4.0) -> float:
        """Draw a small quarter or eighth and return the place of its stem."""
        y = self.baseline - HEAD_UP
        head = self.art.glyphs["small head"]
        width = max(shape.right for shape in head)
        self.canvas.shapes([replace(shape, kind="sign") for shape in head], self.x, y)
        stem = self.x + width - 0.5
        self.canvas.rect("sign", stem - 0.5, y - STEM, stem + 0.5, y - 0.8)
        self.x += width
        if flag:
            self.canvas.shapes(self.art.glyphs["small flag"], stem - 0.4, y - STEM)
            self.x += 6.5
        if dot:
            self.canvas.shapes(self.art.glyphs["small dot"], self.x + 2.0, y)
            self.x += 5.0
        self.x += gap
        return stem


def draw_heading(canvas: Canvas, score: Score, art: Art, left: float, width: float, *, final: bool = False) -> None:
    """Draw the heading over all that stands over the first system already; a final sheet marks no estimate."""
    baseline = min(-OVER_STAFF, canvas.top_over(left - 4.0, left + width) - OVER_STAFF)
    line = _Line(canvas, art, baseline, left)
    compound = beat_length(score.meter).denominator == 2
    line.note(dot=compound, gap=5.0)
    bpm = score.tempo_bpm / float(beat_length(score.meter)) if compound else score.tempo_bpm
    sign = "=" if score.tempo_is_given or final else "≈"
    line.words(Words(f"{sign} {bpm:.0f}", TEMPO_SIZE, SERIF_BOLD), gap=SIGN_GAP)
    if score.swing:
        _swing(line)
    if words := tuning_words(score.instrument):
        line.words(Words(words, LABEL_SIZE + 1.0, SERIF))


def tuning_words(instrument: Instrument) -> str:
    """Return the tuning when it is not the usual one, and the capo; nothing when there is nothing to say.

    >>> tuning_words(Instrument(open_strings_midi=(64, 59, 55, 50, 45, 38), capo=2))
    'Tuning D A D G B E, low to high · Capo at fret 2'
    """
    words = []
    if tuple(instrument.open_strings_midi) != tuple(STANDARD_OPEN_MIDI):
        names = " ".join(_letters(instrument.open_strings_midi))
        words.append(f"Tuning {names}, low to high")
    if instrument.capo:
        words.append(f"Capo at fret {instrument.capo}")
    return " · ".join(words)


def _letters(open_midi: Sequence[int]) -> list[str]:
    return [pitch_name(midi).rstrip("-0123456789") for midi in reversed(open_midi)]


def _swing(line: _Line) -> None:
    """Two eighths = quarter and eighth of a triplet, in brackets: how swing is usually written."""
    top = line.baseline - HEAD_UP - STEM
    line.words(Words("(", TEMPO_SIZE + 4.0, SERIF), gap=2.0)
    first = line.note(gap=5.0)
    second = line.note(gap=5.0)
    line.canvas.rect("sign", first - 0.5, top, second + 0.5, top + 3.0)
    line.words(Words("=", TEMPO_SIZE, SERIF_BOLD), gap=6.0)
    left = line.x
    line.note(gap=5.0)
    line.note(flag=True, gap=3.0)
    right = line.x - 2.0
    three = Words("3", LABEL_SIZE, SERIF_ITALIC)
    middle = (left + right) / 2.0
    y = top - 4.0
    for start, end, corner in ((left, middle - 5.0, left), (middle + 5.0, right, right)):
        path = f"M{number(start)} {number(y)}L{number(end)} {number(y)}"
        line.canvas.stroke("sign", path, [(start, y), (end, y)], width=0.9)
        path = f"M{number(corner)} {number(y)}L{number(corner)} {number(y + 3.0)}"
        line.canvas.stroke("sign", path, [(corner, y), (corner, y + 3.0)], width=0.9)
    line.canvas.words(three, middle, y + 3.4, kind="sign")
    line.words(Words(")", TEMPO_SIZE + 4.0, SERIF), gap=SIGN_GAP)
