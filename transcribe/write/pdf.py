"""The pages of a sheet as PDF: vector outlines and embedded fonts, drawn element by element.

The pages hold a small part of SVG 1.1 (groups, paths, lines, rectangles, circles, text), so they are drawn straight
onto the PDF's canvas. Anything else is refused rather than left out.
"""

from __future__ import annotations

import io
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any
from xml.etree import ElementTree

from transcribe.errors import MissingExtraError, ScoreError
from transcribe.write.fonts import FACES, SERIF, Face, all_faces, more_faces, with_more
from transcribe.write.pdf_metadata import add_metadata, xmp_packet
from transcribe.write.pdf_tags import Tags
from transcribe.write.right_to_left import as_drawn
from transcribe.write.sheet import Sheet
from transcribe.write.sheet_svg import page_svg
from transcribe.write.sheet_text import runs, width_of
from transcribe.write.svg_read import draw_path, matrix_of

SVG = "{http://www.w3.org/2000/svg}"
SILENT = {"title", "desc", "style"}  # spoken or for browsers, not drawn
LANGUAGE, TOOL = "en", "takesheet"


@dataclass(frozen=True, slots=True)
class _Look:
    """What an element inherits from the groups around it (SVG 1.1, chapter 11)."""

    fill: str = "#000000"
    stroke: str = "none"
    stroke_width: float = 1.0
    dash: tuple[float, ...] = ()
    cap: str = "butt"
    join: str = "miter"
    family: str = FACES[0].family
    weight: str = "normal"
    style: str = "normal"
    size: float = 12.0
    anchor: str = "start"


def sheet_pdf(sheet: Sheet) -> bytes:
    """Return the sheet's pages as one PDF with title, language, outline and tags, as PDF/UA-1 (ISO 14289-1) asks.

    Equal sheets give equal bytes.

    Raises MissingExtraError when the PDF library is not installed.
    """
    try:
        from reportlab.pdfgen.canvas import Canvas
    except ImportError as error:
        raise MissingExtraError(
            "the PDF library (reportlab) is not installed", "Run: pip install reportlab, or leave pdf out of --formats."
        ) from error
    with with_more(sheet.faces):
        return _drawn(sheet, Canvas)


def _drawn(sheet: Sheet, canvas_of: Any) -> bytes:
    fonts = _registered_fonts()
    data = io.BytesIO()
    canvas = canvas_of(data, pageCompression=1, invariant=1, lang=LANGUAGE, initialFontName=fonts[SERIF])
    canvas.setTitle(sheet.title)
    canvas.setSubject(sheet.description)
    canvas.setAuthor("")  # nobody is named; the library would write "anonymous"
    canvas.setCreator(TOOL)
    canvas.setProducer(TOOL)
    add_metadata(canvas, xmp_packet(sheet.title, sheet.description, language=LANGUAGE, tool=TOOL))
    canvas.setViewerPreference("DisplayDocTitle", "true")
    tags = Tags(canvas, sheet.title)
    for number, page in enumerate(sheet.pages, start=1):
        canvas.setPageSize((page.width, page.height))
        canvas.transform(1, 0, 0, -1, 0, page.height)  # y downwards, as in SVG
        tags.begin_page(page.width, page.height)
        for drawn in ElementTree.fromstring(page_svg(sheet, page, number).encode("utf-8")):
            with tags.part(drawn):
                _Painter(canvas, fonts).draw(drawn, _Look())
        canvas.showPage()
    tags.finish()
    canvas.save()
    return data.getvalue()


