"""MusicXML: valid by the official schema, and read back by two readers that are not ours: verovio, and a small one.

Which element says what is checked against the MusicXML 4.0 reference (W3C Community Group, June 2021).
"""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction

import pytest
import verovio
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from lxml import etree

from tests.engraver_licks import FingeredPage
from tests.musicxml_reader import official_schema, read_musicxml
from tests.score_music import take, take_note
from tests.strategies import single_lines
from transcribe.document.from_musicxml import document_from_musicxml
from transcribe.document.model import Instrument, TakeDocument, TakeNote
from transcribe.document.read import document_from_json
from transcribe.errors import ScoreError
from transcribe.harmony.key import Key
from transcribe.notes.note import Doubt
from transcribe.placing import passage_from_notes
from transcribe.rhythm.rhythm import Meter, Rhythm
from transcribe.score.build import build_score
from transcribe.score.score import Bar, ChordMark, Event, Score, ScoreNote, Spelled, WrittenValue
from transcribe.write.musicxml import musicxml_bytes
from transcribe.write.musicxml_accidentals import signature_alter

few = settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))
OPEN = [64, 59, 55, 50, 45, 40]
BEAT_S = 0.5  # 120 bpm


def note(at: str, value: str, string: int | None, fret: int, finger: int = 1, **more):
    """A note of a 4/4 take at 120 bpm, ``at`` quarters after bar 1 begins."""
    beat, length = Fraction(at), Fraction(value)
    place = {"bar": 1 + beat // 4, "beat": str(beat % 4)} if beat >= 0 else {"bar": 0, "beat": str(beat + 1)}
    return {
        "id": f"at {at} on {string}",
        "onset_s": 2.0 + float(beat) * BEAT_S,
        "offset_s": 2.0 + float(beat + length) * BEAT_S,
        "midi": OPEN[(string or 1) - 1] + fret,
        "string": string,
        "fret": fret if string else None,
        "finger": finger,
        "attack": "picked",
        **place,
        "value": value,
        **more,
    }


def document(*notes, pickup="0", **more) -> TakeDocument:
    rhythm = {"tempo_bpm": 120, "meter": "4/4", "first_downbeat_s": 2.0, "pickup_beats": pickup}
    head = {"format": "takesheet/take", "version": 1, "instrument": {"open_strings_midi": OPEN}, "rhythm": rhythm}
    return document_from_json({**head, "notes": list(notes), **more})


def sheet(*notes, **more):
    return read_musicxml(musicxml_bytes(build_score(document(*notes, **more))))


def tab(*notes, **more):
    """Heads on the tab staff."""
    return sheet(*notes, **more).on(2)


def bends(head):
    """(steps, what kind of bend) of each bend of a head."""
    kinds = {"pre-bend", "release"}
    return [
        (float(bend.findtext("bend-alter")), next((child.tag for child in bend if child.tag in kinds), "bend"))
        for bend in head.element.iterfind("notations/technical/bend")
    ]


def ends(heads, path):
    """(index of the head, type, number) of every start and stop at a path."""
    return [
        (index, element.get("type"), element.get("number"))
        for index, head in enumerate(heads)
        for element in head.element.iterfind(path)
    ]


# The frame -----------------------------------------------------------------------------------------------------------


def test_the_schema_refuses_what_is_wrong():
    """The check can fail: a note with no duration is refused by the official schema."""
    root = etree.fromstring(musicxml_bytes(build_score(document(note("0", "1", 2, 3)))))
    assert official_schema().validate(root)
    duration = root.find("part/measure/note/duration")
    duration.getparent().remove(duration)
    assert not official_schema().validate(root)


def test_one_part_with_notation_above_tab():
    root = sheet(note("0", "1", 2, 3), key={"tonic": "A", "mode": "major"}).root
    assert len(root.findall("part")) == 1
    attributes = root.find("part/measure/attributes")
    assert attributes.findtext("staves") == "2"
    assert attributes.findtext("key/fifths") == "3"
    assert (attributes.findtext("time/beats"), attributes.findtext("time/beat-type")) == ("4", "4")
    treble, tablature = attributes.findall("clef")
    assert [child.text for child in treble] == ["G", "2", "-1"]
    assert [child.text for child in tablature] == ["TAB", "5"]
    assert root.findtext("identification/encoding/software").startswith("takesheet")
    assert root.find("part/measure/attributes/transpose") is None


@pytest.mark.parametrize(
    ("open_strings", "lowest", "highest"),
    [
        ([64, 59, 55, 50, 45, 40], "E2", "E4"),
        ([64, 59, 55, 50, 45, 38], "D2", "E4"),  # drop D
        ([63, 58, 54, 49, 44, 39], "Eb2", "Eb4"),  # half a step down
    ],
)
def test_tab_lines_are_tuned_from_the_bottom(open_strings, lowest, highest):
    """Line 1 of a tab staff is its bottom line, the lowest string (MusicXML 4.0, staff-tuning)."""
    root = sheet(note("0", "1", 2, 3), instrument={"open_strings_midi": open_strings, "capo": 2}).root
    details = root.find("part/measure/attributes/staff-details")
    assert details.get("number") == "2"
    assert details.findtext("staff-lines") == "6"
    assert details.findtext("capo") == "2"
    tunings = details.findall("staff-tuning")
    names = [
        tuning.findtext("tuning-step")
        + {"-1": "b", "0": "", "1": "#"}[tuning.findtext("tuning-alter", "0")]
        + tuning.findtext("tuning-octave")
        for tuning in tunings
    ]
    assert [tuning.get("line") for tuning in tunings] == list("123456")
    assert (names[0], names[-1]) == (lowest, highest)


def test_the_pickup_bar_has_no_number_of_its_own():
    found = sheet(note("-1/2", "1/2", 3, 5, beat="0"), note("0", "4", 2, 3), pickup="1/2")
    first, second = found.root.findall("part/measure")
    assert (first.get("number"), first.get("implicit")) == ("0", "yes")
    assert (second.get("number"), second.get("implicit")) == ("1", None)
    assert found.lengths == {"0": Fraction(1, 2), "1": Fraction(4)}


def test_tempo_in_print_and_in_sound():
    root = sheet(note("0", "1", 2, 3)).root
    assert root.findtext(".//metronome/per-minute") == "120"
    assert float(root.find(".//sound").get("tempo")) == 120
    swung = {"tempo_bpm": 96.2, "meter": "4/4", "first_downbeat_s": 2.0, "feel": "swing", "tempo_source": "estimated"}
    root = sheet(note("0", "1", 2, 3), rhythm=swung).root
    assert root.findtext(".//metronome/per-minute") == "ca. 96"
    assert float(root.find(".//sound").get("tempo")) == 96.2
    # a pair of eighths plays as a triplet's quarter and eighth (MusicXML 4.0, swing)
    assert [child.text for child in root.find(".//sound/swing")] == ["2", "1", "eighth"]


def test_compound_time_counts_dotted_quarters():
    rhythm = {"tempo_bpm": 90, "meter": "6/8", "first_downbeat_s": 2.0}
    root = sheet(note("0", "3", 2, 3), rhythm=rhythm).root
    metronome = root.find(".//metronome")
    assert metronome.find("beat-unit-dot") is not None
    assert metronome.findtext("per-minute") == "60"
    assert float(root.find(".//sound").get("tempo")) == 90  # sound counts quarters


def test_a_title_with_signs_that_xml_forbids():
    score = build_score(document(note("0", "1", 2, 3)), title="Rain <&> tin\x00\x1f\ufffe")
    assert read_musicxml(musicxml_bytes(score)).root.findtext("work/work-title") == "Rain <&> tin"


def test_a_score_with_no_bar_is_refused():
    score = replace(build_score(document(note("0", "1", 2, 3))), bars=())
    with pytest.raises(ScoreError, match="at least one bar"):
        musicxml_bytes(score)


def test_a_document_with_no_notes_is_a_bar_of_rest():
    found = sheet()
    assert found.heads[0].element.find("rest").get("measure") == "yes"


# Notes ---------------------------------------------------------------------------------------------------------------


def test_both_staves_tell_the_same_notes():
    found = sheet(note("0", "1", 2, 3), note("1", "1/2", 3, 7), note("2", "2", 1, 12))
    assert [head.midi for head in found.on(1)] == [62, 62, 76]
    assert [head.midi for head in found.on(2)] == [62, 62, 76]
    places = [(head.number(".//string"), head.number(".//fret"), head.number(".//fingering")) for head in found.on(2)]
    assert places == [(2, 3, 1), (3, 7, 1), (1, 12, 1)]
    assert [head.start for head in found.on(2)] == [0, 1, 2]
    assert found.on(1)[0].element.find(".//fret") is None


def test_rests_are_written_and_left_blank_on_the_tab_staff():
    found = sheet(note("1", "1", 2, 3))
    rests = [head for head in found.heads if head.midi is None]
    assert [(head.staff, head.start, head.length) for head in rests] == [(1, 0, 1), (1, 2, 2), (2, 0, 1), (2, 2, 2)]
    assert [head.element.get("print-object") for head in rests] == [None, None, "no", "no"]


def test_a_note_with_no_place_keeps_its_time_on_the_tab_staff():
    found = sheet(note("0", "1", None, 3), note("1", "1", 2, 3))
    assert [head.midi for head in found.on(1)] == [67, 62]
    assert [head.midi for head in found.on(2)] == [62]


def test_notes_struck_together_are_a_chord():
    found = sheet(note("0", "2", 3, 7), note("0", "2", 2, 8))
    high, low = found.on(2)
    assert (high.midi, low.midi) == (67, 62)
    assert high.element.find("chord") is None
    assert low.element.find("chord") is not None
    assert high.start == low.start == 0


def test_a_tie_over_the_bar_line():
    found = sheet(note("3", "2", 2, 3, bends=[{"target_cents": 200}]))
    for staff in (1, 2):
        first, second = found.on(staff)
        assert [tie.get("type") for tie in first.element.iterfind("tie")] == ["start"]
        assert [tie.get("type") for tie in second.element.iterfind("tie")] == ["stop"]
        assert [tie.get("type") for tie in second.element.iterfind("notations/tied")] == ["stop"]
    first, second = found.on(2)
    assert bends(first) == [(2, "bend")]
    assert bends(second) == []
    assert second.number(".//fret") == 3
    assert second.element.find(".//fingering") is None


def test_triplets_on_both_staves():
    found = sheet(note("0", "1/3", 2, 3), note("1/3", "1/3", 2, 5), note("2/3", "1/3", 2, 6), note("1", "1", 2, 8))
    for staff in (1, 2):
        heads = found.on(staff)
        assert [head.length for head in heads] == [Fraction(1, 3)] * 3 + [1]
        ratios = [(h.text("time-modification/actual-notes"), h.text("time-modification/normal-notes")) for h in heads]
        assert ratios == [("3", "2")] * 3 + [(None, None)]
        assert [(index, kind) for index, kind, _ in ends(heads, "notations/tuplet")] == [(0, "start"), (2, "stop")]


def test_accidentals_last_for_the_bar():
    """In A minor: C sharp shown, not repeated in the bar, C natural told again, and again sharp in the next bar."""
    frets = [("0", 6), ("1", 6), ("2", 5), ("3", 5), ("4", 6)]
    found = sheet(*(note(at, "1", 3, fret) for at, fret in frets), key={"tonic": "A", "mode": "minor"})
    assert [head.text("accidental") for head in found.on(1)] == ["sharp", None, "natural", None, "sharp"]
    assert [head.text("accidental") for head in found.on(2)] == [None] * 5


def test_a_tied_note_shows_its_accidental_once():
    """C sharp held over the bar line is shown in the first bar alone; struck again there, it is told again."""
    found = sheet(note("3", "2", 3, 6), note("5", "1", 3, 6), key={"tonic": "A", "mode": "minor"})
    assert [head.text("accidental") for head in found.on(1)] == ["sharp", None, "sharp"]


def test_the_signature_speaks_for_its_letters():
    found = sheet(note("0", "1", 3, 6), note("1", "1", 3, 5), key={"tonic": "A", "mode": "major"})
    assert [head.text("accidental") for head in found.on(1)] == [None, "natural"]
    # sharps join in the order F C G D A E B, flats in the reverse one
    assert [signature_alter(step, 3) for step in "FCGDAEB"] == [1, 1, 1, 0, 0, 0, 0]
    assert [signature_alter(step, -2) for step in "FCGDAEB"] == [0, 0, 0, 0, 0, -1, -1]


def test_eighths_share_a_beam():
    heads = sheet(note("0", "1/2", 2, 3), note("1/2", "1/2", 2, 5), note("1", "1", 2, 3)).on(1)
    assert [head.text("beam") for head in heads] == ["begin", "end", None]


# Gestures ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("told", "expected"),
    [
        ([("bend", 200)], [(2, "bend")]),
        ([("bend", 50)], [(0.5, "bend")]),
        ([("bend", 150)], [(1.5, "bend")]),
        # a release counts the steps it lets down, below 0 (MusicXML 4.0, bend-alter)
        ([("bend", 200), ("release", 0)], [(2, "bend"), (-2, "release")]),
        ([("bend", 200), ("release", 100)], [(2, "bend"), (-1, "release")]),
        ([("pre-bend", 200), ("release", 0)], [(2, "pre-bend"), (-2, "release")]),
        ([("bend", 100), ("bend", 300), ("release", 0)], [(1, "bend"), (2, "bend"), (-3, "release")]),
        (
            [("bend", 200), ("release", 0), ("bend", 200)],
            [(2, "bend"), (-2, "release"), (2, "bend")],
        ),
    ],
)
def test_bends(told, expected):
    (head,) = tab(note("0", "4", 3, 7, bends=[{"kind": kind, "target_cents": cents} for kind, cents in told]))
    assert bends(head) == expected


