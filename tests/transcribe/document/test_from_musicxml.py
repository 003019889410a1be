"""MusicXML read back: our own files whole, and plain files of other programs, written here by hand.

What each element says is checked against the MusicXML 4.0 reference (W3C Community Group, June 2021).
"""

from __future__ import annotations

import io
import re
import zipfile
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings

from tests.golden.licks import LICKS
from tests.musicxml_reader import read_musicxml
from tests.score_music import take, take_note
from tests.strategies import single_lines
from tests.strategies_documents import documents
from transcribe.document.from_musicxml import document_from_musicxml
from transcribe.document.model import Source, TakeDocument, TakeNote
from transcribe.document.read import document_from_json, read_document
from transcribe.document.text import take_to_json
from transcribe.errors import ReadError
from transcribe.harmony.chord_span import ChordSpan
from transcribe.harmony.key import Key
from transcribe.notes.note import Contour, Doubt
from transcribe.rhythm.rhythm import Meter
from transcribe.score.build import build_score
from transcribe.write.musicxml import musicxml_bytes

REFERENCES = sorted((Path(__file__).parents[3] / "fixtures" / "reference").glob("*.take.json"))
few = settings(max_examples=30, deadline=None, suppress_health_check=list(HealthCheck))


def written(document: TakeDocument) -> bytes:
    return musicxml_bytes(build_score(document))


def on_the_grid(document: TakeDocument) -> TakeDocument:
    """The document with times and cents rounded as its own format rounds them, which MusicXML follows."""
    return document_from_json(take_to_json(document))


def bare(item: TakeNote) -> TakeNote:
    return replace(item, note=replace(item.note, contour=None))


# Our own files -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", sorted(LICKS))
def test_every_note_of_the_reviewed_licks_comes_back_whole(name):
    """Pitch, time, place, finger, stroke, bends, slides, attack, mutes, harmonics, vibrato, let ring, written place."""
    document = on_the_grid(LICKS[name][0])
    back = document_from_musicxml(written(document))
    assert list(back.notes) == [bare(item) for item in document.notes]
    assert back.rhythm == document.rhythm
    assert back.key == document.key
    assert back.instrument == document.instrument
    assert set(back.doubts) == set(document.doubts)


def whole(document: TakeDocument) -> bytes:
    """The file with all that it keeps of the document."""
    return musicxml_bytes(build_score(document), document)


def same_fields(back: TakeDocument, document: TakeDocument) -> None:
    """Every field of both, one by one, so that a failure names the field."""
    one, other = take_to_json(back), take_to_json(document)
    for key in other:
        if key != "notes":
            assert one[key] == other[key], key
    assert [note["id"] for note in one["notes"]] == [note["id"] for note in other["notes"]]
    for note, expected in zip(one["notes"], other["notes"], strict=True):
        for key in expected:
            assert note[key] == expected[key], (expected["id"], key)
    assert back == document


def with_measured(document: TakeDocument) -> TakeDocument:
    """The document with all that no sign of the page tells: tracks, weights, locks, readings, sources, foreign keys."""
    contour = Contour(0.25, 0.01, (0.0, -3.1, None, 101.4))
    first = document.notes[0]
    weights = (1.0, *(0.0 for _ in document.instrument.open_strings_midi[1:]))
    note = replace(first.note, contour=contour, string_weights=weights)
    marked = replace(first, note=note, locked=("string", "fret"), unknown={"colour": "red", "list": [1, {"a": None}]})
    chord = ChordSpan(Fraction(-1, 3), Fraction(4), "C", "IV over I", source="heard", backing="G", cadence="plagal",
                      locked=("symbol",))  # fmt: skip
    return replace(
        document, notes=(marked, *document.notes[1:]), chords=(chord,), about="  Two words.\n", about_sha256="ab" * 32,
        source=Source("lick.wav", "0" * 64, 1.5, 9.0, 44100), locked=("key",), unknown={"class": {"x": "\x0c"}},
        tool={"name": "takesheet", "settings": {"onset": 0.3}},
    )  # fmt: skip


@pytest.mark.parametrize("path", REFERENCES, ids=lambda path: path.stem)
def test_fixture_takes_lose_nothing_on_the_way(path):
    document = on_the_grid(read_document(path))
    same_fields(document_from_musicxml(whole(document)), document)
    document = on_the_grid(with_measured(document))
    same_fields(document_from_musicxml(whole(document)), document)


