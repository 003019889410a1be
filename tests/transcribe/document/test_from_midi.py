"""MIDI files to take documents: commented bytes, files written by mido, and our own writer read back."""

from fractions import Fraction

import mido
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.midi_files import QUARTER, line, midi_file
from transcribe.document.from_midi import document_from_midi
from transcribe.document.model import Instrument, TakeDocument, TakeNote
from transcribe.errors import ReadError
from transcribe.notes.note import Bend, Note, Slide, Vibrato
from transcribe.rhythm.rhythm import Meter, Rhythm
from transcribe.write.midi import midi_bytes

TEMPO = mido.MetaMessage("set_tempo", tempo=600_000)  # 100 quarters a minute

HAND_WRITTEN = bytes.fromhex(
    "4d546864 00000006 0000 0001 0060"  # MThd, six bytes: type 0, one track, 96 ticks a quarter
    "4d54726b 00000027"  # MTrk, 39 bytes
    "00 ff5103 0927c0"  # at 0: tempo, 600,000 microseconds a quarter
    "00 ff5804 03021808"  # at 0: meter 3/4 (a quarter is 2 to the power of 2), click, 32nds a quarter
    "00 ff5902 0100"  # at 0: one sharp, major
    "00 90 3c 50"  # at 0: note-on, channel 1, key 60, velocity 80
    "60 3c 00"  # 96 ticks later, running status: velocity 0 ends it
    "00 3e 50"  # at once: key 62
    "30 80 3e 40"  # 48 ticks later: note-off
    "00 ff2f00"  # end of track
)  # fmt: skip


def starts(document):
    return [(take.timing.bar, take.timing.beat, take.timing.value) for take in document.notes]


def doubts(document):
    return [doubt.why for doubt in document.doubts]


def test_a_file_written_by_hand_from_the_standard():
    """Standard MIDI Files 1.0 and the MIDI 1.0 Detailed Specification: running status, velocity 0 as note-off."""
    document = document_from_midi(HAND_WRITTEN, name="by-hand.mid")
    assert [take.note.midi for take in document.notes] == [60, 62]
    assert [take.note.onset_s for take in document.notes] == pytest.approx([0.0, 0.6])
    assert [take.note.offset_s for take in document.notes] == pytest.approx([0.6, 0.9])
    assert (document.rhythm.tempo_bpm, str(document.rhythm.meter)) == (100.0, "3/4")
    assert (document.key.tonic, document.key.mode) == ("G", "major")
    assert starts(document) == [(1, 0, 1), (1, 1, Fraction(1, 2))]
    assert document.source.file == "by-hand.mid"


def test_times_follow_a_change_of_tempo():
    """Two quarters at 120, then two at 60: the third begins after 1 s, the fourth at 2 s."""
    tempos = [
        mido.MetaMessage("set_tempo", tempo=500_000),
        mido.MetaMessage("set_tempo", tempo=1_000_000, time=2 * QUARTER),
    ]
    document = document_from_midi(midi_file(tempos, line((60, 62, 64, 65), step=QUARTER, sounding=QUARTER)))
    assert [take.note.onset_s for take in document.notes] == [0.0, 0.5, 1.0, 2.0]
    assert [beat for _, beat, _ in starts(document)] == [0, 1, 2, 3]
    assert any("the tempo changes 1 times" in why for why in doubts(document))


def test_a_clock_of_film_frames_counts_seconds():
    """Division 0xE7 0x28: 25 frames a second of 40 ticks, a thousand ticks a second (SMF 1.0)."""
    data = bytearray(midi_file(line((60, 62), step=500, sounding=250)))
    data[12:14] = b"\xe7\x28"
    document = document_from_midi(bytes(data))
    assert [take.note.onset_s for take in document.notes] == [0.0, 0.5]


def test_all_tracks_and_channels_are_read_and_drums_are_not():
    document = document_from_midi(
        midi_file(
            [TEMPO],
            [mido.MetaMessage("track_name", name="Bass"), *line((40, 43))],
            [mido.MetaMessage("track_name", name="Lead"), *line((64, 67), channel=3)],
            line((36, 38), channel=9),
        )
    )
    assert [take.note.midi for take in document.notes] == [64, 40, 67, 43]
    assert "2 drum strokes (channel 10) were left out" in doubts(document)
    assert "2 tracks are read as one guitar: Bass, Lead" in doubts(document)


