"""Transforms and path data, read as the SVG standard says."""

import pytest

from transcribe.errors import ScoreError
from transcribe.write.svg_read import draw_path, matrix_of


class Strokes:
    """A pen that notes what it was asked to draw."""

    def __init__(self):
        self.told = []

    def moveTo(self, *at):  # noqa: N802
        self.told.append(("M", *at))

    def lineTo(self, *at):  # noqa: N802
        self.told.append(("L", *at))

    def curveTo(self, *at):  # noqa: N802
        self.told.append(("C", *at))

    def close(self):
        self.told.append(("Z",))


def drawn(data):
    pen = Strokes()
    draw_path(pen, data)
    return pen.told


def test_the_triangle_of_the_standard():
    """SVG 1.1, section 8.1, example triangle01: "M 100 100 L 300 100 L 200 300 z"."""
    assert drawn("M 100 100 L 300 100 L 200 300 z") == [("M", 100, 100), ("L", 300, 100), ("L", 200, 300), ("Z",)]


def test_numbers_may_follow_without_spaces_and_commands_may_be_left_out():
    """SVG 1.1, section 8.3.1: "M 100 100 L 200 200" may be written "M100 100L200 200"; further pairs are lines."""
    assert drawn("M100-200L200 200-100-200") == [("M", 100, -200), ("L", 200, 200), ("L", -100, -200)]
    assert drawn("M0 0 1 1") == [("M", 0, 0), ("L", 1, 1)]


def test_small_letters_count_from_where_the_pen_is():
    assert drawn("M10 10l5 0v5h-5z m1 1 2 2") == [
        ("M", 10, 10), ("L", 15, 10), ("L", 15, 15), ("L", 10, 15), ("Z",), ("M", 11, 11), ("L", 13, 13),
    ]  # fmt: skip


def test_a_quadratic_curve_passes_through_the_same_middle():
    (_, (_, *c)) = drawn("M0 0Q10 20 20 0")
    middle = [
        (start + 3 * one + 3 * two + end) / 8 for start, one, two, end in zip((0, 0), c[:2], c[2:4], c[4:], strict=True)
    ]
    assert middle == pytest.approx([10, 10])


@pytest.mark.parametrize("data", ["M0 0A5 5 0 0 1 10 10", "M0", "M0 0L5", "M0 0Z5"])
def test_what_cannot_be_drawn_is_refused(data):
    with pytest.raises(ScoreError):
        drawn(data)


def test_transforms_apply_from_right_to_left():
    """SVG 1.1, section 7.6: translate(50 90) rotate(-45) translate(130 160), its worked example in section 7.5."""
    a, b, c, d, e, f = matrix_of("translate(50,90) rotate(-45) translate(130,160)")
    assert (a, b, c, d) == pytest.approx((0.707, -0.707, 0.707, 0.707), abs=1e-3)
    assert (e, f) == pytest.approx((255.03, 111.21), abs=0.05)  # printed from rounded sines


def test_a_turn_about_a_point_leaves_it_where_it_is():
    a, b, c, d, e, f = matrix_of("rotate(90 3 4)")
    assert (a * 3 + c * 4 + e, b * 3 + d * 4 + f) == pytest.approx((3, 4))


def test_a_skew_is_refused():
    with pytest.raises(ScoreError, match="skewX"):
        matrix_of("skewX(10)")
