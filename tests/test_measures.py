"""The benchmark's own judges: they must see a fault when there is one."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from fingering.passage import Placement
from tests.measures.guitars_alike import agreements
from tests.measures.playability import unplayable_places
from tests.measures.real_phrases import score_phrase
from tests.measures.touch_margins import touched
from transcribe.document.read import read_document
from transcribe.notes.note import Note
from transcribe.training.note_bank import RATE_HZ, Zone, joined

REFERENCE = Path(__file__).parent.parent / "fixtures" / "reference"


def moved(document, index, **place):
    notes = list(document.notes)
    notes[index] = replace(notes[index], placement=replace(notes[index].placement, **place))
    return replace(document, notes=tuple(notes))


@pytest.fixture
def slides():
    return read_document(REFERENCE / "slipway.bright-electric.take.json")


@pytest.fixture
def legato():
    return read_document(REFERENCE / "spinning-buoy.bright-electric.take.json")


def test_a_note_with_no_place_or_the_wrong_pitch_cannot_be_played(slides):
    notes = (replace(slides.notes[0], placement=None), *slides.notes[1:])
    assert "no place" in unplayable_places(replace(slides, notes=notes))[0]
    assert any("does not sound there" in line for line in unplayable_places(moved(slides, 2, fret=9)))


def test_a_slide_to_another_string_or_finger_cannot_be_played(slides):
    assert any("changes finger" in line for line in unplayable_places(moved(slides, 1, finger=3)))
    assert any("slides to another string" in line for line in unplayable_places(moved(slides, 1, string=4, fret=12)))


def test_a_hammer_on_with_the_holding_finger_cannot_be_played(legato):
    assert any("finger that holds" in line for line in unplayable_places(moved(legato, 1, finger=1)))


def test_a_bent_open_string_cannot_be_played():
    document = read_document(REFERENCE / "lamp-room.bright-electric.take.json")
    assert any("bends an open string" in line for line in unplayable_places(moved(document, 0, fret=0, finger=0)))


def test_two_frets_a_hand_apart_cannot_be_held_at_once(legato):
    one, two = legato.notes[0], legato.notes[3]
    held = replace(one, note=replace(one.note, offset_s=9.0), placement=Placement(one.id, 2, 5, 1))
    far = replace(two, note=replace(two.note, offset_s=9.0), placement=Placement(two.id, 3, 17, 4))
    assert any("mm apart" in line for line in unplayable_places(replace(legato, notes=(held, far))))


def row(onset_s, midi, confidence="sure"):
    return {"onset_s": str(onset_s), "offset_s": str(onset_s + 0.5), "midi": str(midi), "confidence": confidence}


def test_ignore_spans_and_guesses_are_not_held_against_a_draft():
    heard = [Note("a", 1.0, 1.5, 64), Note("b", 2.0, 2.5, 60), Note("c", 3.0, 3.5, 62), Note("d", 5.0, 5.5, 61)]
    rows = [row(1.02, 64), row(3.01, 62, "guess"), row(4.0, 70)]
    ignored = [{"start_s": "1.9", "end_s": "2.1", "midi": ""}]
    found = score_phrase(rows, ignored, heard)
    assert (found.right, found.wanted, found.written) == (1, 2, 2)


def test_an_ignore_span_of_one_pitch_covers_that_pitch_only():
    span = [{"start_s": "0.9", "end_s": "1.1", "midi": "64"}]
    assert score_phrase([], span, [Note("a", 1.0, 1.5, 64)]).written == 0
    assert score_phrase([], span, [Note("a", 1.0, 1.5, 65)]).written == 1


def struck(midi, seed):
    """One second of a string with partials of its own, a little sharp of whole multiples."""
    rng = np.random.default_rng(seed)
    t, parts = np.arange(RATE_HZ) / RATE_HZ, np.arange(1, 13)
    hz = 440 * 2 ** ((midi - 69) / 12) * parts * np.sqrt(1 + rng.uniform(2e-5, 4e-4) * parts**2)
    size, phase = rng.exponential(1.0, 12), rng.uniform(0, 2 * np.pi, 12)
    sound = (size[:, None] * np.sin(2 * np.pi * hz[:, None] * t + phase[:, None])).sum(axis=0) * np.exp(-2 * t)
    return np.round(sound * 20000 / np.abs(sound).max()).astype(np.int16)


def test_a_guitar_under_another_name_is_found_even_at_another_pitch():
    own = struck(52.0, 1)
    moved_up = np.interp(np.arange(0, own.size - 1, 2 ** (1 / 12)), np.arange(own.size), own).astype(np.int16)
    bank = joined(
        [
            Zone("solidbody", 52.0, 0.1, own),
            Zone("copy", 52.0, 0.1, own // 2),
            Zone("moved", 53.0, 0.1, moved_up),
            Zone("another", 52.0, 0.1, struck(52.0, 2)),
            Zone("far", 64.0, 0.1, own),
        ]
    )
    best = {name: max(agreements(bank, name, "solidbody")) for name in ("copy", "moved", "another", "far")}
    assert best["copy"] == pytest.approx(1.0, abs=0.001)
    assert best["moved"] > 0.97
    assert best["another"] < 0.9
    assert best["far"] == 0.0, "an octave apart nothing is compared"


def test_margins_are_of_picked_notes_that_sound():
    plain = Note("n1", 0.5, 1.0, 64, attack="picked")
    assert touched(plain) == "plain"
    assert touched(replace(plain, mute="palm")) == "muted"
    assert touched(replace(plain, harmonic="natural")) == "harmonic"
    assert touched(replace(plain, attack="hammer-on")) is None
    assert touched(replace(plain, mute="dead")) is None
