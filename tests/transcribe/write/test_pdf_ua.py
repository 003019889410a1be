"""What PDF/UA-1 asks of a file (ISO 14289-1:2014, clause numbers beside each), as an independent reader finds it.

The files also passed the checkers outloud 0.2.1, which follows the Matterhorn Protocol 1.1, and pdfua 0.1.3.
"""

import io
import re
import struct
from xml.etree import ElementTree

import pytest
from pypdf import PdfReader
from pypdf.generic import ContentStream

from tests.golden.licks import WAVE, Page, bends, doubted
from transcribe.write.pdf import sheet_pdf
from transcribe.write.sheet import sheet_of
from transcribe.write.sheet_options import SHOWABLE, SheetOptions

PAINTS = {b"f", b"F", b"f*", b"B", b"B*", b"b", b"b*", b"S", b"s", b"sh", b"Do", b"Tj", b"TJ", b"'", b'"'}
UA = "{http://www.aiim.org/pdfua/ns/id/}"
DC, RDF = "{http://purl.org/dc/elements/1.1/}", "{http://www.w3.org/1999/02/22-rdf-syntax-ns#}"
FILES = {
    "bends": lambda: sheet_of(bends(), name="lamp room", options=SheetOptions(show=frozenset(SHOWABLE))),
    "doubts": lambda: sheet_of(doubted(), name="Ein Lied für Łódź", options=SheetOptions(paper="letter")),
    "several pages": lambda: sheet_of(long(), name="dark", options=SheetOptions(theme="dark", large_print=True)),
}  # fmt: skip


def long():
    page = Page(bpm=100.0)
    for place in range(200):
        page.note("1", 1 + place % 3, 5 + place % 4, vibrato=WAVE if place % 7 == 0 else None)
    return page.document()


@pytest.fixture(scope="module", params=FILES)
def pdf(request):
    return PdfReader(io.BytesIO(sheet_pdf(FILES[request.param]())))


def test_there_is_a_file_of_several_pages():
    assert len(FILES["several pages"]().pages) > 1


def catalog(pdf):
    return pdf.trailer["/Root"]


def elements(pdf):
    """All structure elements in reading order."""
    waiting = [catalog(pdf)["/StructTreeRoot"]["/K"].get_object()]
    while waiting:
        element = waiting.pop(0)
        yield element
        kids = element.get("/K", [])
        below = [kid.get_object() for kid in kids if not isinstance(kid.get_object(), int)]
        waiting = [kid for kid in below if "/S" in kid] + waiting


def fonts(pdf):
    return [(page, name, font.get_object()) for page in pdf.pages for name, font in page["/Resources"]["/Font"].items()]


def operations(pdf, page):
    return ContentStream(page.get_contents(), pdf).operations


def test_the_file_says_that_it_follows_part_1_and_its_title(pdf):
    """Clauses 5 and 7.1: identifier and dc:title in an XMP packet anyone can read."""
    stream = catalog(pdf)["/Metadata"]
    assert (stream["/Type"], stream["/Subtype"]) == ("/Metadata", "/XML")
    assert "/Filter" not in stream
    root = ElementTree.fromstring(stream.get_data())
    (part,) = root.iter(f"{UA}part")
    assert part.text == "1"
    (title,) = root.iter(f"{DC}title")
    assert title.find(f"{RDF}Alt/{RDF}li").text == pdf.metadata.title


def test_language_title_and_tags_are_declared(pdf):
    """Clauses 6.2, 7.1 and 7.2."""
    assert catalog(pdf)["/MarkInfo"]["/Marked"]
    assert not catalog(pdf)["/MarkInfo"].get("/Suspects", False)
    assert catalog(pdf)["/ViewerPreferences"]["/DisplayDocTitle"]
    assert catalog(pdf)["/Lang"]
    assert "/Encrypt" not in pdf.trailer


def test_everything_painted_is_tagged_or_decoration_and_neither_lies_in_the_other(pdf):
    """Clause 7.1: real content is tagged, the rest are artifacts, and they are not nested."""
    for page in pdf.pages:
        inside = []
        for operands, operator in operations(pdf, page):
            if operator in (b"BDC", b"BMC"):
                inside.append(operands[0])
            elif operator == b"EMC":
                inside.pop()
            elif operator in PAINTS:
                assert len(inside) == 1
        assert inside == []


