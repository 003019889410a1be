"""Lines of music made by hand, so that pages can be tested without the engraver."""

from __future__ import annotations

from transcribe.write.engraver.system import INK, RULE, LegendEntry, System


def system(number: int = 1, *, width: float = 1029.0, height: float = 190.0) -> System:
    """Six rules, one note with its spoken text, and a fret number that says which system it is."""
    rules = "".join(f'<rect x="0" y="{40 + 12 * k}" width="{width}" height="1.2" fill="{RULE}"/>' for k in range(6))
    note = (
        f'<g role="img"><title>note {number}</title>'
        f'<path transform="translate(100 60)" fill="{INK}" d="M0 0C5 -8 10 -8 12 0Q6 9 0 0Z"/></g>'
    )
    fret = (
        f'<text x="200" y="130" font-family="DejaVu Sans" font-size="12" text-anchor="middle" fill="{INK}">'
        f"system{number}</text>"
    )
    return System(rules + note + fret, width, height, number, number, (), (), ())


def systems(count: int, **size: float) -> tuple[System, ...]:
    """Several of them, numbered from 1."""
    return tuple(system(number, **size) for number in range(1, count + 1))


def signs(count: int = 3) -> tuple[LegendEntry, ...]:
    """A legend of made signs."""
    stroke = f'<path d="M0 10L20 0" stroke="{INK}" stroke-width="1.5" fill="none"/>'
    return tuple(LegendEntry(stroke, 25, 12, f"meaning of sign {k}") for k in range(1, count + 1))
