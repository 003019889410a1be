"""What a PDF says of itself in XMP (ISO 16684-1): title, language, and that it follows PDF/UA.

The mark of PDF/UA is that of ISO 14289-1, clause 5; the tests read what else the standard asks off finished files.
"""

from __future__ import annotations

from typing import Any
from xml.sax.saxutils import escape

from transcribe.write.xml_text import sayable

PACKET_ID = "W5M0MpCehiHzreSzNTczkc9d"  # the same in every XMP packet, by the standard
UA_PART = 1
NAMESPACES = {
    "rdf": "http://www.w3.org/1999/02/22-rdf-syntax-ns#",
    "dc": "http://purl.org/dc/elements/1.1/",
    "pdf": "http://ns.adobe.com/pdf/1.3/",
    "xmp": "http://ns.adobe.com/xap/1.0/",
    "pdfuaid": "http://www.aiim.org/pdfua/ns/id/",
}


def xmp_packet(title: str, description: str, *, language: str, tool: str) -> bytes:
    """Return the packet as UTF-8. ``language`` is an RFC 3066 tag, ``tool`` the program that made the file."""
    named = " ".join(f'xmlns:{prefix}="{uri}"' for prefix, uri in NAMESPACES.items() if prefix != "rdf")
    lines = [
        f'<?xpacket begin="\ufeff" id="{PACKET_ID}"?>',
        '<x:xmpmeta xmlns:x="adobe:ns:meta/">',
        f'<rdf:RDF xmlns:rdf="{NAMESPACES["rdf"]}">',
        f'<rdf:Description rdf:about="" {named}>',
        "<dc:format>application/pdf</dc:format>",
        f"<dc:title>{_in_language(title)}</dc:title>",
        f"<dc:description>{_in_language(description)}</dc:description>",
        f"<dc:language><rdf:Bag><rdf:li>{escape(language)}</rdf:li></rdf:Bag></dc:language>",
        f"<xmp:CreatorTool>{escape(tool)}</xmp:CreatorTool>",
        f"<pdf:Producer>{escape(tool)}</pdf:Producer>",
        f"<pdfuaid:part>{UA_PART}</pdfuaid:part>",
        "</rdf:Description>",
        "</rdf:RDF>",
        "</x:xmpmeta>",
        '<?xpacket end="r"?>',
    ]
    return "\n".join(lines).encode("utf-8")


def add_metadata(canvas: Any, packet: bytes) -> None:
    """Put a packet into a canvas's document, unpacked, so that programs that know no PDF find it too."""
    from reportlab.pdfbase.pdfdoc import PDFDictionary, PDFName, PDFStream

    kind = PDFDictionary({"Type": PDFName("Metadata"), "Subtype": PDFName("XML")})
    canvas._doc.Catalog.Metadata = PDFStream(kind, packet)  # the canvas offers no public way


def _in_language(words: str) -> str:
    return f'<rdf:Alt><rdf:li xml:lang="x-default">{escape(sayable(words))}</rdf:li></rdf:Alt>'
