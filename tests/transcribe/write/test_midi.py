"""MIDI files, byte by byte against the MIDI 1.0 and Standard MIDI Files 1.0 specifications."""

import math
import re
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import HealthCheck, given, settings

from fingering.passage import Placement
from tests.midi_reader import read_midi
from tests.score_music import take, take_note
from tests.strategies_documents import documents
from transcribe.document.from_musicxml import document_from_musicxml
from transcribe.document.model import Instrument, TakeDocument, TakeNote
from transcribe.harmony.key import Key
from transcribe.notes.note import Bend, Contour, Note, Slide, Vibrato
from transcribe.rhythm.rhythm import Meter, Rhythm
from transcribe.score.build import build_score
from transcribe.settings import MidiSettings
from transcribe.write.midi import bend_value, midi_bytes
from transcribe.write.musicxml import musicxml_bytes

NOTE_OFF, NOTE_ON, CONTROL, PROGRAM, BEND, META = 0x80, 0x90, 0xB0, 0xC0, 0xE0, 0xFF
few = settings(max_examples=80, deadline=None, suppress_health_check=list(HealthCheck))

NOTE = Note("n1", 0.5, 1.0, 62)
QUARTER = 960  # ticks; 0.5 s at 120 bpm


def played(*notes, string=2, rhythm=None, **more):
    takes = tuple(TakeNote(note, Placement(note.id, string, 3, 1)) for note in notes)
    return read_midi(midi_bytes(TakeDocument(takes, rhythm=rhythm, **more)))


def only_channel(file):
    ((channel, events),) = file.channel_events().items()
    return channel, events


def bends(events):
    """(seconds at 120 bpm, 14-bit value) of every bend after the set-up."""
    return [(event.tick / QUARTER * 0.5, event.bend) for event in events if event.kind == BEND][1:]


def test_the_whole_file_of_one_note():
    """D on string 2 from 0.5 s to 1 s: every byte, with what the specification calls it."""
    document = TakeDocument((TakeNote(Note("n1", 0.5, 1.0, 62), Placement("n1", 2, 3, 1)),))
    # fmt: off
    assert midi_bytes(document) == bytes.fromhex(
        "4d546864 00000006 0001 0002 03c0"  # header: type 1, two tracks, 960 ticks a quarter
        "4d54726b 0000000b"                 # the conductor's track, 11 bytes
        "00 ff5103 07a120"                  #   tempo: 500000 microseconds a quarter, 120 bpm
        "00 ff2f00"                         #   end of track
        "4d54726b 00000037"                 # string 2, 55 bytes
        "00 ff0308 537472696e672032"        #   track name: String 2
        "00 c1 19"                          #   channel 2, program 26 of General MIDI: steel-string guitar
        "00 b1 65 00"                       #   registered parameter 0, high half (control 101)
        "00    64 00"                       #   and low half (control 100), running status: pitch bend sensitivity
        "00    06 02"                       #   data entry, high half (control 6): 2 semitones
        "00    26 00"                       #   and low half (control 38): 0 cents
        "00    65 7f"                       #   null parameter, high half
        "00    64 7f"                       #   and low half: no later data entry can change the range
        "00 e1 00 40"                       #   pitch bend 8192, low seven bits first: none
        "8740  00 40"                       # 960 ticks later (7 x 128 + 64): the note's own bend, none,
        "00 91 3e 58"                       #   then note on, key 62, velocity 88
        "8740 81 3e 40"                     # 960 ticks later: note off
        "00 ff2f00"                         #   end of track
    )
    # fmt: on


def test_tempo_meter_and_key():
    rhythm = Rhythm(96.0, Meter(6, 8), 0.5)
    file = played(NOTE, rhythm=rhythm, key=Key("F#", "minor"))
    assert file.type == 1
    assert file.meta(0x51) == [(0x09, 0x89, 0x68)]  # 625000 microseconds
    # numerator, power of two of the denominator, MIDI clocks a click (a dotted quarter), 32nds a quarter
    assert file.meta(0x58) == [(6, 3, 36, 8)]
    assert file.meta(0x59) == [(3, 1)]  # three sharps, minor


def test_flats_are_counted_below_zero():
    assert played(NOTE, key=Key("Eb", "major")).meta(0x59) == [(0xFD, 0)]  # -3 in two's complement


def test_one_channel_a_string():
    takes = tuple(TakeNote(replace(NOTE, id=f"n{s}"), Placement(f"n{s}", s, 3, 1)) for s in range(1, 7))
    file = read_midi(midi_bytes(TakeDocument(takes)))
    assert sorted(file.channel_events()) == [0, 1, 2, 3, 4, 5]
    assert [bytes(name).decode() for name in file.meta(0x03)] == [f"String {s}" for s in range(1, 7)]


