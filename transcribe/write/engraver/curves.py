"""Curves: slurs and ties thin at their ends, arrows, waves, dashed lines."""

from __future__ import annotations

import math

from transcribe.write.engraver.canvas import Canvas, Point, number
from transcribe.write.engraver.measures import ARROW_LONG, ARROW_WIDE
from transcribe.write.engraver.system import INK, BoxKind

THICK = 1.9  # of a slur in its middle
FINE = 0.7  # and at its ends
DASHES = "3.5 2.5"


def arc(canvas: Canvas, kind: BoxKind, start: Point, end: Point, height: float) -> None:
    """Draw a slur or tie; ``height`` is how far its middle leaves the straight line, above zero for upwards."""
    (x1, y1), (x2, y2) = start, end
    run = x2 - x1
    inset = min(0.3 * run, 14.0 + 0.1 * run)
    lift = height / 0.75  # a cubic reaches three quarters of the way to its control points
    outer = ((x1 + inset, y1 - lift), (x2 - inset, y2 - lift))
    inner_lift = lift - math.copysign(THICK / 0.75, lift)
    inner = ((x2 - inset, y2 - inner_lift), (x1 + inset, y1 - inner_lift))
    points = [number(value) for point in (start, *outer, end, *inner, start) for value in point]
    path = f"M{points[0]} {points[1]}C{' '.join(points[2:8])}C{' '.join(points[8:14])}Z"
    canvas.parts.append(
        f'<path d="{path}" fill="{INK}" stroke="{INK}" stroke-width="{number(FINE)}" stroke-linejoin="round"/>'
    )
    middle = ((x1 + x2) / 2.0, (y1 + y2) / 2.0 - height)
    xs, ys = (x1, x2), (y1, y2, middle[1], y1 - height * 0.5, y2 - height * 0.5)
    canvas.box(kind, min(xs), min(ys) - FINE, max(xs), max(ys) + FINE)


def arrow_head(canvas: Canvas, tip: Point, *, up: bool) -> None:
    """Draw a filled arrow head that points straight up or down."""
    x, y = tip
    back = y + (ARROW_LONG if up else -ARROW_LONG)
    corners = [(x, y), (x + ARROW_WIDE / 2, back), (x - ARROW_WIDE / 2, back)]
    path = "M" + "L".join(f"{number(px)} {number(py)}" for px, py in corners) + "Z"
    canvas.filled("bend", path, corners)


def bow_up(canvas: Canvas, start: Point, tip: Point) -> None:
    """Draw the bent shaft and head of an arrow that leaves level and ends pointing up."""
    (x1, y1), (x2, y2) = start, tip
    base = y2 + ARROW_LONG - 1.0
    path = f"M{number(x1)} {number(y1)}C{number(x1 + 0.75 * (x2 - x1))} {number(y1)}"
    path += f" {number(x2)} {number(y1 - 0.22 * (y1 - base))} {number(x2)} {number(base)}"
    canvas.stroke("bend", path, [(x1, y1), (x2, base)])
    arrow_head(canvas, tip, up=True)


def bow_down(canvas: Canvas, start: Point, tip: Point) -> None:
    """Draw the bent shaft and head of an arrow that leaves level and ends pointing down."""
    (x1, y1), (x2, y2) = start, tip
    base = y2 - ARROW_LONG + 1.0
    path = f"M{number(x1)} {number(y1)}C{number(x1 + 0.75 * (x2 - x1))} {number(y1)}"
    path += f" {number(x2)} {number(y1 + 0.22 * (base - y1))} {number(x2)} {number(base)}"
    canvas.stroke("bend", path, [(x1, y1), (x2, base)])
    arrow_head(canvas, tip, up=False)


def wave(canvas: Canvas, left: float, right: float, y: float, *, note: str | None = None) -> None:
    """Draw a vibrato line: an even wave of whole periods."""
    length, tall = 6.0, 3.0
    count = max(2, round((right - left) / length))
    half = length / 2.0
    x = left
    path = f"M{number(x)} {number(y)}"
    for k in range(2 * count):
        height = -tall if k % 2 == 0 else tall
        path += f"Q{number(x + half / 2)} {number(y + height)} {number(x + half)} {number(y)}"
        x += half
    canvas.stroke("vibrato", path, [(left, y - tall / 2), (x, y + tall / 2)], width=1.7, note=note)


def dashed(canvas: Canvas, kind: BoxKind, start: Point, end: Point, *, hook: float = 0.0) -> None:
    """Draw a level dashed line, with a small hook at its right end when asked."""
    (x1, y1), (x2, y2) = start, end
    canvas.stroke(kind, f"M{number(x1)} {number(y1)}L{number(x2)} {number(y2)}", [start, end], width=1.0, dash=DASHES)
    if hook:
        canvas.stroke(
            kind, f"M{number(x2)} {number(y2)}L{number(x2)} {number(y2 + hook)}", [(x2, y2), (x2, y2 + hook)], width=1.0
        )