@pytest.mark.parametrize("name", sorted(LICKS))
def test_the_reviewed_licks_lose_nothing_on_the_way(name):
    document = on_the_grid(with_measured(LICKS[name][0]))
    data = whole(document)
    read_musicxml(data)  # valid against the schema of MusicXML 4.0
    same_fields(document_from_musicxml(data), document)


def test_a_foreign_key_without_value_and_a_source_without_name_come_back():
    """Both once were taken for what the signs tell anyway."""
    document = on_the_grid(LICKS["bends"][0])
    document = replace(document, unknown={"x-mine": None}, source=Source("", None, 0.0, None, None))
    same_fields(document_from_musicxml(whole(document)), document)


@few
@given(documents(most=5))
def test_any_document_loses_nothing_on_the_way(document):
    """Whatever the format allows. Octaves begin at 0 in the standard, which is MIDI note 12 (MusicXML 4.0, octave)."""
    loose = tuple(replace(item, note=replace(item.note, midi=max(24, item.note.midi))) for item in document.notes)
    document = on_the_grid(replace(document, notes=loose))
    if loose:
        same_fields(document_from_musicxml(whole(document)), document)


def changed(data: bytes, old: bytes, new: bytes) -> bytes:
    assert data.count(old) >= 1
    return data.replace(old, new)


def test_where_another_program_changed_a_note_its_signs_are_believed():
    """A fret moved up an octave on both staves: pitch and place are the new ones, the other note keeps its lock."""
    base = on_the_grid(with_measured(take("0 3 5 2", "2 3 7 2")))
    last = replace(base.notes[1], locked=("string",))
    document = replace(base, notes=(replace(base.notes[0], locked=()), last))
    data = changed(whole(document), b"<fret>5</fret>", b"<fret>17</fret>")
    data = data.replace(
        b"<step>C</step>\n          <octave>4</octave>", b"<step>C</step>\n          <octave>5</octave>"
    )
    back = document_from_musicxml(data)
    assert [(item.note.midi, item.placement.fret) for item in back.notes] == [(72, 17), (62, 7)]
    assert [item.locked for item in back.notes] == [(), ("string",)]
    assert back.source == document.source


def test_a_chord_renamed_elsewhere_is_the_new_chord():
    document = on_the_grid(with_measured(take("0 3 5 2", "2 3 7 2")))
    data = changed(whole(document), b"<root-step>C</root-step>", b"<root-step>F</root-step>")
    assert [chord.symbol for chord in document_from_musicxml(data).chords] == ["F"]


@pytest.mark.parametrize("text", [b"AAAA", b"not base64", b"q1YqVrJSMFSK1VFKBlLGSrUA", b""])
def test_a_damaged_field_is_left_out_and_told(text):
    document = on_the_grid(with_measured(take("0 3 5 2", "2 3 7 2")))
    data = re.sub(rb'(name="takesheet/take">)[^<]*', rb"\1" + text, whole(document))
    back = document_from_musicxml(data)
    assert [item.note.midi for item in back.notes] == [60, 62]
    assert any("damaged" in doubt.why for doubt in back.doubts)


@pytest.mark.parametrize("path", REFERENCES, ids=lambda path: path.stem)
def test_fixture_licks_come_back_whole(path):
    """What the signs alone tell, in the order of the page."""
    document = on_the_grid(read_document(path))
    back = document_from_musicxml(written(document))
    assert {item.id: item for item in back.notes} == {item.id: bare(item) for item in document.notes}
    assert back.rhythm == document.rhythm
    assert back.key == document.key


def test_chords_with_bass_role_and_shape_come_back():
    chords = (
        ChordSpan(Fraction(0), Fraction(3, 2), "A", role="I", shape="E", fret=5),
        ChordSpan(Fraction(3, 2), Fraction(4), "D7#9", role="IV over I", over="F#"),
        ChordSpan(Fraction(4), Fraction(8), "Ebm7b5", role="#iv"),
    )
    document = replace(
        take("0 3 2 2", "2 3 4 2", "4 2 5 4"), chords=chords, vamp="A", about="Leans on the 6th.\nTwice."
    )
    back = document_from_musicxml(written(document))
    assert back.chords == chords
    assert (back.vamp, back.about) == ("A", document.about)


def test_degrees_tones_and_positions_come_back():
    first = replace(take_note("0 3 5 2"), degree="b3", tone="passing tone", chord_degree="7", position=5)
    document = take(first, "2 2 5 2")
    assert document_from_musicxml(written(document)).notes == document.notes