def test_the_drum_channel_is_never_used():
    ten = Instrument(open_strings_midi=tuple(range(74, 64, -1)))
    takes = tuple(TakeNote(replace(NOTE, id=f"n{s}"), Placement(f"n{s}", s, 3, 1)) for s in range(1, 11))
    channels = read_midi(midi_bytes(TakeDocument(takes, ten))).channel_events()
    assert sorted(channels) == [0, 1, 2, 3, 4, 5, 6, 7, 8, 10]


def test_notes_without_a_string_ring_side_by_side():
    later = (replace(NOTE, id="n2", onset_s=0.7), replace(NOTE, id="n3", onset_s=1.0, offset_s=1.2))
    notes = (TakeNote(NOTE), *map(TakeNote, later))
    channels = read_midi(midi_bytes(TakeDocument(notes))).channel_events()
    on = {channel: [e.tick for e in events if e.kind == NOTE_ON] for channel, events in channels.items()}
    assert on == {6: [QUARTER, 2 * QUARTER], 7: [round(1.4 * QUARTER)]}


def test_a_string_plays_one_note_at_a_time():
    """A note said to ring into the next on its string ends where that one begins, its note off first."""
    _, events = only_channel(played(replace(NOTE, offset_s=2.0), replace(NOTE, id="n2", onset_s=1.0, offset_s=1.5)))
    notes = [(e.tick, e.kind) for e in events if e.kind in (NOTE_ON, NOTE_OFF)]
    assert notes == [
        (QUARTER, NOTE_ON), (2 * QUARTER, NOTE_OFF), (2 * QUARTER, NOTE_ON), (3 * QUARTER, NOTE_OFF),
    ]  # fmt: skip


@pytest.mark.parametrize("tempo_bpm", [37.3, 96.2, 133.337, 287.1])
def test_notes_keep_their_played_times_at_any_tempo(tempo_bpm):
    """From the first bar line on, each onset lies within half a tick of where it was played, however long the take."""
    onsets_s = [1.18 + 0.731 * k for k in range(100)]
    notes = [replace(NOTE, id=f"n{k}", onset_s=onset, offset_s=onset + 0.3) for k, onset in enumerate(onsets_s)]
    file = played(*notes, rhythm=Rhythm(tempo_bpm, Meter(4, 4), 1.18))
    quarter_us = int.from_bytes(bytes(file.meta(0x51)[0]), "big")
    _, events = only_channel(file)
    heard_s = [e.tick / file.division * quarter_us / 1e6 + 1.18 for e in events if e.kind == NOTE_ON]
    assert max(abs(a - b) for a, b in zip(heard_s, onsets_s, strict=True)) < 60 / tempo_bpm / 960 * 0.501


def test_a_pickup_comes_in_a_whole_bar_before_bar_one():
    """At 120 bpm a note one quarter before bar 1 of 3/4 sits on the third quarter of the file's first bar."""
    rhythm = Rhythm(120.0, Meter(3, 4), 1.0, pickup_beats=Fraction(1))
    _, events = only_channel(played(replace(NOTE, onset_s=0.5, offset_s=0.9), rhythm=rhythm))
    assert [e.tick for e in events if e.kind == NOTE_ON] == [2 * QUARTER]


@pytest.mark.parametrize(
    ("cents", "semitones", "value"),
    [
        (0, 2, 8192),
        (100, 2, 12288),
        (50, 2, 10240),
        (-100, 2, 4096),
        (200, 2, 16383),  # the top of the range is one step short: 14 bits end at 16383
        (-200, 2, 0),
        (5, 2, 8397),  # 5 cents are 205 steps: 8192 x 0.05 / 2
        (1200, 12, 16383),
        (5000, 2, 16383),
        (-5000, 2, 0),
    ],
)
def test_bend_values(cents, semitones, value):
    assert bend_value(cents, semitones) == value


@pytest.mark.parametrize(("reached_cents", "semitones"), [(50, 2), (200, 2), (203.5, 12), (1190, 12), (1900, 24)])
def test_the_range_is_the_narrowest_that_holds_the_take(reached_cents, semitones):
    bend = Bend("bend", 0.6, 0.7, 1.0, 200, reached_cents)
    _, events = only_channel(played(replace(NOTE, bends=(bend,))))
    assert [e.data for e in events if e.kind == CONTROL] == [
        (101, 0), (100, 0), (6, semitones), (38, 0), (101, 127), (100, 127),
    ]  # fmt: skip
    peak = max(e.bend for e in events if e.kind == BEND)
    assert abs((peak - 8192) / 8192 * semitones * 100 - reached_cents) < 0.2


