"""Sizes, colours, marks and names that the panels of a bend picture share."""

from __future__ import annotations

from transcribe.write.svg import element

WIDTH, PLOT_LEFT, PLOT_WIDTH, PLOT_HEIGHT = 960.0, 124.0, 630.0, 230.0
GUTTER_LEFT = PLOT_LEFT + PLOT_WIDTH + 30
MARGIN, TITLE_SIZE, TEXT_SIZE, SMALL_SIZE = 24.0, 16.0, 13.0, 12.0
LINE_HEIGHT, ROW_HEIGHT, AXIS_HEIGHT, PANEL_GAP = 20.0, 18.0, 46.0, 30.0

# Colours that stay apart for colour-blind eyes: M. Okabe and K. Ito, "Color Universal Design", 2008. Line style and
# marks differ too, so that nothing hangs on colour. Texts are darker shades of the same, for contrast on white.
INK, SOFT_INK, GRID = "#1a1a1a", "#555555", "#dddddd"
PITCH, TARGET, TARGET_TEXT, HELD, HELD_TEXT = "#0072b2", "#d55e00", "#a34700", "#009e73", "#006b4e"
BAND = "#fbe3d3"
NOTE_NAMES = ("C", "C♯", "D", "E♭", "E", "F", "F♯", "G", "A♭", "A", "B♭", "B")


def pitch_name(midi: float) -> str:
    """Return the name of the nearest note with its octave, middle C being C4.

    >>> pitch_name(63)
    'E♭4'
    """
    nearest = round(midi)
    return f"{NOTE_NAMES[nearest % 12]}{nearest // 12 - 1}"


def circle(x: float, y: float) -> str:
    """Return the mark of a start."""
    return element("circle", cx=x, cy=y, r=5, fill="#ffffff", stroke=INK, stroke_width=1.6)


def diamond(x: float, y: float) -> str:
    """Return the mark of an arrival."""
    points = f"{x:.1f},{y - 6.5:.1f} {x + 6.5:.1f},{y:.1f} {x:.1f},{y + 6.5:.1f} {x - 6.5:.1f},{y:.1f}"
    return element("polygon", points=points, fill=INK, stroke="#ffffff", stroke_width=1)


def signed(cents: float) -> str:
    """A number of cents as printed in music: with its sign, a real minus, and no sign at 0."""
    whole = round(cents)
    return f"+{whole}" if whole > 0 else f"−{-whole}" if whole < 0 else "0"