def test_where_a_bend_starts_and_arrives():
    """A half note lasts 1 s here: a bend from 0.25 s to 0.5 s, let down from 0.75 s, which is 1.5 quarters in."""
    up = {"kind": "bend", "start_s": 2.25, "reach_s": 2.5, "end_s": 2.75, "target_cents": 200}
    down = {"kind": "release", "start_s": 2.75, "reach_s": 3.0, "end_s": 3.0}
    found = sheet(note("0", "2", 3, 7, bends=[up, down]))
    first, second = found.on(2)[0].element.iterfind(".//bend")
    assert (first.get("first-beat"), first.get("last-beat")) == ("25.0", "50.0")
    assert (second.get("first-beat"), second.get("last-beat")) == ("75.0", "100.0")
    divisions = int(found.root.findtext(".//divisions"))
    assert int(second.find("release").get("offset")) == round(1.5 * divisions)


def test_hammer_on_and_pull_off_pair_up():
    heads = tab(
        note("0", "1", 3, 5),
        note("1", "1", 3, 7, attack="hammer-on"),
        note("2", "1", 2, 5),
        note("3", "1", 3, 5, attack="pull-off"),  # from the 7 that still rings on string 3
    )
    hammer, pull = ends(heads, ".//hammer-on"), ends(heads, ".//pull-off")
    assert [(index, kind) for index, kind, _ in hammer] == [(0, "start"), (1, "stop")]
    assert [(index, kind) for index, kind, _ in pull] == [(1, "start"), (3, "stop")]
    assert len({number for _, _, number in hammer}) == len({number for _, _, number in pull}) == 1
    assert [element.text for element in heads[0].element.iterfind(".//hammer-on")] == ["H"]


