"""SVG text to PNG bytes, with our own font and nothing of the system's."""

from __future__ import annotations

from transcribe.write.fonts import FONT_FAMILY, FONT_PATH

DPI = 96.0  # CSS: 96 px to the inch; without it lengths in pt vanish
ZOOM = 2.0  # sharp on screens with two dots a pixel, and in print


def png_from_svg(svg: str, *, zoom: float = ZOOM) -> bytes:
    """Return the picture as PNG, ``zoom`` dots for each unit of the SVG's size; raises ValueError on a broken SVG."""
    import resvg_py

    return bytes(
        resvg_py.svg_to_bytes(
            svg_string=svg,
            dpi=DPI,
            zoom=zoom,
            background="#ffffff",
            skip_system_fonts=True,
            font_files=[str(FONT_PATH)],
            font_family=FONT_FAMILY,
            sans_serif_family=FONT_FAMILY,
        )
    )