def _registered_fonts() -> dict[Face, str]:
    """Return the PDF library's name for each face, made known to it once."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    names = {face: f"takesheet-{face.path.stem}" for face in FACES}
    names |= {face: f"takesheet-{face.path}-{face.index}" for face in more_faces()}
    known = set(pdfmetrics.getRegisteredFontNames())
    for face, name in names.items():
        if name not in known:
            pdfmetrics.registerFont(TTFont(name, str(face.path), subfontIndex=face.index))
    return names


class _Painter:
    """Draws SVG elements onto a canvas whose y axis points down."""

    def __init__(self, canvas: Any, fonts: Mapping[Face, str]) -> None:
        self._canvas, self._fonts = canvas, fonts

    def draw(self, element: ElementTree.Element, look: _Look) -> None:
        """Draw an element and what is inside it; raises ScoreError for an element outside our part of SVG."""
        name = element.tag.removeprefix(SVG)
        if name in SILENT:
            return
        look = _inherited(element, look)
        transform = element.get("transform")
        if transform:
            self._canvas.saveState()
            self._canvas.transform(*matrix_of(transform))
        if name in ("svg", "g"):
            for child in element:
                self.draw(child, look)
        elif name == "text":
            self._text(element, look)
        else:
            self._shape(name, element, look)
        if transform:
            self._canvas.restoreState()

    def _shape(self, name: str, element: ElementTree.Element, look: _Look) -> None:
        fills, strokes = look.fill != "none", look.stroke != "none" and look.stroke_width > 0
        if name == "line":
            fills = False
        if not fills and not strokes:
            return
        canvas, number = self._canvas, lambda key: float(element.get(key, 0))
        path = canvas.beginPath()
        if name == "path":
            draw_path(path, element.get("d", ""))
        elif name == "line":
            path.moveTo(number("x1"), number("y1"))
            path.lineTo(number("x2"), number("y2"))
        elif name == "rect":
            path.rect(number("x"), number("y"), number("width"), number("height"))
        elif name == "circle":
            path.circle(number("cx"), number("cy"), number("r"))
        else:
            raise ScoreError(f"a page holds a <{name}>, which cannot be drawn in a PDF", "Leave pdf out of --formats.")
        self._set(look, fills=fills, strokes=strokes)
        canvas.drawPath(path, stroke=int(strokes), fill=int(fills), fillMode=1)  # 1: non-zero, as SVG fills

    def _set(self, look: _Look, *, fills: bool, strokes: bool) -> None:
        from reportlab.lib.colors import HexColor

        if fills:
            self._canvas.setFillColor(HexColor(look.fill))
        if strokes:
            self._canvas.setStrokeColor(HexColor(look.stroke))
            self._canvas.setLineWidth(look.stroke_width)
            self._canvas.setLineCap({"butt": 0, "round": 1, "square": 2}[look.cap])
            self._canvas.setLineJoin({"miter": 0, "round": 1, "bevel": 2}[look.join])
            self._canvas.setDash(*((list(look.dash),) if look.dash else ((),)))

    def _text(self, element: ElementTree.Element, look: _Look) -> None:
        """Draw a line of text; its pieces may change face, and signs a face lacks come from one that has them."""
        pieces = [(as_drawn(element.text or ""), look)]
        for child in element:
            if child.tag.removeprefix(SVG) != "tspan":
                raise ScoreError(f"a text holds a <{child.tag}>", "Leave pdf out of --formats.")
            pieces += [(as_drawn(child.text or ""), _inherited(child, look)), (as_drawn(child.tail or ""), look)]
        x, y = float(element.get("x", 0)), float(element.get("y", 0))
        width = sum(width_of(words, inside.size, _face(inside)) for words, inside in pieces if words)
        x -= width * {"start": 0.0, "middle": 0.5, "end": 1.0}[look.anchor]
        for words, inside in pieces:
            for face, part in runs(words, _face(inside)):
                self._words(part, x, y, face, inside)
                x += width_of(part, inside.size, face)

    def _words(self, words: str, x: float, y: float, face: Face, look: _Look) -> None:
        self._set(look, fills=True, strokes=False)
        text = self._canvas.beginText()
        text.setFont(self._fonts[face], look.size)
        text.setTextTransform(1, 0, 0, -1, x, y)  # upright on a canvas whose y points down
        text.textOut(words)
        self._canvas.drawText(text)


def _face(look: _Look) -> Face:
    wanted = (look.family, look.weight, look.style)
    for face in all_faces():
        if (face.family, face.weight, face.style) == wanted:
            return face
    raise ScoreError(f"a page asks for a font it has not: {' '.join(wanted)}", "Leave pdf out of --formats.")


def _inherited(element: ElementTree.Element, look: _Look) -> _Look:
    """Return the look with what the element itself says."""
    changes: dict[str, Any] = {}
    for key, value in element.attrib.items():
        if key in ("fill", "stroke"):
            changes[key] = value
        elif key == "stroke-width":
            changes["stroke_width"] = float(value)
        elif key == "stroke-dasharray":
            changes["dash"] = () if value == "none" else tuple(float(part) for part in value.replace(",", " ").split())
        elif key == "stroke-linecap":
            changes["cap"] = value
        elif key == "stroke-linejoin":
            changes["join"] = value
        elif key == "font-family":
            changes["family"] = value.split(",")[0].strip("'\" ")
        elif key == "font-size":
            changes["size"] = float(value)
        elif key == "font-weight":
            changes["weight"] = value
        elif key == "font-style":
            changes["style"] = value
        elif key == "text-anchor":
            changes["anchor"] = value
    return replace(look, **changes) if changes else look