def test_a_hammer_on_is_a_slur_in_notation():
    heads = sheet(note("0", "1", 3, 5), note("1", "1", 3, 7, attack="hammer-on")).on(1)
    assert [(index, kind) for index, kind, _ in ends(heads, "notations/slur")] == [(0, "start"), (1, "stop")]
    assert ends(heads, ".//hammer-on") == []


def test_a_hammer_on_from_nowhere_is_left_out():
    assert ends(tab(note("0", "1", 3, 7, attack="hammer-on")), ".//hammer-on") == []


def test_a_hammer_on_after_a_tie_starts_on_the_last_head():
    heads = tab(note("3", "2", 3, 5), note("5", "1", 3, 7, attack="hammer-on"))
    assert [(index, kind) for index, kind, _ in ends(heads, ".//hammer-on")] == [(1, "start"), (2, "stop")]


def test_slides_join_two_notes_on_both_staves():
    to = "at 1 on 3"
    found = sheet(note("0", "1", 3, 5, slide={"kind": "legato", "to": to}), note("1", "1", 3, 9, attack="slide"))
    numbers = set()
    for staff in (1, 2):
        slides = ends(found.on(staff), "notations/slide")
        assert [(index, kind) for index, kind, _ in slides] == [(0, "start"), (1, "stop")]
        numbers |= {number for _, _, number in slides}
    assert len(numbers) == 2, "the staves' slides overlap in the file and need numbers of their own"


