"""Pages as pictures: SVG to PNG with the project's own fonts."""

from __future__ import annotations

from transcribe.write.fonts import FACES, SANS, SERIF
from transcribe.write.raster import DPI
from transcribe.write.sheet import Page, Sheet
from transcribe.write.sheet_svg import page_svg

PAGE_DPI = 200.0  # dots an inch: sharp on screens and in print of usual size; A4 becomes 1654 by 2339


def page_png(sheet: Sheet, page: Page, number: int | None = None, *, dpi: float = PAGE_DPI) -> bytes:
    """Return a page as PNG, as large as the page is at ``dpi`` dots an inch."""
    import resvg_py

    return bytes(
        resvg_py.svg_to_bytes(
            svg_string=page_svg(sheet, page, number),
            dpi=DPI,
            zoom=dpi / DPI,
            background=sheet.theme.paper,
            skip_system_fonts=True,
            font_files=[str(face.path) for face in (*FACES, *sheet.faces)],
            font_family=SERIF.family,
            serif_family=SERIF.family,
            sans_serif_family=SANS.family,
        )
    )
