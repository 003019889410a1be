"""SVG's small languages read: transforms to matrices, path data to strokes of a pen."""

from __future__ import annotations

import re
from math import cos, radians, sin
from typing import Protocol

from transcribe.errors import ScoreError

Matrix = tuple[float, float, float, float, float, float]
IDENTITY: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
_TOKENS = re.compile(r"([A-Za-z])|(-?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)")
_ARGUMENTS = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "Q": 4, "Z": 0}


class Pen(Protocol):
    """What a path is drawn with."""

    def moveTo(self, x: float, y: float) -> object:  # noqa: N802 - the PDF library's names
        """Begin a line here."""

    def lineTo(self, x: float, y: float) -> object:  # noqa: N802
        """Draw a straight line."""

    def curveTo(self, x1: float, y1: float, x2: float, y2: float, x3: float, y3: float) -> object:  # noqa: N802
        """Draw a cubic Bézier curve."""

    def close(self) -> object:
        """Draw back to the beginning."""


def matrix_of(transform: str) -> Matrix:
    """Return the matrix of a ``transform`` attribute (SVG 1.1, section 7.6); raises ScoreError for a skew.

    >>> matrix_of("translate(3 4) scale(2)")
    (2.0, 0.0, 0.0, 2.0, 3.0, 4.0)
    """
    found = IDENTITY
    for name, inside in re.findall(r"(\w+)\s*\(([^)]*)\)", transform):
        given = [float(part) for part in inside.replace(",", " ").split()]
        found = times(found, _one(name, given))
    return found


def times(outer: Matrix, inner: Matrix) -> Matrix:
    """Return the matrix that does ``inner`` first, then ``outer``."""
    a, b, c, d, e, f = outer
    g, h, i, j, k, m = inner
    return (a * g + c * h, b * g + d * h, a * i + c * j, b * i + d * j, a * k + c * m + e, b * k + d * m + f)


def _one(name: str, given: list[float]) -> Matrix:
    if name == "translate":
        return (1.0, 0.0, 0.0, 1.0, given[0], given[1] if len(given) > 1 else 0.0)
    if name == "scale":
        return (given[0], 0.0, 0.0, given[1] if len(given) > 1 else given[0], 0.0, 0.0)
    if name == "rotate":
        turn = radians(given[0])
        turned = (cos(turn), sin(turn), -sin(turn), cos(turn), 0.0, 0.0)
        if len(given) == 1:
            return turned
        x, y = given[1:]
        return times(times((1.0, 0.0, 0.0, 1.0, x, y), turned), (1.0, 0.0, 0.0, 1.0, -x, -y))
    if name == "matrix" and len(given) == 6:
        return (given[0], given[1], given[2], given[3], given[4], given[5])
    raise ScoreError(f"a page holds the transform {name}, which cannot be drawn")


def draw_path(pen: Pen, data: str) -> None:
    """Draw path data (SVG 1.1, section 8.3) with a pen; arcs and smooth curves are not among what our pages hold.

    Raises ScoreError for a command outside M, L, H, V, C, Q and Z, in capitals or small letters.
    """
    tokens = _TOKENS.findall(data)
    at, command = 0, ""
    x = y = start_x = start_y = 0.0
    while at < len(tokens):
        if tokens[at][0]:
            command = tokens[at][0]
            at += 1
        kind = command.upper()
        if kind not in _ARGUMENTS:
            raise ScoreError(f"a path holds the command {command!r}, which cannot be drawn")
        count = _ARGUMENTS[kind]
        given = [float(token[1]) for token in tokens[at : at + count]]
        if len(given) < count or (count == 0 and at < len(tokens) and not tokens[at][0]):
            raise ScoreError(f"a path ends in the middle: {data[-30:]!r}")
        at += count
        dx, dy = (x, y) if command.islower() else (0.0, 0.0)
        if kind == "Z":
            pen.close()
            x, y = start_x, start_y
            continue
        if kind == "H":
            given = [given[0] + dx, y]
        elif kind == "V":
            given = [x, given[0] + dy]
        else:
            given = [value + (dy if k % 2 else dx) for k, value in enumerate(given)]
        if kind == "M":
            pen.moveTo(*given)
            start_x, start_y = given
            command = "l" if command == "m" else "L"
        elif kind == "C":
            pen.curveTo(*given)
        elif kind == "Q":
            pen.curveTo(*_cubic(x, y, *given))
        else:
            pen.lineTo(*given)
        x, y = given[-2], given[-1]


def _cubic(x: float, y: float, cx: float, cy: float, to_x: float, to_y: float) -> tuple[float, ...]:
    """Return the cubic curve that a quadratic one is: its control points lie two thirds of the way to the corner."""
    return (
        x + 2 / 3 * (cx - x), y + 2 / 3 * (cy - y), to_x + 2 / 3 * (cx - to_x), to_y + 2 / 3 * (cy - to_y), to_x, to_y,
    )  # fmt: skip