@pytest.mark.parametrize(
    ("kind", "cents", "mark"),
    [("in", 200, "scoop"), ("in", -200, "plop"), ("out", 200, "doit"), ("out", -200, "falloff")],
)
def test_slides_from_and_to_nowhere(kind, cents, mark):
    (head,) = tab(note("0", "1", 3, 5, slide={"kind": kind, "cents": cents}))
    assert [child.tag for child in head.element.find("notations/articulations")] == [mark]


def test_vibrato_is_a_wavy_line():
    (head,) = tab(note("0", "1", 3, 5, vibrato={"rate_hz": 5, "extent_cents": 30}))
    assert [kind for _, kind, _ in ends([head], "notations/ornaments/wavy-line")] == ["start", "stop"]


def test_a_palm_mute_spans_its_run():
    found = sheet(
        note("0", "1/2", 6, 0),
        *(note(at, "1/2", 6, 3, mute="palm") for at in ("1/2", "1", "2")),
        note("3", "1", 6, 0),
        note("4", "1", 6, 3, mute="palm"),
    )
    part = found.root.find("part")
    signs = [
        (direction.findtext("staff"), direction.findtext(".//words"), direction.find(".//dashes").get("type"))
        for direction in part.iter("direction")
        if direction.find(".//dashes") is not None
    ]
    assert signs == [("2", "P.M.", "start"), ("2", None, "stop")] * 2
    assert [head.text("play/mute") for head in found.on(2)] == [None, "palm", "palm", "palm", None, "palm"]


