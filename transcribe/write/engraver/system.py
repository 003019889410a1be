"""System: one engraved line of music, ready to be placed on a page. The value that pages are composed from.

Lengths are in units of which ten make one space between staff lines; y grows downwards and 0 is the top edge of the
system. A page decides how large a unit is: a staff 7 mm high has 1.75 mm to a space (common for solo parts).
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

UNITS_PER_SPACE = 10.0
SPACE_MM = 1.75  # rastral size 3 to 4, common for single parts (E. Gould, "Behind Bars", Faber 2011; from memory)
LARGE_SPACE_MM = 2.6  # for readers who need large print

# Places in the body where a page puts its colours.
INK, RULE, DOUBT = "@ink@", "@rule@", "@doubt@"

Staff = Literal["notation", "tab", "between", "above", "below"]
BoxKind = Literal[
    "head", "cue", "fret", "stem", "beam", "flag", "accidental", "dot", "rest", "ledger", "clef", "key", "time",
    "barline", "tie", "slur", "tuplet", "bend", "slide", "vibrato", "span", "doubt", "text", "sign",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Palette:
    """Colours of one theme, as SVG colours. None carries a meaning that a shape or word does not carry too."""

    ink: str = "#000000"  # notes, numbers, words
    rule: str = "#000000"  # staff lines
    doubt: str = "#9a4a00"  # the ring and question mark of a doubted note (5.9:1 on white)


@dataclass(frozen=True, slots=True)
class Box:
    """The rectangle one drawn thing fills."""

    kind: BoxKind
    left: float
    top: float
    right: float
    bottom: float
    staff: Staff = "notation"
    note: str | None = None  # id of the take's note, where the thing belongs to one
    words: str | None = None  # what a text says

    def touches(self, other: Box, *, gap: float = 0.0) -> bool:
        """Whether two boxes overlap, or come nearer than ``gap``."""
        return (
            self.left < other.right + gap
            and other.left < self.right + gap
            and self.top < other.bottom + gap
            and other.top < self.bottom + gap
        )


@dataclass(frozen=True, slots=True)
class NotePlace:
    """Where a head stands, for cursors and overlays: one for each head, tied continuations too."""

    note: str  # id of the take's note
    bar: int
    beat: Fraction  # quarters from the start of the bar
    x: float  # middle of the head
    onset_s: float  # of the note in the take; a tied head repeats its note's
    tied_from: bool


@dataclass(frozen=True, slots=True)
class System:
    """One line of music: SVG elements with slots for the colours, its size, and where everything stands."""

    body: str  # SVG elements without an outer <svg>; no ids but those of its notes
    width: float
    height: float
    first_bar: int
    last_bar: int
    boxes: tuple[Box, ...]
    places: tuple[NotePlace, ...]  # in order of x
    staves: tuple[tuple[Staff, float, float], ...]  # each staff's kind, top line and bottom line

    def svg(self, palette: Palette | None = None) -> str:
        """Return the elements in a theme's colours, to be wrapped in a ``<g transform=...>`` of the page."""
        colours = palette or Palette()
        return self.body.replace(INK, colours.ink).replace(RULE, colours.rule).replace(DOUBT, colours.doubt)


@dataclass(frozen=True, slots=True)
class LegendEntry:
    """A sign of the sheet as a small picture (units and slots as in a System) and what it means."""

    body: str
    width: float
    height: float
    words: str

    def svg(self, palette: Palette | None = None) -> str:
        """Return the picture in a theme's colours."""
        colours = palette or Palette()
        return self.body.replace(INK, colours.ink).replace(RULE, colours.rule).replace(DOUBT, colours.doubt)
