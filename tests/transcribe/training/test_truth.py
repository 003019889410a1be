"""The reference of a made take says what was played."""

import pytest

from transcribe.document.read import document_from_json
from transcribe.training.lick import Lick, let_down, push, step
from transcribe.training.perform import perform
from transcribe.training.truth import take_document


def truth_of(*steps, ring_s=5.0, **lick):
    performance = perform(Lick("one", steps, 60.0, **lick))
    rings = {note.id: ring_s for note in performance.notes}
    return performance, take_document(
        performance, file="one.flac", samples=44100, rate_hz=44100, ring_s=rings, made_with="test"
    )


def test_it_is_a_take_document_with_rhythm_place_and_gestures():
    performance, told = truth_of(
        step("1", 3, 7, 3, pushes=(push(200, miss_cents=-30), let_down())),
        step("1/3", 3, 5, 1, slide="legato"),
        step("2/3", 3, 7, 1, attack="slide"),
        tuning_offset_cents=-25.0,
    )
    document = document_from_json(told)
    bent, sliding, arrived = document.notes
    up, down = bent.note.bends
    assert (up.target_cents, up.reached_cents, up.error_cents) == (200, 170, -30)
    assert up.end_s == down.start_s
    assert down.end_s == bent.note.offset_s
    assert sliding.note.slide.to == arrived.id
    assert sliding.note.slide.cents == 200
    assert (bent.placement.string, bent.placement.fret, bent.placement.finger) == (3, 7, 3)
    assert arrived.timing.beat.limit_denominator(12) == arrived.timing.beat
    assert document.instrument.tuning_offset_cents == -25.0
    assert document.rhythm.first_downbeat_s == pytest.approx(performance.first_downbeat_s)


def test_a_note_that_fades_ends_thirty_four_decibels_down():
    performance, told = truth_of(step("4", 1, 5, 1), ring_s=0.6)
    assert told["notes"][0]["offset_s"] == pytest.approx(performance.notes[0].onset_s + 0.6 * 34 / 60, abs=1e-3)


def test_a_note_that_is_damped_ends_there():
    performance, told = truth_of(step("1", 1, 5, 1), ring_s=60.0)
    assert told["notes"][0]["offset_s"] == performance.notes[0].offset_s
