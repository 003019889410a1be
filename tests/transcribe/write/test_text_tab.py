import re
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fingering.cautions import ADVICE
from fingering.passage import Placement
from tests.rhythm_music import played
from tests.strategies_documents import documents
from transcribe.document.model import Instrument, TakeDocument, TakeNote
from transcribe.document.read import read_document
from transcribe.harmony.key import Key
from transcribe.notes.note import Doubt
from transcribe.rhythm.rhythm import Meter, Rhythm
from transcribe.score.build import build_score
from transcribe.write.text_tab import string_names, text_tab

REFERENCES = sorted((Path(__file__).parents[3] / "fixtures" / "reference").glob("*.take.json"))


def document(written="1 1/2 1/2 1 1", *, fret=5, **more):
    line = played(written, 100, midis=(60, 60))
    notes = tuple(TakeNote(note, Placement(note.id, 3, fret, None)) for note in line.notes)
    return replace(TakeDocument(notes=notes, rhythm=Rhythm(100.0, Meter(4, 4), 1.0, tempo_source="given")), **more)


def page(doc, **more):
    return text_tab(build_score(doc, title="Ferry lick"), **more)


def string_rows(text, names="eBGDAE"):
    return [row for row in text.splitlines() if re.match(rf"\s*[{names}][b#]?\|", row)]


def test_the_whole_page_of_a_small_lick():
    assert page(document()) == (
        "Ferry lick\n"
        "4/4    quarter = 100\n"
        "\n"
        "  1\n"
        "e|---------------------------||\n"
        "B|---------------------------||\n"
        "G|-5-----5---5---5-----5-----||\n"
        "D|---------------------------||\n"
        "A|---------------------------||\n"
        "E|---------------------------||\n"
        "   │     │   │   │     │\n"
        "   │     └───┘   │     │\n"
        "\n"
        "│  quarter    └─┘ or └╴  eighths\n"
    )


@pytest.mark.parametrize(
    ("open_midi", "names"),
    [
        ((64, 59, 55, 50, 45, 40), "e B G D A E"),
        ((64, 59, 55, 50, 45, 38), "e B G D A D"),
        ((63, 58, 54, 49, 44, 39), "eb Bb Gb Db Ab Eb"),
        ((62, 57, 54, 50, 45, 38), "d A F# D A D"),
        ((62, 59, 55, 50, 43, 38), "d B G D G D"),
    ],
)
def test_strings_are_named_by_the_tuning(open_midi, names):
    assert " ".join(string_names(open_midi)) == names


def test_heading_tells_key_capo_tuning_and_an_estimate():
    tuned = Instrument(open_strings_midi=(64, 59, 55, 50, 45, 38), capo=3)
    doc = document(key=Key("F#", "minor"), instrument=tuned, rhythm=Rhythm(99.6, Meter(4, 4), 1.0))
    heading = page(doc).split("\n\n")[0].replace("\n", "    ")
    for fact in ("quarter = 100 (estimated)", "key: F# minor", "drop D (D A D G B E)", "capo: fret 3"):
        assert fact in heading


def test_six_eight_is_counted_in_dotted_quarters():
    assert "dotted quarter = 80" in page(document("1/2 " * 6, rhythm=Rhythm(120.0, Meter(6, 8), 1.0)))


def test_swing_is_told():
    rhythm = Rhythm(100.0, Meter(4, 4), 1.0, feel="swing", tempo_source="given")
    assert "swing" in page(document("2/3 1/3 2/3 1/3 2", rhythm=rhythm)).splitlines()[1]


def test_lines_break_at_bar_lines_and_each_bar_is_numbered_once():
    text = page(document("1/2 " * 40))
    assert [len(row) <= 80 for row in text.splitlines()] == [True] * len(text.splitlines())
    rows = [row for row in string_rows(text) if row.startswith("G|")]
    assert len(rows) == 3  # two bars of eighths a line
    assert all(row.endswith("|") for row in rows)
    numbers = [number for row in text.splitlines() for number in re.findall(r"^ {2}(\d.*)$", row)]
    assert " ".join(numbers).split() == ["1", "2", "3", "4", "5"]


def test_a_bar_wider_than_the_page_breaks_at_a_beat():
    text = page(document("1/4 " * 16, fret=12), width=44)
    rows = [row for row in string_rows(text) if row.startswith("G|")]
    assert [row.count("12") for row in rows] == [12, 4]
    assert not rows[0].endswith("|")
    assert "(1)" in text


def test_strings_and_rhythm_stay_in_line():
    for fret in (5, 12):
        text = page(document("1 1/2 1/2 1 1", fret=fret))
        row = next(row for row in string_rows(text) if row.startswith("G|"))
        stems = text.splitlines()[text.splitlines().index(string_rows(text)[-1]) + 1]
        assert [match.start() for match in re.finditer(r"\d+", row)] == [
            match.start() for match in re.finditer("│", stems)
        ]
        assert len({len(row) for row in string_rows(text)}) == 1