def test_every_mark_belongs_to_one_element_and_the_tree_leads_back(pdf):
    """ISO 32000-1, 14.7.4: the parent tree finds the element of each mark."""
    pages = {page.indirect_reference.idnum: number for number, page in enumerate(pdf.pages)}
    told = []
    for element in elements(pdf):
        for kid in element.get("/K", []):
            mark = kid.get_object()
            if isinstance(mark, int):
                told.append((pages[element.raw_get("/Pg").idnum], int(mark), element.indirect_reference.idnum))
            elif mark.get("/Type") == "/MCR":
                told.append((pages[mark.raw_get("/Pg").idnum], int(mark["/MCID"]), element.indirect_reference.idnum))
    drawn = [
        (number, int(operands[1]["/MCID"]))
        for number, page in enumerate(pdf.pages)
        for operands, operator in operations(pdf, page)
        if operator == b"BDC"
    ]
    assert sorted((page, mark) for page, mark, _ in told) == sorted(drawn)
    numbers = catalog(pdf)["/StructTreeRoot"]["/ParentTree"]["/Nums"]
    parents = {int(numbers[k]): numbers[k + 1].get_object() for k in range(0, len(numbers), 2)}
    for page, mark, element in told:
        assert parents[int(pdf.pages[page]["/StructParents"])][mark].idnum == element


def test_structure_types_are_those_of_the_standard_and_headings_skip_no_level(pdf):
    """Clauses 7.1 and 7.4: no type needs a role map; the first heading is H1."""
    types = [element["/S"] for element in elements(pdf)]
    assert set(types) <= {"/Document", "/H1", "/H2", "/P", "/Figure"}
    headings = [kind for kind in types if kind.startswith("/H")]
    assert headings[0] == "/H1"
    assert headings.count("/H1") == 1


def test_pictures_are_told_in_words_and_where_they_stand(pdf):
    """Clause 7.3, and ISO 32000-1, table 344, for the box."""
    figures = [element for element in elements(pdf) if element["/S"] == "/Figure"]
    assert figures
    for figure in figures:
        assert len(figure["/Alt"].strip()) > 10
        left, bottom, right, top = (float(edge) for edge in figure["/A"]["/BBox"])
        page = figure["/Pg"]["/MediaBox"]
        assert 0 <= left < right <= float(page[2])
        assert 0 <= bottom < top <= float(page[3])


def test_fonts_are_whole_and_every_sign_is_a_letter_of_unicode(pdf):
    """Clauses 7.21.4 to 7.21.8: embedded, as wide as told, one encoding, no sign without a glyph or a meaning."""
    for page, name, font in fonts(pdf):
        descriptor = font["/FontDescriptor"].get_object()
        assert int(descriptor["/Flags"]) & 4  # symbolic: so it has no /Encoding, and one table of codes
        assert "/Encoding" not in font
        encodings, glyphs, advances = font_program(descriptor["/FontFile2"].get_object().get_data())
        assert encodings == 1
        meanings = dict(re.findall(r"<(\w\w)> <(\w+)>", font["/ToUnicode"].get_object().get_data().decode("latin-1")))
        first, widths = int(font["/FirstChar"]), font["/Widths"]
        for code in codes_shown(pdf, page, name):
            assert glyphs[code] != 0
            assert abs(advances[glyphs[code]] - float(widths[code - first])) <= 1
            assert int(meanings[f"{code:02X}"], 16) > 0


def font_program(data):
    """How many encodings an embedded TrueType font has, its glyph by code, and advances in thousandths of an em.

    ISO/IEC 14496-22: cmap with a table of format 6, head, hhea and hmtx.
    """
    tables = {}
    for k in range(struct.unpack_from(">H", data, 4)[0]):
        tag, _, offset, _ = struct.unpack_from(">4sIII", data, 12 + 16 * k)
        tables[tag] = offset
    encodings, _, _, offset = struct.unpack_from(">HHHI", data, tables[b"cmap"] + 2)
    kind, _, _, first, count = struct.unpack_from(">5H", data, tables[b"cmap"] + offset)
    assert kind == 6
    codes = struct.unpack_from(f">{count}H", data, tables[b"cmap"] + offset + 10)
    em = struct.unpack_from(">H", data, tables[b"head"] + 18)[0]
    long_ones = struct.unpack_from(">H", data, tables[b"hhea"] + 34)[0]
    widths = struct.unpack_from(">" + "Hh" * long_ones, data, tables[b"hmtx"])[::2]
    advances = {glyph: widths[min(glyph, long_ones - 1)] * 1000 / em for glyph in codes}
    return encodings, {first + place: glyph for place, glyph in enumerate(codes)}, advances


def codes_shown(pdf, page, name):
    found, here = set(), None
    for operands, operator in operations(pdf, page):
        if operator == b"Tf":
            here = operands[0]
        elif operator == b"Tj" and here == name:
            text = operands[0]
            found |= set(text.original_bytes if hasattr(text, "original_bytes") else bytes(text))
    return found


def test_pages_are_walked_in_the_order_of_the_tree_and_hold_no_annotations(pdf):
    """Clause 7.18.3."""
    for page in pdf.pages:
        assert page["/Tabs"] == "/S"
        assert "/Annots" not in page
