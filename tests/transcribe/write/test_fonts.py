"""Widths read from the font file agree with a general-purpose font library."""

from __future__ import annotations

from transcribe.write.fonts import FONT_PATH, has_sign, text_width


def test_widths_agree_with_the_drawing_library() -> None:
    """matplotlib's own font engine (FreeType) measures the same file."""
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import TextPath

    for words in ("reached +193: 7 flat", "E♭4", "bar 2, beat 1½"):
        end = "|"  # the ink of a bar ends a known way before its advance
        both = TextPath((0, 0), words + end, size=100, prop=FontProperties(fname=FONT_PATH)).get_extents().x1
        alone = TextPath((0, 0), end, size=100, prop=FontProperties(fname=FONT_PATH)).get_extents().x1
        assert abs(text_width(words, 100) - (both - alone)) < 4  # kerning


def test_the_signs_of_music_are_there() -> None:
    assert all(has_sign(sign) for sign in "♭♯♮·½¼¾⅓⅔−±")
    assert not has_sign("\ue000")


def test_the_licence_stands_beside_the_font() -> None:
    licence = FONT_PATH.with_name("LICENSE-DejaVu.txt").read_text(encoding="utf-8")
    assert "Permission is hereby granted, free of charge" in licence
