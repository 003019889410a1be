"""What speaks against one guitar, sign by sign, and what is done about it."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from tests.signals import hz, placed, plucked, recording, steady
from transcribe.notes.hear import Heard
from transcribe.notes.note import Contour, Doubt, Note, Slide
from transcribe.notes.one_guitar import SIGNS, Sign, TakeGrounds, strangeness, strangest, take_grounds
from transcribe.notes.strange_take import UNLIKE, WORDS, with_strange_told
from transcribe.pipeline import draft_take
from transcribe.settings import NoteSettings

FIXTURES = Path(__file__).parents[3] / "fixtures"
PLAIN = TakeGrounds(
    sure=0.98, covered=0.99, explained=0.93, deep=0.0, high_db=-27.0, restless_cents=0.5,
    off_cents=1.5, crowded=0.0, lone_bursts=0.0, piano=0.0, rise_s=0.015, growth_db_per_s=-8.0,
)  # fmt: skip


def guitar(seed=0):
    notes = [
        Note(f"n{k}", 0.2 + 0.5 * k, 0.65 + 0.5 * k, midi, 0.0, attack="picked", confidence=0.97)
        for k, midi in enumerate((57, 60, 64))
    ]
    parts = [(note.onset_s, plucked(steady(hz(note.midi), 0.45), level=0.4)) for note in notes]
    sound = placed(*parts, seconds=2.0)
    return sound + 1e-4 * np.random.default_rng(seed).standard_normal(sound.size), notes


def test_a_guitar_shows_no_sign():
    assert strangeness(PLAIN) == 0.0
    sound, notes = guitar()
    assert strangeness(take_grounds(recording(sound), notes)) < 0.5


@pytest.mark.parametrize(
    "strange",
    [
        {"restless_cents": 9.0, "off_cents": 22.0},  # talk
        {"crowded": 0.1},
        {"deep": 0.15},
        {"explained": 0.1, "covered": 0.3, "sure": 0.4},
        {"piano": 0.8},
        {"rise_s": 0.12},  # bowed
        {"growth_db_per_s": 14.0},  # blown
        {"lone_bursts": 0.6, "deep": 0.05},
    ],
)
def test_each_sign_is_enough_when_it_is_plain(strange):
    assert strangeness(replace(PLAIN, **strange)) >= 1.0
    assert strangest(replace(PLAIN, **strange)) in strange


def test_two_notes_between_the_frets_tell_no_tuning():
    sound, notes = guitar()
    off = [replace(note, cents=25.0) for note in notes]
    assert take_grounds(recording(sound), off).off_cents == 25.0
    assert take_grounds(recording(sound), off[:2]).off_cents == 0.0


def test_every_sign_has_words_and_grows_with_its_ground():
    assert SIGNS.keys() == WORDS.keys()
    for sign in SIGNS.values():
        assert (sign.of(sign.free), sign.of(sign.full)) == (0.0, pytest.approx(sign.weight))
    assert Sign(0.0, 1.0, 1.0).of(99.0) == 1.5


def test_sound_below_the_lowest_string_is_measured():
    sound, notes = guitar()
    bass = 0.5 * np.sin(2 * np.pi * 45 * np.arange(sound.size) / 22050)
    assert take_grounds(recording(sound), notes).deep < 0.01
    assert take_grounds(recording(sound + bass), notes).deep > 0.3


def test_beats_between_the_notes_are_measured():
    sound, notes = guitar()
    rng = np.random.default_rng(1)
    hits = [(at_s, 0.5 * rng.standard_normal(800) * np.exp(-np.arange(800) / 150)) for at_s in (0.45, 0.95, 1.45, 1.8)]
    assert take_grounds(recording(sound), notes).lone_bursts == 0.0
    assert take_grounds(recording(sound + placed(*hits, seconds=2.0)), notes).lone_bursts > 0.4


def test_pitch_that_never_rests_is_measured():
    sound, notes = guitar()
    gliding = Contour(0.2, 0.01, tuple(10.0 * k for k in range(40)))
    gliders = [replace(note, contour=gliding) for note in notes[:3]]
    assert take_grounds(recording(sound), gliders).restless_cents == pytest.approx(10.0)
    assert take_grounds(recording(sound), gliders[:1]).restless_cents == 0.0, "one note that slides is no talk"


def test_more_notes_than_strings_and_wider_than_a_hand_are_crowded():
    many = [Note(f"n{k}", 0.5, 1.5, 45 + 4 * k) for k in range(7)]
    wide = [Note("a", 0.5, 1.5, 40), Note("b", 0.5, 1.5, 76)]
    sound, _ = guitar()
    assert take_grounds(recording(sound), many).crowded == take_grounds(recording(sound), wide).crowded == 1.0
    assert take_grounds(recording(sound), many[:6]).crowded == 0.0


def test_of_a_strange_take_the_sure_notes_stay_and_one_doubt_says_so():
    sound, notes = guitar()
    bass = 0.5 * np.sin(2 * np.pi * 45 * np.arange(sound.size) / 22050)
    unsure = replace(notes[1], confidence=0.5)
    slid = replace(notes[0], slide=Slide("legato", 300.0, "n1"))
    heard = Heard((slid, unsure, notes[2]), 0.0, (Doubt("unsure", "n1"), Doubt("soft", "n2")))
    told = with_strange_told(recording(sound + bass), heard, NoteSettings())
    assert [(note.id, note.slide) for note in told.notes] == [("n0", None), ("n2", None)]
    assert told.doubts[0].why == f"{UNLIKE}: there is much sound below a guitar's lowest string"
    assert [doubt.note for doubt in told.doubts] == [None, "n2"]
    assert with_strange_told(recording(sound), heard, NoteSettings()) is heard


def test_notes_that_only_swell_all_stay_and_are_doubted():
    sound, notes = guitar()
    swell = np.interp(np.arange(sound.size) / 22050 % 0.5, [0.2, 0.45], [0.0, 1.0])  # each note is faded in
    unsure = replace(notes[1], confidence=0.3)
    heard = Heard((notes[0], unsure, notes[2]), 0.0, ())
    told = with_strange_told(recording(sound * swell), heard, NoteSettings())
    assert told.notes == heard.notes
    assert [doubt.why.startswith(f"{UNLIKE}: its notes ") for doubt in told.doubts] == [True]


@pytest.mark.parametrize("name", ["guit_e_slide", "guit_e_fifths", "guit_em9", "guit_harmonics"])
def test_real_guitars_are_guitars(name):
    document = draft_take(FIXTURES / "real" / f"{name}.flac")
    assert not any(doubt.why.startswith(UNLIKE) for doubt in document.doubts)


def test_a_slide_between_two_sure_notes_of_a_strange_take_stays():
    sound, notes = guitar()
    bass = 0.5 * np.sin(2 * np.pi * 45 * np.arange(sound.size) / 22050)
    slid = replace(notes[0], slide=Slide("legato", 300.0, "n1"))
    out = replace(notes[2], slide=Slide("out", -300.0))
    told = with_strange_told(recording(sound + bass), Heard((slid, notes[1], out), 0.0, ()), NoteSettings())
    assert told.notes == (slid, notes[1], out)
    assert told.doubts