def test_two_voices_come_back_with_their_lengths():
    document = take("0 6 3 4", "0 2 0 1", "1 2 1 1", "2 2 3 2", "4 6 1 6", "6 2 3 1", "7 2 1 1", "8 2 0 2")
    back = document_from_musicxml(written(document))
    assert [(item.timing, item.placement) for item in back.notes] == [
        (item.timing, item.placement) for item in document.notes
    ]


def test_a_doubt_says_its_reason_and_the_final_file_says_none():
    document = replace(take("0 3 5 2", "2 3 7 2"), doubts=(Doubt("octave?", "3@2"), Doubt("tempo?")))
    assert set(document_from_musicxml(written(document)).doubts) == set(document.doubts)
    final = musicxml_bytes(replace(build_score(document), doubts=()))
    assert document_from_musicxml(final).doubts == ()


@few
@given(documents(most=6))
def test_any_document_stands_on_the_same_places_after_reading(document):
    """Every head: measure, pitch, place and length. Pitches struck twice at once on no string are one.

    The standard's octaves begin at 0, which is MIDI note 12 (MusicXML 4.0, octave).
    """
    loose = tuple(
        replace(item, placement=None, note=replace(item.note, midi=max(24, item.note.midi))) for item in document.notes
    )
    document = replace(document, notes=loose, chords=())
    if not loose:
        return
    first = written(document)
    assert set(_heads(written(document_from_musicxml(first)))) == set(_heads(first))


def _heads(data: bytes) -> list[tuple[str, int, Fraction, Fraction]]:
    return [(head.measure, head.midi, head.start, head.length) for head in read_musicxml(data).on(1)]


@few
@given(single_lines())
def test_any_line_comes_back_whole(notes):
    document = on_the_grid(TakeDocument(tuple(TakeNote(note) for note in notes)))
    back = document_from_musicxml(written(document))
    assert [item.note for item in back.notes] == [item.note for item in document.notes]


# Files of other programs ---------------------------------------------------------------------------------------------


def note(step="C", octave=4, duration=4, *, alter=None, voice=1, staff=None, inside="", before="", after=""):
    """A note element; ``before`` stands first in it, ``inside`` after its type, ``after`` last."""
    alter = f"<alter>{alter}</alter>" if alter is not None else ""
    staff = f"<staff>{staff}</staff>" if staff else ""
    time = f"<duration>{duration}</duration>" if duration else ""
    return (
        f"<note>{before}<pitch><step>{step}</step>{alter}<octave>{octave}</octave></pitch>{time}{inside}"
        f"<voice>{voice}</voice>{staff}{after}</note>"
    )


def rest(duration=4):
    return f"<note><rest/><duration>{duration}</duration></note>"


def attributes(more="", *, beats=4, unit=4, divisions=4):
    return (
        f"<attributes><divisions>{divisions}</divisions>"
        f"<time><beats>{beats}</beats><beat-type>{unit}</beat-type></time>{more}</attributes>"
    )


def score(*measures, name="Guitar", first="1", **parts):
    """A partwise file with one part of these measures, and others by keyword."""
    listed = {"P1": (name, measures), **{key: (key, each) for key, each in parts.items()}}
    names = "".join(
        f'<score-part id="{key}"><part-name>{told[0]}</part-name></score-part>' for key, told in listed.items()
    )
    bodies = "".join(
        f'<part id="{key}">'
        + "".join(f'<measure number="{int(first) + index}">{text}</measure>' for index, text in enumerate(told[1]))
        + "</part>"
        for key, told in listed.items()
    )
    return f'<score-partwise version="4.0"><part-list>{names}</part-list>{bodies}</score-partwise>'.encode()


def read(*measures, **more):
    return document_from_musicxml(score(*measures, **more))


def places(document):
    return [(item.note.midi, item.timing.bar, str(item.timing.beat), str(item.timing.value)) for item in document.notes]


def test_a_plain_tune():
    document = read(attributes() + note("E") + note("G", duration=2) + note("A", duration=2) + note("B", 4, 8))
    assert places(document) == [(64, 1, "0", "1"), (67, 1, "1", "1/2"), (69, 1, "3/2", "1/2"), (71, 1, "2", "2")]
    assert document.rhythm.tempo_bpm == 120
    assert document.rhythm.tempo_source == "estimated"
    assert document.notes[1].note.onset_s == pytest.approx(0.5)
    assert document.notes[0].placement is None


