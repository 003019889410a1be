"""A page of a sheet as an SVG file of its own."""

from __future__ import annotations

import base64
import re
from collections.abc import Sequence
from xml.sax.saxutils import escape, unescape

from transcribe.write.fonts import FACES, Face
from transcribe.write.fonts.subset import woff_subset
from transcribe.write.sheet import Page, Sheet
from transcribe.write.svg import element
from transcribe.write.xml_text import sayable


def page_svg(sheet: Sheet, page: Page, number: int | None = None, *, with_fonts: bool = False) -> str:
    """Return a page, or the tall picture, as SVG with title and description for screen readers.

    ``with_fonts`` puts the signs it uses inside, so that it looks the same where our fonts are not installed. The root
    is a ``graphics-document`` (WAI-ARIA Graphics Module 1.0), so that the texts of its notes can be reached.
    """
    title = sheet.title if number is None else f"{sheet.title}, page {number}"
    svg = "\n".join(
        [
            '<?xml version="1.0" encoding="UTF-8"?>',
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{page.width:.2f}pt" height="{page.height:.2f}pt"'
            f' viewBox="0 0 {page.width:.2f} {page.height:.2f}" lang="en" xml:lang="en"'
            ' role="graphics-document document" aria-labelledby="sheet-title sheet-description">',
            element("title", escape(title), id="sheet-title"),
            element("desc", escape(sheet.description), id="sheet-description"),
            *([element("style", _font_faces(page.body, (*FACES, *sheet.faces)))] if with_fonts else []),
            element("rect", x=0, y=0, width=page.width, height=page.height, fill=sheet.theme.paper),
            page.body,
            "</svg>\n",
        ]
    )
    return sayable(svg)


def _font_faces(body: str, faces: Sequence[Face]) -> str:
    """Return CSS that brings the part of each face that a page uses."""
    signs = set(unescape("".join(re.findall(r">([^<]+)<", body)), {"&quot;": '"'}))
    return "".join(
        f'@font-face{{font-family:"{face.family}";font-weight:{face.weight};font-style:{face.style};'
        f"src:url(data:font/woff;base64,{base64.b64encode(woff_subset(face, signs)).decode('ascii')})}}"
        for face in faces
    )
