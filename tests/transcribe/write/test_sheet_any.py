"""Any document becomes a sheet: random music, names and words, every choice of what to show."""

from dataclasses import replace
from xml.etree import ElementTree

from hypothesis import given, settings
from hypothesis import strategies as st

from tests.golden.licks import bends
from tests.strategies_documents import documents
from transcribe.document.model import TakeDocument
from transcribe.write.sheet import sheet_of
from transcribe.write.sheet_files import sheet_files
from transcribe.write.sheet_options import SHOWABLE, SheetOptions

choices = st.builds(
    SheetOptions,
    paper=st.sampled_from(("a4", "letter")),
    theme=st.sampled_from(("light", "dark")),
    staves=st.sampled_from(("both", "notation", "tab")),
    large_print=st.booleans(),
    show=st.frozensets(st.sampled_from(SHOWABLE)),
    final=st.booleans(),
)


@settings(max_examples=25, deadline=None)
@given(documents(), st.text(max_size=8), choices)
def test_any_document_becomes_a_sheet(document, name, options):
    made = sheet_of(document, name=name, options=options)
    files = sheet_files(made, ("pdf", "svg"), "any")
    assert files["any.pdf"].startswith(b"%PDF-")
    ElementTree.fromstring(files["any.svg"])


def test_a_name_xml_cannot_hold_is_written_with_a_stand_in():
    lick = bends()
    notes = (replace(lick.notes[0], note=replace(lick.notes[0].note, id="a\x1fb")), *lick.notes[1:])
    made = sheet_of(replace(lick, notes=notes), name="x\x00y", options=SheetOptions())
    assert made.title == "X y"
    assert "a\ufffdb" in sheet_files(made, ("svg",), "any")["any.svg"].decode("utf-8")


def test_no_notes_at_all_are_an_empty_bar():
    made = sheet_of(TakeDocument(()), name="", options=SheetOptions())
    assert made.title == "Untitled lick"
    assert "0 notes in 1 bar" in made.description