def test_dead_notes_have_crosses_for_heads():
    found = sheet(note("0", "1", 5, 5, mute="dead"))
    assert [found.on(staff)[0].text("notehead") for staff in (1, 2)] == ["x", "x"]


def test_harmonics_let_ring_and_strokes():
    found = sheet(note("0", "1", 1, 12, harmonic="natural", let_ring=True, pluck="up"), note("1", "1", 3, 5, pluck="m"))
    ringing, plucked = found.on(1)
    assert ringing.element.find(".//harmonic/natural") is not None
    assert [tied.get("type") for tied in ringing.element.iterfind(".//tied")] == ["let-ring"]
    assert ringing.element.find(".//up-bow") is not None
    assert plucked.text(".//pluck") == "m"


def test_a_natural_and_an_artificial_harmonic_each_say_which_they_are():
    """The note element holds the pitch that sounds; the tab staff also tells where the string is touched."""
    artificial = note("1", "1", 3, 5, harmonic="artificial", midi=72)
    found = sheet(note("0", "1", 1, 12, harmonic="natural"), artificial)
    for staff in (1, 2):
        kinds = [[child.tag for child in head.element.find(".//harmonic")] for head in found.on(staff)]
        assert kinds == [["natural", "sounding-pitch"], ["artificial", "sounding-pitch"]]
        assert [head.text("notehead") for head in found.on(staff)] == ["diamond", "diamond"]
    assert [head.text(".//other-technical") for head in found.on(2)] == [None, "touched over fret 17"]
    assert found.on(1)[1].midi == 72


