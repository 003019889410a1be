"""Widths read from the font file agree with what the drawing engine really draws."""

from __future__ import annotations

import io

import av
import numpy as np

from transcribe.write.fonts import FONT_PATH, has_sign, text_width
from transcribe.write.raster import png_from_svg
from transcribe.write.svg import document, text


def right_edge(words: str, size: int) -> int:
    """Return the last column with ink when the engine draws the words from x = 0."""
    png = png_from_svg(document(2000, 200, "t", "d", text(words, 0, 150, size=size, fill="#000000")), zoom=1.0)
    with av.open(io.BytesIO(png)) as picture:
        grey = next(picture.decode(video=0)).to_ndarray(format="gray")
    return int(np.flatnonzero(grey.min(axis=0) < 128)[-1])


def test_widths_agree_with_the_drawing_engine() -> None:
    for words in ("reached +193: 7 flat", "E♭4 C♯5", "bar 2, beat 1½"):
        drawn = right_edge(words + "|", 100) - right_edge("|", 100)
        assert abs(text_width(words, 100) - drawn) < 6  # the engine kerns; at a label's size that is under 1 unit


def test_the_signs_of_music_are_there() -> None:
    assert all(has_sign(sign) for sign in "♭♯♮·½¼¾⅓⅔−±")
    assert not has_sign("\ue000")


def test_the_licence_stands_beside_the_font() -> None:
    licence = FONT_PATH.with_name("LICENSE-DejaVu.txt").read_text(encoding="utf-8")
    assert "Permission is hereby granted, free of charge" in licence
