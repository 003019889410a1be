"""Canvas: what is drawn around one staff, as SVG elements and the boxes they fill. y = 0 is the staff's top line."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from xml.sax.saxutils import escape, quoteattr

from transcribe.write.engraver.system import INK, Box, BoxKind, Staff
from transcribe.write.fonts import SERIF, Face, text_width
from transcribe.write.xml_text import sayable

Point = tuple[float, float]
ASCENT, DESCENT = 0.70, 0.21  # of the em: how far letters and figures reach over and under their baseline


@dataclass(frozen=True, slots=True)
class Shape:
    """An outline drawn by the notation library, around its own origin."""

    kind: BoxKind
    head: int  # which head of its chord it belongs to; -1 for none
    path: str
    left: float
    top: float
    right: float
    bottom: float


def shape_of(drawn: Sequence[object]) -> Shape:
    """Return a shape as the runtime hands it over: kind, head, path, left, top, right, bottom."""
    return Shape(*drawn)  # type: ignore[arg-type]


def number(value: float) -> str:
    """Return a length as SVG text, to a hundredth.

    >>> number(2.0), number(1 / 3)
    ('2', '0.33')
    """
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


@dataclass(frozen=True, slots=True)
class Words:
    """A line of text: what it says, how large, in which face."""

    text: str
    size: float
    face: Face = SERIF

    @property
    def width(self) -> float:
        """From its first letter to its last."""
        return text_width(self.text, self.size, self.face)


class Canvas:
    """Collects elements and boxes; ``staff`` tells every box where it belongs."""

    def __init__(self, staff: Staff) -> None:
        self.staff = staff
        self.parts: list[str] = []
        self.boxes: list[Box] = []

    # Groups

    @contextmanager
    def group(self, title: str, *, note: str, name: str) -> Iterator[None]:
        """Put what is drawn inside into a group that screen readers call ``title``."""
        self.parts.append(
            f'<g id={quoteattr(name)} data-note={quoteattr(sayable(note))} role="img"><title>{escape(title)}</title>'
        )
        yield
        self.parts.append("</g>")

    # Drawing

    def shapes(self, shapes: Iterable[Shape], x: float, y: float, *, note: str | None = None) -> None:
        """Draw outlines with their origin at x, y."""
        found = list(shapes)
        if not found:
            return
        path = "".join(shape.path for shape in found)
        self.parts.append(f'<path transform="translate({number(x)} {number(y)})" fill="{INK}" d="{path}"/>')
        for shape in found:
            self.box(shape.kind, shape.left + x, shape.top + y, shape.right + x, shape.bottom + y, note=note)

    def box(
        self,
        kind: BoxKind,
        left: float,
        top: float,
        right: float,
        bottom: float,
        *,
        note: str | None = None,
        words: str | None = None,
    ) -> None:
        """Note where something stands."""
        self.boxes.append(Box(kind, left, top, right, bottom, self.staff, note, words))

    def rect(
        self, kind: BoxKind | None, left: float, top: float, right: float, bottom: float, *, fill: str = INK
    ) -> None:
        """Draw a filled rectangle; without a kind it leaves no box (staff lines)."""
        self.parts.append(
            f'<rect x="{number(left)}" y="{number(top)}" width="{number(right - left)}"'
            f' height="{number(bottom - top)}" fill="{fill}"/>'
        )
        if kind is not None:
            self.box(kind, left, top, right, bottom)

    def filled(self, kind: BoxKind, path: str, around: Sequence[Point], *, fill: str = INK) -> None:
        """Draw a filled outline; ``around`` are points its box must hold."""
        self.parts.append(f'<path d="{path}" fill="{fill}"/>')
        self._box_around(kind, around, 0.0)

    def stroke(
        self,
        kind: BoxKind | None,
        path: str,
        around: Sequence[Point],
        *,
        width: float = 1.2,
        dash: str = "",
        colour: str = INK,
        note: str | None = None,
    ) -> None:
        """Draw along a path; ``around`` are points its box must hold."""
        dashes = f' stroke-dasharray="{dash}"' if dash else ""
        self.parts.append(
            f'<path d="{path}" fill="none" stroke="{colour}" stroke-width="{number(width)}"'
            f' stroke-linecap="{"butt" if dash else "round"}"{dashes}/>'
        )
        if kind is not None:
            self._box_around(kind, around, width / 2, note)

    def words(
        self,
        words: Words,
        x: float,
        baseline: float,
        *,
        anchor: str = "middle",
        kind: BoxKind = "text",
        note: str | None = None,
        colour: str = INK,
    ) -> Box:
        """Write a line of text centred on, starting or ending at x, and return its box."""
        face = words.face
        weight = ' font-weight="bold"' if face.weight == "bold" else ""
        style = ' font-style="italic"' if face.style == "italic" else ""
        where = f' text-anchor="{anchor}"' if anchor != "start" else ""
        self.parts.append(
            f'<text x="{number(x)}" y="{number(baseline)}" font-family="{face.family}" font-size="{number(words.size)}"'
            f'{weight}{style}{where} fill="{colour}">{escape(sayable(words.text))}</text>'
        )
        left = text_left(words, x, anchor)
        box = Box(
            kind, left, baseline - ASCENT * words.size, left + words.width,
            baseline + _descent(words) * words.size, self.staff, note, words.text,
        )  # fmt: skip
        self.boxes.append(box)
        return box

    def _box_around(self, kind: BoxKind, around: Sequence[Point], margin: float, note: str | None = None) -> None:
        xs, ys = [x for x, _ in around], [y for _, y in around]
        self.box(kind, min(xs) - margin, min(ys) - margin, max(xs) + margin, max(ys) + margin, note=note)

    # Finding room

    def top_over(self, left: float, right: float) -> float:
        """Return the highest point of what is drawn between two places; the staff's top line when nothing is."""
        return min((box.top for box in self.boxes if box.left < right and left < box.right), default=0.0)

    def bottom_over(self, left: float, right: float, floor: float) -> float:
        """Return the lowest point of what is drawn between two places, at least ``floor``."""
        return max((box.bottom for box in self.boxes if box.left < right and left < box.right), default=floor)

    def moved(self, dy: float) -> tuple[str, tuple[Box, ...]]:
        """Return everything as one group moved down by ``dy``, and its boxes there."""
        inside = "".join(self.parts)
        boxes = tuple(replace(box, top=box.top + dy, bottom=box.bottom + dy) for box in self.boxes)
        return f'<g transform="translate(0 {number(dy)})">{inside}</g>', boxes


def text_left(words: Words, x: float, anchor: str) -> float:
    """Return where a text begins that is anchored at x."""
    return x - words.width * {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor]


def _descent(words: Words) -> float:
    return DESCENT if any(sign in "gjpqyQJ,;()[]/" for sign in words.text) else 0.02
