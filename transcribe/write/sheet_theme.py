"""Themes of the sheet: colours for paper and for dark screens, and how well they stand apart."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from transcribe.errors import SettingsError
from transcribe.write.engraver.system import Palette

ThemeName = Literal["light", "dark"]

# WCAG 2.2, success criteria 1.4.3 and 1.4.11: the least contrast of text, and of lines that must be seen.
TEXT_CONTRAST, LINE_CONTRAST = 4.5, 3.0


@dataclass(frozen=True, slots=True)
class Theme:
    """Colours as ``#rrggbb``. No meaning hangs on one: what is coloured also has a shape or a word of its own.

    The accent is the vermilion of M. Okabe and K. Ito, "Color Universal Design" (2008), darkened on white for
    contrast; on dark paper it is their orange. Both stay apart from ink and paper for colour-blind eyes.
    """

    name: ThemeName
    paper: str
    ink: str  # notes and words
    soft_ink: str  # words of second rank
    rule: str  # staff lines
    accent: str  # marks of doubt

    @property
    def palette(self) -> Palette:
        """The colours the engraver's systems are filled with."""
        return Palette(ink=self.ink, rule=self.rule, doubt=self.accent)


LIGHT = Theme("light", "#ffffff", "#111111", "#4d4d4d", "#555555", "#9a4a00")
DARK = Theme("dark", "#16181b", "#f2f2f2", "#c2c6cc", "#9da2a9", "#e69f00")
THEMES: dict[str, Theme] = {theme.name: theme for theme in (LIGHT, DARK)}


def theme_named(name: str) -> Theme:
    """Return a theme; raises SettingsError for a name that is none."""
    if name not in THEMES:
        raise SettingsError(f"no such theme: {name}", f"Choose from {', '.join(THEMES)}.")
    return THEMES[name]


def luminance(colour: str) -> float:
    """Return the relative luminance of ``#rrggbb``, 0 (black) to 1 (white); WCAG 2.2, "relative luminance".

    >>> luminance("#ffffff")
    1.0
    """
    channels = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio of two colours, 1 to 21; WCAG 2.2, "contrast ratio".

    >>> round(contrast("#000000", "#ffffff"))
    21
    """
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)
