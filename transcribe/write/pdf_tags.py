"""Tags of a PDF: which part of a page is a heading, paragraph or picture, in reading order, with words for pictures.

A tagged PDF (ISO 32000-1, 14.7 and 14.8) marks stretches of each page's content and tells in a tree what they are, so
that screen readers know the order and say what a picture shows. The PDF library draws pages only; the tree is built
here from its own objects.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from itertools import groupby
from typing import Any
from xml.etree import ElementTree

from transcribe.write.svg_read import matrix_of

SVG = "{http://www.w3.org/2000/svg}"
ROLES = {"title": "H1", "heading": "H2", "system": "Figure", "diagrams": "Figure", "words": "P", "sign": "P"}
CONTINUED = "more"  # a later line of the paragraph before it
MUSIC = "Music"


@dataclass(frozen=True, slots=True)
class _Element:
    """One element of the tree: its role, the words that stand for it, the pages and marks of its content."""

    role: str
    name: str
    words: str | None
    box: tuple[float, float, float, float] | None = None  # of a picture: left, bottom, right, top on its page, points
    marks: list[tuple[int, int]] = field(default_factory=list)


class Tags:
    """Collects what a canvas draws as the tree of one document."""

    def __init__(self, canvas: Any, title: str) -> None:
        self._canvas, self._title = canvas, title
        self._elements: list[_Element] = []
        self._marks: list[list[int]] = []  # of each page, the element that each mark belongs to
        self._seen_music = False
        self._size = 0.0, 0.0

    def begin_page(self, width: float, height: float) -> None:
        """Go on to the next page, which is so large, in points."""
        self._size = width, height
        self._marks.append([])

    @contextmanager
    def part(self, drawn: ElementTree.Element) -> Iterator[None]:
        """Mark what is drawn inside as the part of the sheet it is; what is no part is decoration."""
        name = drawn.get("data-part")
        if name is None:
            self._canvas._code.append("/Artifact BMC")  # the canvas offers no public way to mark content
        else:
            role = self._element(name, drawn)
            self._canvas._code.append(f"/{role} <</MCID {len(self._marks[-1]) - 1}>> BDC")
        yield
        self._canvas._code.append("EMC")

    def _element(self, name: str, drawn: ElementTree.Element) -> str:
        page, mark = len(self._marks) - 1, len(self._marks[-1])
        if name != CONTINUED or not self._elements:
            role = ROLES.get(name, "P")
            self._elements.append(_Element(role, name, spoken(name, drawn), self._box(role, drawn)))
            self._outline(name, drawn)
        self._elements[-1].marks.append((page, mark))
        self._marks[-1].append(len(self._elements) - 1)
        return self._elements[-1].role

    def _box(self, role: str, drawn: ElementTree.Element) -> tuple[float, float, float, float] | None:
        """Return the room of a picture between the margins; None for words."""
        if role != "Figure":
            return None
        left, top = matrix_of(drawn.get("transform", ""))[4:]
        width, height = self._size
        return left, height - top - float(drawn.get("data-height", 0)), width - left, height - top

    def _outline(self, name: str, drawn: ElementTree.Element) -> None:
        label = None
        if name == "title":
            label = self._title
        elif name == "heading":
            label = " ".join("".join(drawn.itertext()).split())
        elif name == "system" and not self._seen_music:
            self._seen_music, label = True, MUSIC
        if label:
            key = f"part{len(self._elements)}"
            self._canvas.bookmarkPage(key)
            self._canvas.addOutlineEntry(label, key, level=0 if name == "title" else 1)

    def finish(self) -> None:
        """Put the tree into the document; called once, after the last page and before it is saved."""
        from reportlab.pdfbase.pdfdoc import PDFArray, PDFDictionary, PDFName, PDFString

        document: Any = self._canvas._doc
        pages = document.Pages.pages
        root: Any = PDFDictionary({"Type": PDFName("StructTreeRoot")})
        body: Any = PDFDictionary()
        root_at, body_at = document.Reference(root), document.Reference(body)
        leaves = []
        for each in self._elements:
            first = each.marks[0][0]
            kids = [
                mark if page == first else PDFDictionary(
                    {"Type": PDFName("MCR"), "Pg": document.Reference(pages[page]), "MCID": mark}
                )
                for page, mark in each.marks
            ]  # fmt: skip
            told = {"Type": PDFName("StructElem"), "S": PDFName(each.role), "P": body_at, "K": PDFArray(kids),
                    "Pg": document.Reference(pages[first])}  # fmt: skip
            if each.words:
                told["Alt" if each.role == "Figure" else "ActualText"] = PDFString(each.words)
            if each.box is not None:
                edges = PDFArray([round(edge, 2) for edge in each.box])
                told["A"] = PDFDictionary({"O": PDFName("Layout"), "BBox": edges})
            leaves.append(document.Reference(PDFDictionary(told)))
        body.dict.update(Type=PDFName("StructElem"), S=PDFName("Document"), P=root_at, K=PDFArray(leaves))
        numbers: list[Any] = []
        for number, (page, marks) in enumerate(zip(pages, self._marks, strict=True)):
            numbers += [number, document.Reference(PDFArray([leaves[element] for element in marks]))]
            page.__NoDefault__ = [*page.__NoDefault__, "StructParents", "Tabs"]
            page.StructParents, page.Tabs = number, PDFName("S")
        root.dict.update(K=body_at, ParentTree=document.Reference(PDFDictionary({"Nums": PDFArray(numbers)})),
                         ParentTreeNextKey=len(pages))  # fmt: skip
        catalog = document.Catalog
        catalog.StructTreeRoot = root
        catalog.MarkInfo = PDFDictionary({"Marked": "true"})


def spoken(name: str, drawn: ElementTree.Element) -> str | None:
    """Return what stands for a part that is not words alone; None for words.

    A line of music is told by what its notes say one after another, a row of diagrams by the words around them, a row
    of signs by what they mean.
    """
    if name == "sign":
        columns = groupby(drawn.iterfind(f"{SVG}text"), key=lambda text: text.get("x"))
        meanings = (" ".join("".join(text.itertext()) for text in texts) for _, texts in columns)
        return "; ".join(meanings) or None
    if ROLES.get(name) != "Figure":
        return None
    said = [title.text or "" for title in drawn.iter(f"{SVG}title")]
    if not said:
        texts = ("".join(text.itertext()) for text in drawn.iter(f"{SVG}text"))
        said = [text for text in texts if sum(sign.isalpha() for sign in text) > 1]
    return "; ".join(dict.fromkeys(said)) or name