def test_a_short_gate_is_written_up_to_the_next_note_and_a_real_rest_stays():
    shortened = document_from_midi(midi_file([TEMPO], line((60, 62, 64), sounding=200)))
    assert [value for _, _, value in starts(shortened)][:2] == [Fraction(1, 2)] * 2
    rests = document_from_midi(midi_file([TEMPO], line((60, 62), step=2 * QUARTER, sounding=QUARTER)))
    assert [value for _, _, value in starts(rests)] == [1, 1]


def test_empty_bars_before_the_first_note_are_left_out_and_told():
    """A lick from bar 57 of a song: its times stay those of the file, its bars begin at 1."""
    played = line((60, 62))
    played[0] = played[0].copy(time=(56 * 4 + 1) * QUARTER)
    document = document_from_midi(midi_file([TEMPO, *played]))
    assert starts(document)[0] == (1, 1, Fraction(1, 2))
    assert document.notes[0].note.onset_s == pytest.approx(225 * 0.6)
    assert document.rhythm.first_downbeat_s == pytest.approx(224 * 0.6)
    assert "bar 1 here is bar 57 of the file: nothing sounds before" in doubts(document)


def test_triplets_are_written_as_thirds():
    document = document_from_midi(midi_file([TEMPO], line((60, 62, 64), step=160, sounding=160)))
    assert starts(document) == [(1, Fraction(k, 3), Fraction(1, 3)) for k in range(3)]


def test_notes_played_freely_are_put_in_bars_as_a_take_is():
    played = [0, 251, 470, 733, 955]
    messages = []
    for index, tick in enumerate(played):
        wait = tick - (played[index - 1] + 200 if index else 0)
        messages.append(mido.Message("note_on", note=60 + index, velocity=70, time=wait))
        messages.append(mido.Message("note_off", note=60 + index, time=200))
    document = document_from_midi(midi_file([TEMPO], messages))
    assert document.rhythm.tempo_bpm == 100.0
    assert [beat for _, beat, _ in starts(document)] == [Fraction(k, 2) for k in range(5)]


def wheel(semitones: float, time: int, channel: int = 0, reach: float = 2.0) -> mido.Message:
    pitch = min(8191, round(8192 * semitones / reach))
    return mido.Message("pitchwheel", channel=channel, pitch=pitch, time=time)


def bent(*wheels: mido.Message, before: tuple[mido.Message, ...] = ()) -> Note:
    """One note of a second and a little, with the wheel moving."""
    messages = [*before, mido.Message("note_on", note=62, velocity=80), *wheels]
    messages.append(mido.Message("note_off", note=62, time=QUARTER))
    tempo = mido.MetaMessage("set_tempo", tempo=500_000)
    return document_from_midi(midi_file([tempo, *messages])).notes[0].note


def test_a_rise_of_the_wheel_is_a_bend_and_its_fall_a_release():
    up = [wheel(k / 10 * 2, 10) for k in range(1, 11)]
    down = [wheel(2 - k / 10 * 2, 300 if k == 1 else 10) for k in range(1, 11)]
    bend, release = bent(*up, *down).bends
    assert (bend.kind, bend.target_cents, release.kind, release.target_cents) == ("bend", 200, "release", 0)
    assert bend.reach_s == pytest.approx(0.104, abs=0.03)
    assert release.start_s == pytest.approx(0.104 + 0.3125, abs=0.03)


def test_a_wheel_that_stands_high_at_the_start_is_a_bend_made_before_the_pick():
    (bend,) = bent(before=(wheel(1.0, 0),)).bends
    assert (bend.kind, bend.target_cents) == ("pre-bend", 100)


def test_the_reach_of_the_wheel_is_what_the_file_says():
    """RPN 0 with data entry 12: the whole way up is an octave (MIDI 1.0 Detailed Specification)."""
    told = [mido.Message("control_change", control=c, value=v) for c, v in ((101, 0), (100, 0), (6, 12), (38, 0))]
    up = [wheel(k / 10 * 3, 10, reach=12.0) for k in range(1, 11)]
    (bend,) = bent(*up, before=tuple(told)).bends
    assert bend.target_cents == 300
    (half_as_far,) = bent(*[wheel(k / 10 * 0.5, 10) for k in range(1, 11)]).bends
    assert half_as_far.target_cents == 50


def test_a_dive_below_the_note_is_told():
    dive = [wheel(-k / 10 * 2, 10) for k in range(1, 11)]
    back = [wheel(-2 + k / 10 * 2, 200 if k == 1 else 10) for k in range(1, 11)]
    messages = [mido.Message("note_on", note=62, velocity=80), *dive, *back]
    document = document_from_midi(midi_file([TEMPO, *messages, mido.Message("note_off", note=62, time=QUARTER)]))
    assert any("goes below the note" in why for why in doubts(document))


