"""SheetOptions: what a sheet shows, on which paper, in which size of print."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Literal, cast

from transcribe.errors import SettingsError
from transcribe.write.engraver.options import EXTRA_LINES, EngraveOptions, ExtraLine, StaffChoice, units_wide
from transcribe.write.engraver.system import LARGE_SPACE_MM, SPACE_MM, UNITS_PER_SPACE
from transcribe.write.sheet_theme import ThemeName, theme_named

MM = 72.0 / 25.4  # points in a millimetre; all lengths on a page are in points

PaperName = Literal["a4", "letter"]
PAPERS: dict[PaperName, tuple[float, float]] = {
    "a4": (210 * MM, 297 * MM),  # ISO 216
    "letter": (8.5 * 72, 11.0 * 72),  # ANSI/ASME Y14.1
}
MARGIN_MM = 15.0  # all round; printers reach to 5 mm, a hole punch to 12 mm
LARGE_PRINT = 1.5  # text of 10.5 points becomes 15.75; large print begins at 16 (common practice)

Part = Literal["diagrams", "about", "legend"]
PARTS: tuple[Part, ...] = ("diagrams", "about", "legend")
SHOWABLE: tuple[str, ...] = (*EXTRA_LINES, *PARTS)
SHOWN: tuple[str, ...] = ("chords", "degrees", "fingers", "positions", "diagrams", "about", "legend")


@dataclass(frozen=True, slots=True)
class SheetOptions:
    """Choices for one sheet."""

    paper: PaperName = "a4"
    theme: ThemeName = "light"
    staves: StaffChoice = "both"
    large_print: bool = False
    show: frozenset[str] = frozenset(SHOWN)
    final: bool = False  # without the marks and the list of doubts
    title: str | None = None  # None: the name of the take
    font: Path | None = None  # for signs that our fonts lack; None: one of this machine's

    def __post_init__(self) -> None:
        theme_named(self.theme)
        if self.paper not in PAPERS:
            raise SettingsError(f"no such paper: {self.paper}", f"Choose from {', '.join(PAPERS)}.")
        if unknown := self.show - set(SHOWABLE):
            raise SettingsError(
                f"a sheet has no part called {', '.join(sorted(unknown))}", f"Choose from {', '.join(SHOWABLE)}."
            )

    @property
    def page_size(self) -> tuple[float, float]:
        """Width and height of a page, in points."""
        return PAPERS[self.paper]

    @property
    def margin(self) -> float:
        """Of all four sides, in points."""
        return MARGIN_MM * MM

    @property
    def text_width(self) -> float:
        """Between the margins, in points."""
        return self.page_size[0] - 2 * self.margin

    @property
    def unit(self) -> float:
        """Points in one unit of the engraver."""
        return (LARGE_SPACE_MM if self.large_print else SPACE_MM) / UNITS_PER_SPACE * MM

    @property
    def text_scale(self) -> float:
        """How much larger than usual the words are."""
        return LARGE_PRINT if self.large_print else 1.0

    def engraving(self) -> EngraveOptions:
        """Return what to ask of the engraver."""
        lines = frozenset(cast(ExtraLine, name) for name in self.show if name in EXTRA_LINES)
        space_mm = LARGE_SPACE_MM if self.large_print else SPACE_MM
        width = units_wide(self.text_width / MM, space_mm=space_mm)
        return EngraveOptions(width=width, staves=self.staves, extra_lines=lines, final=self.final)
