"""EngraveOptions: what a sheet shows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from transcribe.errors import SettingsError
from transcribe.write.engraver.system import SPACE_MM, UNITS_PER_SPACE

StaffChoice = Literal["both", "notation", "tab"]
ExtraLine = Literal["chords", "degrees", "tones", "fingers", "strokes", "positions"]
EXTRA_LINES: tuple[ExtraLine, ...] = ("chords", "degrees", "tones", "fingers", "strokes", "positions")
MIN_WIDTH = 300.0  # units: a clef, a key of seven and a beat or two


@dataclass(frozen=True, slots=True)
class EngraveOptions:
    """What to engrave; all extra lines but the tone labels are shown unless chosen otherwise."""

    width: float = 1030.0  # of a line of music, in units of a tenth of a staff space; 180 mm of A4 at 1.75 mm a space
    staves: StaffChoice = "both"
    extra_lines: frozenset[ExtraLine] = frozenset({"chords", "degrees", "fingers", "strokes", "positions"})
    final: bool = False  # leaves the marks of doubt out
    heading: bool = True  # tempo, feel, tuning and capo over the first system
    id_prefix: str = ""  # put before the id of every note, where one page holds two sheets

    def __post_init__(self) -> None:
        if not self.width >= MIN_WIDTH:
            raise SettingsError(
                f"a line of music {self.width:g} units wide is too narrow", f"Give at least {MIN_WIDTH:g}."
            )
        if unknown := self.extra_lines - set(EXTRA_LINES):
            raise SettingsError(f"no such line: {', '.join(sorted(unknown))}", f"Choose from {', '.join(EXTRA_LINES)}.")


def units_wide(width_mm: float, *, space_mm: float = SPACE_MM) -> float:
    """Return how many units a line of ``width_mm`` holds when a staff space is ``space_mm`` high.

    >>> round(units_wide(180))
    1029
    """
    return width_mm / space_mm * UNITS_PER_SPACE
