"""SVG as text: one element a line, every value escaped."""

from __future__ import annotations

from xml.sax.saxutils import escape, quoteattr

from transcribe.write.fonts import FONT_FAMILY

Number = float | int


def element(name: str, *inside: str, **attributes: str | Number) -> str:
    """Return one element; ``stroke_width=2`` becomes ``stroke-width="2"``, ``inside`` is ready-made SVG.

    >>> element("line", x1=0, y1=1.25, x2=3, y2=1.25, stroke="black")
    '<line x1="0" y1="1.25" x2="3" y2="1.25" stroke="black"/>'
    """
    words = "".join(f" {key.rstrip('_').replace('_', '-')}={quoteattr(_value(v))}" for key, v in attributes.items())
    return f"<{name}{words}>{''.join(inside)}</{name}>" if inside else f"<{name}{words}/>"


def text(words: str, x: Number, y: Number, *, size: Number, fill: str, **attributes: str | Number) -> str:
    """Return a line of text whose baseline starts at x, y (or ends, or is centred there, by ``text_anchor``)."""
    return element("text", escape(words), x=x, y=y, font_size=size, fill=fill, **attributes)


def document(width: Number, height: Number, title: str, description: str, *body: str) -> str:
    """Return a whole picture with the title and description that screen readers speak (SVG 1.1, section 5.4)."""
    return "\n".join(
        [
            '<?xml version="1.0" encoding="UTF-8"?>',
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{_value(width)}" height="{_value(height)}"'
            f' viewBox="0 0 {_value(width)} {_value(height)}" role="img" aria-labelledby="title description"'
            f' font-family="{FONT_FAMILY}, Verdana, sans-serif">',
            element("title", escape(title), id="title"),
            element("desc", escape(description), id="description"),
            *body,
            "</svg>\n",
        ]
    )


def _value(value: str | Number) -> str:
    return value if isinstance(value, str) else f"{round(value, 2):g}" if abs(value) < 1e5 else f"{value:.1f}"