def test_a_bend_rises_holds_and_is_let_down():
    up, down = Bend("bend", 0.6, 0.7, 0.8, 200, 200), Bend("release", 0.8, 0.9, 1.0, 0, 0)
    _, events = only_channel(played(replace(NOTE, bends=(up, down))))
    moves = {round(time_s, 3): value for time_s, value in bends(events)}
    assert moves[0.5] == 8192
    assert moves[0.65] == 12288  # halfway up: 100 cents of 200
    assert max(moves.values()) == 16383
    last_s, last = bends(events)[-1]
    assert last == 8192
    assert last_s <= 0.9 + 0.01


def test_a_pre_bend_sounds_at_its_target_from_the_start():
    bend = Bend("pre-bend", 0.5, 0.5, 1.0, 100, 100)
    _, events = only_channel(played(replace(NOTE, bends=(bend,))))
    kinds = [(e.tick, e.kind, e.bend if e.kind == BEND else None) for e in events if e.tick > 0]
    assert kinds[:2] == [(QUARTER, BEND, 12288), (QUARTER, NOTE_ON, None)]


def test_the_string_is_at_rest_again_after_a_bend():
    """The bend stays while the sound dies away (a quarter second), then the string goes back."""
    bend = Bend("pre-bend", 0.5, 0.5, 1.0, 100, 100)
    _, events = only_channel(played(replace(NOTE, bends=(bend,))))
    assert bends(events)[-1] == (1.25, 8192)


def test_the_next_note_does_not_inherit_a_bend():
    bend = Bend("pre-bend", 0.5, 0.5, 1.0, 100, 100)
    _, events = only_channel(played(replace(NOTE, bends=(bend,)), replace(NOTE, id="n2", onset_s=1.0, offset_s=1.5)))
    at_next = [(e.kind, e.bend if e.kind == BEND else None) for e in events if e.tick == 2 * QUARTER]
    assert at_next == [(NOTE_OFF, None), (BEND, 8192), (NOTE_ON, None)]


def test_what_was_measured_goes_before_what_is_drawn():
    """A contour that only reached 150 cents is played so, whatever the gesture says; gaps hold the last pitch."""
    bend = Bend("bend", 0.5, 0.6, 1.0, 200, 200)
    contour = Contour(0.49, 0.01, (None, 10.0, None, 80.0, 150.0))
    _, events = only_channel(played(replace(NOTE, bends=(bend,), contour=contour)))
    moves = [(round(time_s, 3), value) for time_s, value in bends(events)]
    assert moves == [
        (0.5, 8192 + 410), (0.52, 8192 + 3277), (0.53, 8192 + 6144), (1.25, 8192),
    ]  # fmt: skip


def test_a_contour_of_nothing_but_gaps_is_no_contour():
    bend = Bend("bend", 0.5, 0.6, 1.0, 200, 200)
    _, events = only_channel(played(replace(NOTE, bends=(bend,), contour=Contour(0.5, 0.01, (None, None)))))
    assert max(e.bend for e in events if e.kind == BEND) == 16383


def test_slides_without_a_contour():
    goal = replace(NOTE, id="n2", onset_s=1.0, offset_s=1.5, midi=64)
    _, events = only_channel(played(replace(NOTE, slide=Slide("legato", 200.0, "n2")), goal))
    before = [value for time_s, value in bends(events) if time_s < 1.0]
    assert before[0] == 8192
    assert before == sorted(before)
    assert before[-1] > 8192 + 8192 * 0.8
    _, events = only_channel(played(replace(NOTE, slide=Slide("in", 200.0))))
    first_s, first = bends(events)[0]
    assert (first_s, first) == (0.5, 0)  # two frets below
    assert bends(events)[-1][1] == 8192


def test_a_vibrato_without_a_contour_waves_at_its_rate():
    vibrato = Vibrato(5.0, 40.0)
    _, events = only_channel(played(replace(NOTE, offset_s=2.65, vibrato=vibrato)))
    moves = [(t, (v - 8192) / 8192 * 200) for t, v in bends(events) if t < 2.65]
    assert max(cents for _, cents in moves) == pytest.approx(40, abs=1)
    assert min(cents for _, cents in moves) == pytest.approx(-40, abs=1)
    rises = sum(1 for (_, a), (_, b) in pairwise(moves) if a <= 0 < b)
    assert rises == 10  # 2 s at 5 Hz