@pytest.mark.parametrize(
    ("more", "midi"),
    [
        ("", 64),
        # a guitar's clef an octave down is only how it is drawn: pitches stand as they sound
        ("<clef><sign>G</sign><line>2</line><clef-octave-change>-1</clef-octave-change></clef>", 64),
        # a transposing part is written higher than it sounds
        ("<transpose><diatonic>0</diatonic><chromatic>0</chromatic><octave-change>-1</octave-change></transpose>", 52),
        ("<transpose><diatonic>-1</diatonic><chromatic>-2</chromatic></transpose>", 62),
    ],
)
def test_pitches_are_taken_as_they_sound(more, midi):
    assert read(attributes(more) + note("E", 4, 16)).notes[0].note.midi == midi


def test_a_short_first_measure_is_the_pickup():
    document = read(attributes() + note("G", 3, 2), note("C", 4, 16), first="0")
    assert document.rhythm.pickup_beats == Fraction(1, 2)
    assert places(document) == [(55, 0, "0", "1/2"), (60, 1, "0", "4")]


def test_several_voices_and_staves_are_read_together():
    backup = "<backup><duration>16</duration></backup>"
    document = read(
        attributes("<staves>2</staves>")
        + note("E", 4, 8, staff=1) + note("F", 4, 8, staff=1) + backup
        + note("C", 3, 16, voice=2, staff=1) + backup
        + note("C", 2, 16, voice=5, staff=2)
    )  # fmt: skip
    assert places(document) == [
        (64, 1, "0", "2"), (48, 1, "0", "4"), (36, 1, "0", "4"), (65, 1, "2", "2")
    ]  # fmt: skip


def test_the_part_with_tab_is_chosen_and_the_others_are_told():
    tab = "<clef><sign>TAB</sign><line>5</line></clef>"
    technical = "<notations><technical><string>2</string><fret>5</fret></technical></notations>"
    document = read(
        attributes() + note("C", 5, 16), name="Voice", P2=(attributes(tab) + note("E", 4, 16, after=technical),)
    )
    assert places(document) == [(64, 1, "0", "4")]
    assert (document.notes[0].placement.string, document.notes[0].placement.fret) == (2, 5)
    assert [doubt.why for doubt in document.doubts] == ["the file holds 2 parts; only one was read: P2"]


def test_tab_without_bends_sizes_or_times_is_filled_in():
    tab = "<clef><sign>TAB</sign><line>5</line></clef>"
    bend = "<bend><bend-alter>2</bend-alter></bend><bend><bend-alter>-2</bend-alter><release/></bend>"
    technical = f"<notations><technical><string>3</string><fret>7</fret>{bend}</technical></notations>"
    (item,) = read(attributes(tab) + note("D", 4, 16, after=technical)).notes
    assert [(each.kind, each.target_cents) for each in item.note.bends] == [("bend", 200), ("release", 0)]


def test_a_tied_note_is_one_note():
    start, stop = '<tie type="start"/>', '<tie type="stop"/>'
    document = read(attributes() + rest(12) + note("A", 3, 4, inside=start), note("A", 3, 8, inside=stop) + rest(8))
    assert places(document) == [(57, 1, "3", "3")]


def test_struck_again_it_is_another_note():
    document = read(attributes() + rest(12) + note("A", 3), note("A", 3, 8) + rest(8))
    assert places(document) == [(57, 1, "3", "1"), (57, 2, "0", "2")]


def test_chord_notes_start_together():
    document = read(attributes() + note("E", 4, 16) + note("C", 4, 16, before="<chord/>"))
    assert places(document) == [(64, 1, "0", "4"), (60, 1, "0", "4")]


def test_grace_notes_are_short_notes_before_theirs():
    grace = '<grace slash="yes"/>'
    document = read(attributes() + note("C", 4, 8) + note("D", 4, 0, before=grace) + note("E", 4, 8))
    assert places(document) == [(60, 1, "0", "2"), (62, 1, "15/8", "1/8"), (64, 1, "2", "2")]
    first = read(attributes() + note("D", 4, 0, before=grace) + note("E", 4, 16))
    assert places(first) == [(62, 1, "0", "1/8"), (64, 1, "1/8", "31/8")]


def test_tempo_swing_and_key():
    sound = '<direction><direction-type><words>Swing</words></direction-type><sound tempo="90"/></direction>'
    key = "<key><fifths>3</fifths><mode>minor</mode></key>"
    begun = attributes().replace("<time>", f"{key}<time>")
    document = read(begun + sound + note("A", 3, 2) + note("B", 3, 2) + note("C", 4, 12))
    assert document.key == Key("F#", "minor", None, "given")
    assert (document.rhythm.tempo_bpm, document.rhythm.feel) == (90, "swing")
    second = document.notes[1].note
    assert second.onset_s == pytest.approx(2 / 3 * 60 / 90)  # the second of two swung eighths