def test_two_voices_take_turns_on_the_clock():
    """A hand-made score: a half note over two quarters, then rests; the reader checks that each voice fills the bar."""
    take = {item.id: item for item in document(note("0", "2", 1, 5), note("0", "1", 6, 5), note("1", "1", 5, 7)).notes}

    def head(name, step):
        return (ScoreNote(take[name], Spelled(step, 0, 3)),)

    upper = (Event(Fraction(0), WrittenValue("half"), head("at 0 on 1", "A")),)
    lower = (
        Event(Fraction(0), WrittenValue("quarter"), head("at 0 on 6", "A")),
        Event(Fraction(1), WrittenValue("quarter"), head("at 1 on 5", "E")),
    )
    score = Score(
        "", (Bar(1, Fraction(2), (upper, lower)),), Meter(2, 4), 120.0, True, False, Key("A", "minor"), 0, Instrument()
    )
    found = read_musicxml(musicxml_bytes(score))
    assert [(head.voice, head.start) for head in found.on(1)] == [("1", 0), ("2", 0), ("2", 1)]
    assert [(head.voice, head.start) for head in found.on(2)] == [("5", 0), ("6", 0), ("6", 1)]
    assert [head.text("stem") for head in found.on(1)] == ["up", "down", "down"]


@few
@given(single_lines(), st.sampled_from(["4/4", "3/4", "6/8"]), st.floats(50, 180))
def test_any_line_is_valid_fills_its_bars_and_keeps_its_pitches(notes, meter, tempo_bpm):
    """Placed on the lowest fret of the highest string that has the pitch; both staves then tell the same notes."""
    from fingering.passage import Placement

    def place(item):
        string = next(s for s, midi in enumerate(OPEN, start=1) if midi <= item.midi)
        return Placement(item.id, string, item.midi - OPEN[string - 1], None)

    beats, unit = meter.split("/")
    rhythm = Rhythm(tempo_bpm, Meter(int(beats), int(unit)), notes[0].onset_s)
    take = TakeDocument(tuple(TakeNote(item, place(item)) for item in notes), rhythm=rhythm)
    assert len(passage_from_notes(notes).plucks) == len(notes)
    found = read_musicxml(musicxml_bytes(build_score(take)))
    struck = [
        [h for h in found.on(staff) if "stop" not in [t.get("type") for t in h.element.iterfind("tie")]]
        for staff in (1, 2)
    ]
    assert [sorted(head.midi for head in heads) for heads in struck] == [sorted(item.midi for item in notes)] * 2
    assert all(OPEN[h.number(".//string") - 1] + h.number(".//fret") == h.midi for h in struck[1])


# An independent engraver ---------------------------------------------------------------------------------------------


def engraved(*notes, **more):
    """The score as verovio understands it: (MEI, SVG), both parsed."""
    verovio.enableLog(verovio.LOG_OFF)
    toolkit = verovio.toolkit()
    toolkit.setOptions({"header": "none", "footer": "none", "svgRemoveXlink": True})
    assert toolkit.loadData(musicxml_bytes(build_score(document(*notes, **more))).decode())
    return etree.fromstring(toolkit.getMEI().encode()), etree.fromstring(toolkit.renderToSVG(1).encode())


MEI = {"m": "http://www.music-encoding.org/ns/mei"}
SVG = {"s": "http://www.w3.org/2000/svg"}


def test_verovio_reads_pitches_strings_and_frets():
    mei, _ = engraved(note("0", "1", 2, 3), note("1", "1/2", 3, 7), note("3/2", "1/2", 6, 0), note("2", "2", 1, 12))
    notation = mei.xpath("//m:staff[@n='1']//m:note", namespaces=MEI)
    assert [(n.get("pname"), n.get("oct")) for n in notation] == [("d", "4"), ("d", "4"), ("e", "2"), ("e", "5")]
    tablature = mei.xpath("//m:staff[@n='2']//m:note", namespaces=MEI)
    assert [(n.get("tab.course"), n.get("tab.fret")) for n in tablature] == [
        ("2", "3"),
        ("3", "7"),
        ("6", "0"),
        ("1", "12"),
    ]
    courses = mei.xpath("//m:staffDef[@n='2']/m:tuning/m:course", namespaces=MEI)
    assert [(c.get("n"), c.get("pname"), c.get("oct")) for c in courses] == [
        ("6", "e", "2"), ("5", "a", "2"), ("4", "d", "3"), ("3", "g", "3"), ("2", "b", "3"), ("1", "e", "4"),
    ]  # fmt: skip
    (clef,) = mei.xpath("//m:staffDef[@n='1']//m:clef", namespaces=MEI)
    assert (clef.get("shape"), clef.get("dis"), clef.get("dis.place")) == ("G", "8", "below")


