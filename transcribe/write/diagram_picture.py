"""A chord diagram as SVG: strings upright, low string left, as they are usually printed."""

from __future__ import annotations

from xml.sax.saxutils import escape

from transcribe.write.diagrams import STRINGS, Diagram, Dot
from transcribe.write.fonts import SANS
from transcribe.write.sheet_text import SERIF, SERIF_BOLD, line, pretty, shortened, width_of
from transcribe.write.sheet_theme import Theme
from transcribe.write.svg import element

# Sizes at usual print, in points.
STRING_GAP, FRET_GAP, LEAST_FRETS = 9.6, 12.4, 4
DOT, DIGIT, SIGN, BARRE = 4.2, 7.2, 2.6, 3.4
NAME_SIZE, WHERE_SIZE = 11.5, 8.2
NAME_ROOM, SIGN_ROOM, LEFT = 18.0, 10.0, 17.0  # over the neck: the name, open and silent signs; left: the fret number
FOOT = 16.0


def diagram_width(diagram: Diagram, scale: float) -> float:
    """Return how wide a diagram stands, its words included, in points."""
    neck = LEFT + STRING_GAP * (STRINGS - 1) + DOT + 2
    words = max(width_of(pretty(diagram.name), NAME_SIZE, SERIF_BOLD), width_of(diagram.where, WHERE_SIZE))
    return scale * max(neck, words)


def diagram_height(diagram: Diagram, scale: float, *, top: float | None = None) -> float:
    """Return how high a diagram stands, in points; ``top`` is where its neck begins, for rows that begin level."""
    return scale * ((above(diagram) if top is None else top) + FRET_GAP * frets_shown(diagram)[1] + FOOT)


def above(diagram: Diagram) -> float:
    """Return where the neck begins, under the name and the signs of open and silent strings."""
    signs = diagram.silent or any(dot.fret == 0 for dot in diagram.dots)
    return NAME_ROOM + (SIGN_ROOM if signs else 0.0)


def frets_shown(diagram: Diagram) -> tuple[int, int]:
    """Return the first fret drawn and how many; the first is 1 where the nut is drawn."""
    fretted = [dot.fret for dot in diagram.dots if dot.fret > 0]
    low, high = min(fretted, default=1), max(fretted, default=1)
    first = 1 if high <= LEAST_FRETS else low
    return first, max(LEAST_FRETS, high - first + 1)


def diagram_picture(diagram: Diagram, theme: Theme, scale: float, *, top: float | None = None) -> str:
    """Return a diagram with its top left corner at 0, 0, and its words as the title that screen readers speak."""
    first, n_frets = frets_shown(diagram)
    width = diagram_width(diagram, 1.0)
    left = max(LEFT, (width - STRING_GAP * (STRINGS - 1)) / 2)
    middle, top = left + STRING_GAP * (STRINGS - 1) / 2, above(diagram) if top is None else top
    bottom = top + FRET_GAP * n_frets
    parts = [
        element("title", escape(diagram.words)),
        line(pretty(diagram.name), middle, 10, size=NAME_SIZE, fill=theme.ink, face=SERIF_BOLD, anchor="middle"),
        *_neck(left, top, n_frets, theme),
        *_start(diagram, first, left, top, theme),
        *_barres(diagram, first, left, top, theme),
        *(_sign(dot, first, left, top, theme) for dot in diagram.dots),
        *(_cross(left + STRING_GAP * (STRINGS - string), top - 6, theme) for string in diagram.silent),
        line(shortened(diagram.where, WHERE_SIZE, width + 1), middle, bottom + 11, size=WHERE_SIZE,
             fill=theme.soft_ink, face=SERIF, anchor="middle"),
    ]  # fmt: skip
    return element("g", *parts, role="img", transform=f"scale({scale:g})")


def _neck(left: float, top: float, n_frets: int, theme: Theme) -> list[str]:
    right, bottom = left + STRING_GAP * (STRINGS - 1), top + FRET_GAP * n_frets
    xs = [left + STRING_GAP * k for k in range(STRINGS)]
    ys = [top + FRET_GAP * k for k in range(n_frets + 1)]
    return [_stroke(x, top, x, bottom, theme, 0.7) for x in xs] + [_stroke(left, y, right, y, theme, 0.7) for y in ys]


def _start(diagram: Diagram, first: int, left: float, top: float, theme: Theme) -> list[str]:
    """The nut as a thick line, or the number of the first fret drawn."""
    right = left + STRING_GAP * (STRINGS - 1)
    if first == 1:
        nut = element("line", x1=left - 0.4, y1=top - 1, x2=right + 0.4, y2=top - 1, stroke=theme.ink,
                      stroke_width=2.6)  # fmt: skip
        capo = line("capo", left - DOT, top + 4.5, size=6.6, fill=theme.soft_ink, anchor="end") if diagram.capo else ""
        return [nut, capo] if capo else [nut]
    y = top + FRET_GAP / 2 + 3
    return [line(str(first), left - DOT - 3, y, size=WHERE_SIZE, fill=theme.ink, face=SERIF, anchor="end")]


def _barres(diagram: Diagram, first: int, left: float, top: float, theme: Theme) -> list[str]:
    """A bar under places of one fret that one finger holds at once."""
    held: dict[tuple[int, int], list[int]] = {}
    for dot in diagram.dots:
        if diagram.held and dot.finger and dot.fret > 0:
            held.setdefault((dot.finger, dot.fret), []).append(dot.string)
    bars = []
    for (_, fret), strings in held.items():
        if len(strings) > 1:
            x1, x2 = (left + STRING_GAP * (STRINGS - string) for string in (max(strings), min(strings)))
            y = top + FRET_GAP * (fret - first + 0.5)
            bars.append(element("line", x1=x1, y1=y, x2=x2, y2=y, stroke=theme.ink, stroke_width=BARRE))
    return bars


def _sign(dot: Dot, first: int, left: float, top: float, theme: Theme) -> str:
    """A place: a square is the root; filled is played in the lick; above the strings it is open."""
    x = left + STRING_GAP * (STRINGS - dot.string)
    is_open = dot.fret == 0
    y = top - 6 if is_open else top + FRET_GAP * (dot.fret - first + 0.5)
    size = SIGN if is_open else DOT
    fill = theme.ink if dot.played else theme.paper
    look: dict[str, str | float] = {"fill": fill, "stroke": theme.ink, "stroke_width": 0.9}
    if dot.is_root:
        mark = element("rect", x=x - size * 0.92, y=y - size * 0.92, width=size * 1.84, height=size * 1.84, **look)
    else:
        mark = element("circle", cx=x, cy=y, r=size, **look)
    if dot.finger and not is_open:
        ink = theme.paper if dot.played else theme.ink
        mark += line(str(dot.finger), x, y + DIGIT * 0.36, size=DIGIT, fill=ink, face=SANS, anchor="middle")
    return mark


def _cross(x: float, y: float, theme: Theme) -> str:
    size = SIGN * 0.9
    strokes = _stroke(x - size, y - size, x + size, y + size, theme, 1.0) + _stroke(
        x - size, y + size, x + size, y - size, theme, 1.0
    )
    return strokes.replace(theme.rule, theme.ink)


def _stroke(x1: float, y1: float, x2: float, y2: float, theme: Theme, width: float) -> str:
    return element("line", x1=x1, y1=y1, x2=x2, y2=y2, stroke=theme.rule, stroke_width=width)
