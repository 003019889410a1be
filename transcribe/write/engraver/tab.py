"""The tab staff: numbers on strings that leave a gap for them, clef and bar lines come from elsewhere."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from transcribe.score.score import ScoreNote
from transcribe.write.engraver.canvas import Canvas, Words, number
from transcribe.write.engraver.frame import Frame
from transcribe.write.engraver.links import HeadAt
from transcribe.write.engraver.measures import (
    FRET_AIR,
    FRET_DROP,
    FRET_SIZE,
    LINE_THICK,
    TAB_SPACE,
    string_y,
)
from transcribe.write.engraver.sheet import Sheet
from transcribe.write.engraver.system import DOUBT, RULE
from transcribe.write.fonts import SANS

RING_AIR = 3.4  # between a number and the ring of a doubt


@dataclass(frozen=True, slots=True)
class FretAt:
    """One number on the tab staff."""

    head: HeadAt
    words: Words
    x: float
    y: float  # of its string

    @property
    def left(self) -> float:
        """Left end of the number."""
        return self.x - self.words.width / 2

    @property
    def right(self) -> float:
        """Right end of the number."""
        return self.x + self.words.width / 2


def fret_words(head: HeadAt, *, ties: bool = False) -> Words | None:
    """Return the sign of a head on its string; None when it stands nowhere or is not written again.

    A tied head is written again, in brackets, only where a bar starts (common practice), or wherever it stands when
    the tab carries the rhythm and shows its ``ties``.
    """
    take = head.take
    if take.placement is None:
        return None
    if head.head.note.tied_from:
        return Words(f"({take.placement.fret})", FRET_SIZE, SANS) if ties or head.slot.beat == 0 else None
    if take.note.mute == "dead":
        return Words("x", FRET_SIZE + 1.0, SANS)
    if take.note.harmonic != "none":
        return Words(harmonic_text(take.placement.fret, head.head.note), FRET_SIZE, SANS)
    return Words(str(take.placement.fret), FRET_SIZE, SANS)


def harmonic_text(fret: int, note: ScoreNote) -> str:
    """Return a harmonic's numbers: the touched fret in angle brackets, after the fretted one where there is one.

    Common practice: <12> for a natural harmonic, 5<17> for an artificial one.
    """
    if note.take.note.harmonic == "natural":
        return f"<{fret}>"
    return str(fret) if note.touched_fret is None else f"{fret}<{note.touched_fret}>"


def place_frets(frame: Frame, sheet: Sheet) -> tuple[FretAt, ...]:
    """Return the numbers of one system from left to right. Two notes on one string at once: the later is left out."""
    found: list[FretAt] = []
    taken: set[tuple[int, int]] = set()
    for head in sheet.links.heads:
        words = fret_words(head, ties=not sheet.has_notation) if frame.holds(head.slot) else None
        if words is None or head.take.placement is None:
            continue
        spot = (head.slot.number, head.take.placement.string)
        if spot not in taken:
            taken.add(spot)
            found.append(FretAt(head, words, frame.x_of(head.slot), string_y(head.take.placement.string)))
    return tuple(found)


class Strings:
    """The six lines, with gaps where something stands on them."""

    def __init__(self, canvas: Canvas) -> None:
        self.canvas = canvas
        self.last_number: dict[tuple[str, int], tuple[float, float]] = {}  # both ends of a head's last number
        self.reach: dict[str, float] = {}  # right end of all that belongs to a note, its bends too
        self._gaps: dict[float, list[tuple[float, float]]] = defaultdict(list)

    def number_on(self, words: Words, x: float, y: float, head: HeadAt) -> None:
        """Write a number on a string."""
        note = head.take.id
        self.canvas.words(words, x, y + FRET_DROP, kind="fret", note=note)
        left, right = x - words.width / 2, x + words.width / 2
        self._gaps[y].append((left - FRET_AIR, right + FRET_AIR))
        self.last_number[note, head.slot.number] = (left, right)
        self.reach[note] = max(right, self.reach.get(note, right))

    def draw(self, left: float, right: float, count: int) -> None:
        """Draw all lines from left to right, broken at the gaps."""
        pieces = []
        for string in range(1, count + 1):
            y = string_y(string)
            at = left
            for start, end in sorted(self._gaps[y]):
                if start > at:
                    pieces.append((at, start, y))
                at = max(at, end)
            if at < right:
                pieces.append((at, right, y))
        path = "".join(f"M{number(start)} {number(y)}H{number(end)}" for start, end, y in pieces)
        self.canvas.parts.insert(
            0, f'<path d="{path}" fill="none" stroke="{RULE}" stroke-width="{number(LINE_THICK)}"/>'
        )


def draw_frets(frets: tuple[FretAt, ...], strings: Strings, sheet: Sheet) -> None:
    """Write all numbers, each in a group that names its note; doubted ones get a dashed ring."""
    canvas = strings.canvas
    for fret in frets:
        take = fret.head.take
        with canvas.group(sheet.titles[take.id], note=take.id, name=sheet.name(fret.head, "tab")):
            strings.number_on(fret.words, fret.x, fret.y, fret.head)
            if take.id in sheet.doubted:
                ring(canvas, fret.left, fret.right, fret.y, note=take.id)


def ring(canvas: Canvas, left: float, right: float, y: float, *, note: str | None) -> None:
    """Draw the dashed ring around a doubted number or head."""
    high = TAB_SPACE / 2 - 0.4
    left, right = left - RING_AIR, right + RING_AIR
    bow = min(high, (right - left) / 2)
    l_in, r_in = left + bow, right - bow
    path = (
        f"M{number(l_in)} {number(y - high)}H{number(r_in)}"
        f"C{number(right)} {number(y - high)} {number(right)} {number(y + high)} {number(r_in)} {number(y + high)}"
        f"H{number(l_in)}"
        f"C{number(left)} {number(y + high)} {number(left)} {number(y - high)} {number(l_in)} {number(y - high)}"
    )
    around = [(left, y - high), (right, y + high)]
    canvas.stroke("doubt", path, around, width=0.9, dash="2.2 1.6", colour=DOUBT, note=note)