def test_verovio_draws_the_guitar_an_octave_above_its_sound():
    """Open string 1, E4 in sound, stands in the top space of the staff (E5 in a plain treble clef); open string 3, G3
    in sound, on the second line, where the clef curls (G4 in a plain treble clef). Common practice of guitar notation.
    """
    _, svg = engraved(note("0", "1", 1, 0), note("1", "1", 3, 0))
    (staff, *_) = svg.xpath("//s:g[@class='staff']", namespaces=SVG)
    lines = [int(re.match(r"M\d+ (\d+)", path.get("d")).group(1)) for path in staff.findall("s:path", SVG)]
    assert len(lines) == 5
    heads = [
        int(re.search(r"translate\(\d+, (\d+)\)", use.get("transform")).group(1))
        for use in staff.xpath(".//s:g[@class='notehead']/s:use", namespaces=SVG)
    ]
    assert heads == [(lines[0] + lines[1]) / 2, lines[3]]


def test_verovio_keeps_ties_triplets_and_the_pickup():
    mei, svg = engraved(
        note("-1/2", "1/2", 3, 5, beat="0"),
        *(note(at, "1/3", 2, 3) for at in ("0", "1/3", "2/3")),
        note("3", "2", 2, 5),
        pickup="1/2",
    )
    measures = mei.xpath("//m:measure", namespaces=MEI)
    assert measures[0].get("metcon") == "false"
    assert len(measures) == 3
    for staff in "12":
        assert len(mei.xpath(f"//m:staff[@n='{staff}']//m:tuplet", namespaces=MEI)) == 1
    assert len(mei.xpath("//m:tie", namespaces=MEI)) == 2
    drawn = svg.xpath("//s:g[@class='note']", namespaces=SVG)
    assert len(drawn) == 2 * 6


# Voices, spans, chords, doubts ---------------------------------------------------------------------------------------


def built(*notes, **more):
    return musicxml_bytes(replace(build_score(take(*notes)), **more))


def test_a_ringing_note_has_the_lower_voice_and_its_rests_are_not_printed():
    found = read_musicxml(built("0 6 3 2", "0 2 0 1", "1 2 1 1", "2 2 3 2"))
    notation = [head for head in found.heads if head.staff == 1]
    assert [(h.voice, h.midi, h.start, h.text("stem"), h.element.get("print-object")) for h in notation] == [
        ("1", 59, 0, "up", None),
        ("1", 60, 1, "up", None),
        ("1", 62, 2, "up", None),
        ("2", 43, 0, "down", None),
        ("2", None, 2, None, "no"),
    ]


def test_verovio_finds_both_voices_and_every_note_in_place():
    toolkit = verovio.toolkit()
    data = built("0 6 3 4", "0 2 0 1", "1 2 1 1", "2 2 3 2", chords=(ChordMark(1, Fraction(2), "D7", over="F#"),))
    assert toolkit.loadData(data.decode())
    mei = etree.fromstring(toolkit.getMEI().encode())
    layers = mei.xpath("//m:staff[@n='1']/m:layer", namespaces=MEI)
    assert [[(n.get("pname"), n.get("oct"), n.get("dur")) for n in layer.iter("{*}note")] for layer in layers] == [
        [("b", "3", "4"), ("c", "4", "4"), ("d", "4", "2")],
        [("g", "2", "1")],
    ]
    (harm,) = mei.xpath("//m:harm", namespaces=MEI)
    assert "D" in "".join(harm.itertext())
    assert harm.get("tstamp") == "3"


def test_let_ring_is_dashes_on_the_tab_staff_and_open_ties_in_notation():
    ring = [take_note(f"{at} {string} 5 1", let_ring=True) for at, string in (("0", 4), ("1", 3), ("2", 2))]
    found = read_musicxml(built(*ring, "3 1 5 1"))
    marks = [d for d in found.root.iter("direction") if d.find(".//dashes") is not None]
    assert [(d.findtext(".//words"), d.find(".//dashes").get("type"), d.findtext("staff")) for d in marks] == [
        ("let ring", "start", "2"),
        (None, "stop", "2"),
    ]
    ties = [[tied.get("type") for tied in head.element.iterfind(".//tied")] for head in found.on(1)]
    assert ties == [["let-ring"]] * 3 + [[]]