@pytest.mark.parametrize(
    ("data", "found"),
    [
        (midi_file([TEMPO]), "holds no notes"),
        (midi_file(line((36,), channel=9)), "holds drums alone"),
        (midi_file(line((60,)), line((62,)), file_type=2), "separate patterns"),
        (midi_file(line((60, 62), step=30_000 * QUARTER)), "goes on for"),
        (HAND_WRITTEN[:-8], "cut short"),
        (HAND_WRITTEN[:12] + b"\0\0" + HAND_WRITTEN[14:], "a beat has no ticks"),
        (HAND_WRITTEN.replace(bytes.fromhex("ff59020100"), bytes.fromhex("ff59027f05")), "is broken"),
    ],
)
def test_files_nobody_can_use_are_refused_in_two_lines(data, found):
    with pytest.raises(ReadError, match=found) as refused:
        document_from_midi(data)
    assert refused.value.mend


def test_a_note_without_an_end_lasts_to_the_end_of_its_track_and_is_doubted():
    messages = [mido.Message("note_on", note=60, velocity=80), mido.MetaMessage("end_of_track", time=QUARTER)]
    document = document_from_midi(midi_file([TEMPO, *messages]))
    assert document.notes[0].note.offset_s == pytest.approx(0.6)
    assert "the file does not say where this note ends" in doubts(document)


@given(st.binary(max_size=200), st.integers(0, 80))
def test_no_bytes_lead_to_anything_but_a_document_or_two_lines(noise, at):
    """Damage anywhere in a file."""
    data = HAND_WRITTEN[:at] + noise + HAND_WRITTEN[at + len(noise) :]
    try:
        said = f"{len(document_from_midi(data).notes)} notes"
    except ReadError as error:
        said = error.found
    assert said
    assert "\n" not in said


RHYTHM = Rhythm(96.0, Meter(4, 4), 0.0, tempo_source="given")


@st.composite
def lines(draw):
    """A line of notes that do not overlap, some bent, on one guitar."""
    at_s, notes = 0.0, []
    for index in range(draw(st.integers(1, 8))):
        at_s += draw(st.integers(1, 40)) / 100
        length_s = draw(st.integers(40, 90)) / 100
        bends = ()
        if draw(st.booleans()):
            size = draw(st.sampled_from((50.0, 100.0, 200.0, 300.0)))
            bends = (Bend("bend", at_s + 0.06, at_s + 0.16, at_s + length_s, size, size),)
        notes.append(Note(f"n{index + 1}", at_s, at_s + length_s, draw(st.integers(45, 80)), bends=bends))
        at_s += length_s + 0.3
    return tuple(notes)


@given(lines())
def test_what_our_writer_writes_is_read_back(notes):
    document = TakeDocument(tuple(TakeNote(note) for note in notes), rhythm=RHYTHM)
    again = document_from_midi(midi_bytes(document))
    assert [take.note.midi for take in again.notes] == [note.midi for note in notes]
    for take, note in zip(again.notes, notes, strict=True):
        assert abs(take.note.onset_s - note.onset_s) < 0.002
        assert abs(take.note.offset_s - note.offset_s) < 0.002
        assert [bend.target_cents for bend in take.note.bends] == [bend.target_cents for bend in note.bends]


def test_strings_slides_and_vibrato_of_our_own_files_are_known_again():
    from fingering.passage import Placement

    first = Note("n1", 0.0, 0.5, 57, slide=Slide("legato", 200, to="n2"))
    second = Note("n2", 0.5, 1.5, 59, attack="slide", vibrato=Vibrato(5.0, 30.0))
    document = TakeDocument(
        (TakeNote(first, Placement("n1", 3, 2, 1)), TakeNote(second, Placement("n2", 3, 4, 1))), rhythm=RHYTHM
    )
    again = document_from_midi(midi_bytes(document), instrument=Instrument())
    assert [(take.placement.string, take.placement.fret) for take in again.notes] == [(3, 2), (3, 4)]
    assert again.notes[0].note.slide.to == "n2"
    assert again.notes[1].note.attack == "slide"
    assert again.notes[1].note.vibrato.extent_cents == pytest.approx(30, abs=3)
    assert again.notes[1].note.vibrato.rate_hz == pytest.approx(5.0, abs=0.3)