def test_what_was_not_read_is_told():
    repeat = '<barline location="right"><repeat direction="backward"/></barline>'
    three = "<attributes><time><beats>3</beats><beat-type>4</beat-type></time></attributes>"
    document = read(attributes() + note("C", 4, 16) + repeat, three + note("D", 4, 12))
    assert [doubt.why for doubt in document.doubts] == [
        "the file changes its meter; bars were counted in the first one throughout",
        "the file has repeats; what they repeat is written once",
    ]


@pytest.mark.parametrize(
    ("kind", "text", "symbol"),
    [("dominant", None, "C7"), ("minor-seventh", None, "Cm7"), ("major", "", "C"), ("minor", "min", "Cmin")],
)
def test_chord_symbols(kind, text, symbol):
    told = f' text="{text}"' if text is not None else ""
    harmony = f"<harmony><root><root-step>C</root-step></root><kind{told}>{kind}</kind></harmony>"
    document = read(attributes() + harmony + note("C", 4, 16))
    assert [(chord.symbol, chord.start_beat, chord.end_beat) for chord in document.chords] == [(symbol, 0, 4)]


def test_palm_mutes_told_in_words_and_dashes():
    def dashes(kind, words=""):
        words = f"<direction-type><words>{words}</words></direction-type>" if words else ""
        return f'<direction>{words}<direction-type><dashes type="{kind}"/></direction-type></direction>'

    low = note("E", 2)
    document = read(attributes() + low + dashes("start", "P.M.") + low + low + dashes("stop") + low)
    assert [item.note.mute for item in document.notes] == ["none", "palm", "palm", "none"]


def test_a_slide_between_two_notes():
    slide = '<notations><slide type="{}" number="1"/></notations>'
    document = read(
        attributes() + note("C", 4, 8, after=slide.format("start")) + note("D", 4, 8, after=slide.format("stop"))
    )
    first, second = document.notes
    assert (first.note.slide.kind, first.note.slide.to, first.note.slide.cents) == ("legato", second.id, 200)
    assert second.note.attack == "slide"


def test_a_compressed_file_and_a_timewise_one():
    plain = score(attributes() + note("E", 4, 16))
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        container = '<container><rootfiles><rootfile full-path="a/tune.xml"/></rootfiles></container>'
        archive.writestr("META-INF/container.xml", container)
        archive.writestr("a/tune.xml", plain)
    assert places(document_from_musicxml(packed.getvalue())) == [(64, 1, "0", "4")]
    body = attributes() + note("E", 4, 16)
    timewise = (
        '<score-timewise><part-list><score-part id="P1"><part-name>G</part-name></score-part></part-list>'
        f'<measure number="1"><part id="P1">{body}</part></measure></score-timewise>'
    ).encode()
    assert places(document_from_musicxml(timewise)) == [(64, 1, "0", "4")]


@pytest.mark.parametrize(
    ("data", "found"),
    [
        (b"", "no whole XML file"),
        (b"no xml at all", "no whole XML file"),
        (b"<html><body/></html>", "no MusicXML score: it begins with <html>"),
        (b"PK\x03\x04broken", "cannot be unpacked"),
        (score(attributes() + rest(16)), "no notes with a pitch"),
        (score(attributes().replace("4</divisions>", "x</divisions>") + note()), "no number: 'x'"),
        (score(attributes() + note("H")), "no known step: 'H'"),
    ],
)
def test_what_cannot_be_read_is_one_clear_line(data, found):
    with pytest.raises(ReadError, match=found) as caught:
        document_from_musicxml(data)
    assert caught.value.mend


def test_entities_are_never_expanded(tmp_path):
    """Neither a file on the disk nor a bomb of entities gets into the notes (XML 1.0, external entities)."""
    secret = tmp_path / "secret.txt"
    secret.write_text("E", encoding="utf-8")
    body = score(attributes() + note("&outside;", 4, 16)).decode()
    data = f'<!DOCTYPE score-partwise [<!ENTITY outside SYSTEM "{secret.as_uri()}">]>{body}'.encode()
    with pytest.raises(ReadError):
        document_from_musicxml(data)


def test_the_meter_counts_bars():
    document = read(attributes(beats=6, unit=8) + note("C", 4, 12), note("D", 4, 6) + note("E", 4, 6))
    assert document.rhythm.meter == Meter(6, 8)
    assert places(document) == [(60, 1, "0", "3"), (62, 2, "0", "3/2"), (64, 2, "3/2", "3/2")]