def test_a_dead_note_does_not_move_and_is_muted():
    contour = Contour(0.5, 0.01, (300.0, -400.0, 90.0))
    _, events = only_channel(played(replace(NOTE, mute="dead", contour=contour)))
    assert {value for _, value in bends(events)} == {8192}
    # program 29 of General MIDI, muted guitar, before the note
    assert [(e.kind, e.data) for e in events if e.tick == QUARTER][1:] == [(PROGRAM, (28,)), (NOTE_ON, (62, 88))]


def test_the_sound_comes_back_after_a_mute():
    _, events = only_channel(played(replace(NOTE, mute="palm"), replace(NOTE, id="n2", onset_s=1.0, offset_s=1.5)))
    assert [e.data[0] for e in events if e.kind == PROGRAM] == [25, 28, 25]


def test_louder_notes_have_higher_velocities():
    notes = [
        replace(NOTE, id=f"n{k}", onset_s=0.5 + k, offset_s=1.0 + k, level_db=level)
        for k, level in enumerate((-10.0, -22.0, -90.0, None, -math.inf))
    ]
    _, events = only_channel(played(*notes))
    velocities = [e.data[1] for e in events if e.kind == NOTE_ON]
    # 12 dB softer is a velocity 10^(-12/40) = 0.501 times as high
    assert velocities == [112, 56, 1, 88, 88]


def test_a_document_with_no_notes_is_still_a_file():
    file = read_midi(midi_bytes(TakeDocument(())))
    assert len(file.tracks) == 1


def test_a_tempo_too_slow_for_three_bytes_keeps_the_played_times():
    file = played(NOTE, rhythm=Rhythm(0.01, Meter(4, 4), 0.0))
    assert file.meta(0x51) == [(0xFF, 0xFF, 0xFF)]
    _, events = only_channel(file)
    on = next(e.tick for e in events if e.kind == NOTE_ON)
    assert on / 960 * 16.777215 == pytest.approx(0.5, abs=0.01)


@few
@given(documents())
def test_rules_that_hold_for_any_take(document):
    file = read_midi(midi_bytes(document))
    plain = MidiSettings()
    heard = 0
    for channel, events in file.channel_events().items():
        assert channel != 9
        assert [e.tick for e in events] == sorted(e.tick for e in events)
        assert [(e.kind, e.data[0]) for e in events[:8]] == [
            (PROGRAM, plain.program), (CONTROL, 101), (CONTROL, 100), (CONTROL, 6), (CONTROL, 38),
            (CONTROL, 101), (CONTROL, 100), (BEND, 0),
        ]  # fmt: skip
        sounding, bent = None, 8192
        for event in events:
            if event.kind == BEND:
                bent = event.bend
                assert 0 <= bent <= 16383
            elif event.kind == NOTE_ON:
                assert sounding is None, "two notes at once on one string"
                assert event.data[1] > 0, "a note on with velocity 0 would be a note off"
                sounding, since = event.data[0], event.tick
                heard += 1
            elif event.kind == NOTE_OFF:
                assert event.data[0] == sounding
                assert event.tick > since
                sounding = None
        assert sounding is None, "a note that never ends"
        assert bent == 8192, "a string left bent"
    assert heard == len(document.notes)


def test_two_voices_a_bend_beside_a_ringing_string_to_the_cent():
    """String 2 rings for three quarters while string 3 is bent up 200 cents: each on its channel, only one moves."""
    up = Bend("bend", 4.1, 4.2, 4.5, 200.0, 187.0)
    lick = take("0 2 8 3", take_note("0 3 7 1", bends=(up,)), "1 3 7 1", "2 3 5 1")
    channels = read_midi(midi_bytes(lick)).channel_events()
    assert {event.bend for event in channels[1] if event.kind == 0xE0} == {8192}
    highest = max(event.bend for event in channels[2] if event.kind == 0xE0)
    assert (highest - 8192) / 8192 * 200 == pytest.approx(187.0, abs=0.5)
    ringing = [event for event in channels[1] if event.kind in (0x80, 0x90)]
    assert [event.tick for event in ringing] == [0, 3 * 960]
    assert len([event for event in channels[2] if event.kind == 0x90]) == 3


def test_swung_eighths_of_a_written_page_are_played_long_short():
    """Read from MusicXML that swings, with no played times: the second eighth comes at two thirds of the beat."""
    page = musicxml_bytes(build_score(take("0 3 5 1/2", "1/2 3 7 1/2", "1 2 5 1", feel="swing")))
    written = re.sub(rb"<other-play[^\n]*\n", b"", page)
    channels = read_midi(midi_bytes(document_from_musicxml(written))).channel_events()
    starts = sorted(event.tick for events in channels.values() for event in events if event.kind == 0x90)
    assert starts == [0, 640, 960]