def test_doubts_are_marked_over_the_note_and_told_below():
    doc = document(doubts=(Doubt("an octave too high, perhaps", "n3"), Doubt("the tempo could be half: 50 bpm")))
    text = page(doc)
    assert "?  bar 1, beat 2½: an octave too high, perhaps" in text
    assert "?  the tempo could be half: 50 bpm" in text
    marks = next(row for row in text.splitlines() if row.strip() == "?")
    strings = next(row for row in string_rows(text) if row.startswith("G|"))
    assert marks.index("?") == [match.start() for match in re.finditer("5", strings)][2]


def test_several_doubts_about_one_note_are_told_in_one_go():
    text = page(document(doubts=(Doubt("very short", "n3"), Doubt("hard to hear", "n3"))))
    assert "?  bar 1, beat 2½: very short; hard to hear" in text


def test_a_reason_is_told_once_at_a_place_and_the_advice_once_for_all():
    doc = document("1 1 1 1 " * 3)
    apart = [Doubt("the fingers are far apart", f"n{k}") for k in (2, 2, 6)]
    care = [Doubt(f"take care: a stretch of {mm} mm. {ADVICE}", f"n{k}") for k, mm in ((1, 98), (5, 119))]
    text = page(replace(doc, doubts=(*apart, *care)), width=200)
    assert "?  bar 1, beat 2: the fingers are far apart\n?  bar 2, beat 2: the fingers are far apart\n" in text
    assert "!  take care, bar 1, beat 1: a stretch of 98 mm\n!  take care, bar 2, beat 1: a stretch of 119 mm\n" in text
    assert text.count(ADVICE) == 1
    marks = next(row for row in text.splitlines() if set(row.split()) == {"?"})
    assert marks.count("?") == 2, "a caution is no reason to listen again"


def test_a_note_without_a_place_is_named_over_the_strings():
    doc = document()
    first, *others = doc.notes
    text = page(replace(doc, notes=(replace(first, placement=None), *others)))
    assert "   C4" in text.splitlines()
    assert "heard but not placed" in text


def test_many_notes_without_a_place_keep_to_the_page():
    doc = document("4")
    first = doc.notes[0]
    crowd = tuple(
        replace(first, placement=None, note=replace(first.note, id=f"c{midi}", midi=midi)) for midi in range(60, 70)
    )
    text = page(replace(doc, notes=crowd), width=24)
    assert "A4 Ab4 G4 +7" in text
    assert max(len(row) for row in text.splitlines()) <= 24


def test_line_ends_inside_words_of_another_program_do_not_break_the_page():
    text = page(document(doubts=(Doubt("one\x85two\u2028 three\n"),)))
    assert "?  one two three\n" in text


def test_palm_mute_and_let_ring_span_their_notes():
    doc = document("1 1 1 1")
    told = ({"mute": "palm"}, {"mute": "palm"}, {"let_ring": True}, {"let_ring": True})
    notes = tuple(replace(item, note=replace(item.note, **what)) for item, what in zip(doc.notes, told, strict=True))
    text = page(replace(doc, notes=notes))
    assert "   P.M.--|" in text.splitlines()
    assert any(row.strip() == "let ring" or row.strip().startswith("let ring") for row in text.splitlines())


def test_the_legend_tells_what_was_used_and_nothing_else():
    text = page(document())
    assert "hammer-on" not in text
    doc = document()
    hammered = replace(doc.notes[2], note=replace(doc.notes[2].note, attack="hammer-on", midi=62))
    text = page(replace(doc, notes=(*doc.notes[:2], hammered, *doc.notes[3:])))
    assert "5-h-5" in text
    assert "5h7  hammer-on" in text


def test_capo_frets_and_two_digits_keep_room_between_notes():
    row = next(row for row in string_rows(page(document("1/4 " * 16, fret=17))) if row.startswith("G|"))
    assert "17-17" in row
    assert "1717" not in row


@pytest.mark.parametrize("path", REFERENCES, ids=lambda path: path.stem)
def test_every_fret_of_a_fixture_lick_stands_on_its_string(path):
    reference = read_document(path)
    text = page(reference)
    names = string_names(reference.instrument.open_strings_midi)
    found = {string: [] for string in range(1, 7)}
    for index, row in enumerate(string_rows(text, names="".join(names))):
        cells = re.findall(r"\((\d+)b|(?<![br\d(/ ])(\d+|x)(?!\d)", row.split("|", 1)[1].replace("b(1/4)", ""))
        found[index % 6 + 1] += [bent or plain for bent, plain in cells]
    for string, frets in found.items():
        wanted = [
            "x" if item.note.mute == "dead" else str(item.placement.fret)
            for item in reference.notes
            if item.placement.string == string
        ]
        slid = [item for item in reference.notes if item.placement.string == string and item.note.slide is not None]
        if not slid:  # a slash may stand right before a fret
            assert frets == wanted


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(documents(most=10), st.integers(60, 120))
def test_any_document_becomes_a_page_no_wider_than_asked(document, width):
    text = text_tab(build_score(document), width=width)
    assert text.endswith("\n")
    assert all(len(row) <= width for row in text.splitlines())
    assert all(row == row.rstrip() for row in text.splitlines())
