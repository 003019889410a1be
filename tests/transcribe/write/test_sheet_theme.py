"""Colours that everyone can read, in both themes."""

import re

import pytest

from transcribe.errors import SettingsError
from transcribe.write.sheet_theme import (
    DARK,
    LIGHT,
    LINE_CONTRAST,
    TEXT_CONTRAST,
    THEMES,
    contrast,
    luminance,
    theme_named,
)


def test_contrast_of_greys_on_white_as_published():
    """#767676 is the lightest grey that passes 4.5:1 on white, #777777 fails (WCAG 2.2 Techniques G18; from memory)."""
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.01)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.01)
    assert contrast("#ffffff", "#000000") == pytest.approx(21.0)
    assert luminance("#000000") == 0.0


@pytest.mark.parametrize("theme", THEMES.values(), ids=THEMES)
def test_words_and_lines_stand_out_from_the_paper(theme):
    for colour in (theme.ink, theme.soft_ink, theme.accent):
        assert contrast(colour, theme.paper) >= TEXT_CONTRAST
    assert contrast(theme.rule, theme.paper) >= LINE_CONTRAST


@pytest.mark.parametrize("theme", THEMES.values(), ids=THEMES)
def test_the_engravers_colours_are_the_themes(theme):
    palette = theme.palette
    assert {palette.ink, palette.rule, palette.doubt} == {theme.ink, theme.rule, theme.accent}
    assert all(re.fullmatch("#[0-9a-f]{6}", colour) for colour in (palette.ink, palette.rule, palette.doubt))


def hue(colour: str) -> float:
    import colorsys

    return 360 * colorsys.rgb_to_hsv(*(int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)))[0]


@pytest.mark.parametrize(("theme", "published"), [(LIGHT, "#d55e00"), (DARK, "#e69f00")])
def test_the_accent_has_a_hue_of_the_palette_for_colour_blind_readers(theme, published):
    """Vermilion and orange of M. Okabe and K. Ito, "Color Universal Design", 2008."""
    assert hue(theme.accent) == pytest.approx(hue(published), abs=3)


def test_an_unknown_theme_is_refused():
    with pytest.raises(SettingsError, match="no such theme: sepia"):
        theme_named("sepia")