@pytest.mark.parametrize(
    ("symbol", "kind", "degrees"),
    [
        ("A", "major", []),
        ("Am7", "minor-seventh", []),
        ("D7", "dominant", []),
        ("E7#9", "dominant", [("9", "1", "add")]),
        ("Bm7b5", "half-diminished", []),
        ("Gadd9", "major", [("9", "0", "add")]),
        ("Fwhat", "other", []),
    ],
)
def test_chord_kinds(symbol, kind, degrees):
    """MusicXML 4.0, kind-value and degree."""
    (harmony,) = read_musicxml(built("0 3 2 4", chords=(ChordMark(1, Fraction(0), symbol),))).root.iter("harmony")
    assert (harmony.findtext("root/root-step"), harmony.findtext("kind")) == (symbol[0], kind)
    assert harmony.find("kind").get("text") == symbol[1:]
    assert [tuple(child.text for child in degree) for degree in harmony.iter("degree")] == degrees


def test_what_a_chord_does_in_the_key_stands_beside_it_unprinted():
    marks = (ChordMark(1, Fraction(1, 2), "Bb", role="bVII over I", shape="E", fret=6),)
    printed, role = read_musicxml(built("0 3 2 4", chords=marks)).root.iter("harmony")
    assert printed.findtext("root/root-alter") == "-1"
    assert printed.findtext("footnote") == "E shape at fret 6"
    assert role.get("print-object") == "no"
    assert (role.findtext("numeral/numeral-root"), role.findtext("numeral/numeral-alter")) == ("7", "-1")
    divisions = int(read_musicxml(built("0 3 2 4", chords=marks)).root.findtext(".//divisions"))
    assert Fraction(int(printed.findtext("offset")), divisions) == Fraction(1, 2)


def test_a_cadence_is_told_in_words_under_the_chord_that_closes_it():
    chords = [
        {"start_beat": "0", "end_beat": "2", "symbol": "D", "role": "IV"},
        {"start_beat": "2", "end_beat": "4", "symbol": "A", "role": "I", "cadence": "plagal"},
    ]
    found = sheet(note("0", "4", 3, 2), chords=chords)
    (direction,) = found.root.iterfind(".//direction[@placement='below']")
    assert direction.findtext(".//words") == "plagal cadence"
    quarter = int(found.root.findtext(".//divisions"))
    assert int(direction.findtext("offset")) == 2 * quarter


def test_a_doubted_note_has_a_sign_and_its_reason():
    found = read_musicxml(built("0 3 2 2", "2 2 1 2", doubts=(Doubt("octave?", "2@2"), Doubt("which tempo?"))))
    (sign,) = [d for d in found.root.iter("direction") if d.findtext(".//words") == "?"]
    assert sign.getnext().findtext("footnote") == "octave?"
    assert [f.text for f in found.root.iter("miscellaneous-field") if f.get("name") == "doubt"] == ["which tempo?"]


def test_one_stroke_sign_stands_for_a_whole_chord_and_degrees_on_lines_of_their_own():
    """As an independent engraver would print them: signs and degrees of a chord no longer lie on one another."""
    page = FingeredPage(bpm=90.0)
    for place, (string, degree) in enumerate(((1, "1"), (2, "5"), (3, "3"))):
        page.play("1", string, 5, 1, stroke="down", degree=degree, with_last=place > 0)
    for place, stroke in enumerate("ip"):
        page.play("1", 2 + place, 5, 1, stroke=stroke, with_last=place > 0)
    document = page.document()
    data = musicxml_bytes(build_score(document))
    notes = [note for note in read_musicxml(data).root.iter("note") if note.findtext("staff") == "1"]
    assert [len(note.findall(".//down-bow")) for note in notes[:3]] == [1, 0, 0]
    assert [note.findtext(".//pluck") for note in notes[3:5]] == ["i", "p"]
    lyrics = [(note.find("lyric").get("number"), note.findtext("lyric/text")) for note in notes[:3]]
    assert lyrics == [("1", "1"), ("2", "5"), ("3", "3")]
    back = document_from_musicxml(data)
    assert [item.placement.stroke for item in back.notes] == [item.placement.stroke for item in document.notes]
