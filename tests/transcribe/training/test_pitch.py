"""The pitch of a played string follows its gestures."""

import numpy as np

from transcribe.training.lick import Lick, Wave, let_down, push, pushed_before, step
from transcribe.training.perform import perform
from transcribe.training.pitch import fretted_midi, pushed_cents, smooth, sounding


def chain_of(*steps):
    (chain,) = perform(Lick("one", steps, 60.0)).chains
    return chain


def at(chain, *times_s):
    midi, cents = sounding(chain, np.array(times_s))
    return midi + cents / 100


def test_a_movement_starts_and_ends_at_rest_and_is_half_way_in_the_middle():
    assert np.allclose(smooth(np.array([-1.0, 0.0, 0.5, 1.0, 2.0])), [0, 0, 0.5, 1, 1])


def test_a_bend_goes_from_fretted_pitch_to_where_it_stops():
    chain = chain_of(step("1", 3, 7, 3, pushes=(push(200, miss_cents=-30), let_down(at=0.7))))
    (note,) = chain.notes
    up, down = note.movements
    heard = at(chain, note.onset_s, up.reach_s, down.start_s, down.reach_s)
    assert np.allclose(heard, [62.0, 63.7, 63.7, 62.0])


def test_a_pre_bend_sounds_at_its_target_from_the_start():
    chain = chain_of(step("1", 3, 7, 3, pushes=(pushed_before(200), let_down(at=0.5))))
    assert np.allclose(at(chain, chain.notes[0].onset_s, chain.notes[0].offset_s), [64.0, 62.0])


def test_a_slide_passes_every_fret_and_arrives_with_the_next_note():
    chain = chain_of(step("1", 3, 5, 1, slide="legato", slide_s=0.12), step("1", 3, 9, 1, attack="slide"))
    arrival_s = chain.notes[1].onset_s
    travel = fretted_midi(chain, arrival_s - 0.12 + 0.12 * np.array([0.25, 0.5, 0.75]))
    assert np.allclose(travel, [61, 62, 63], atol=0.01)  # between crossings the string rests on a fret
    assert np.allclose(fretted_midi(chain, np.array([arrival_s - 0.13, arrival_s])), [60, 64])


def test_a_slide_in_starts_below_and_a_slide_out_falls_away():
    into = chain_of(step("1", 2, 8, 3, slide="in", slide_frets=2))
    assert np.allclose(fretted_midi(into, np.array([into.notes[0].onset_s, into.notes[0].offset_s])), [65, 67])
    out = chain_of(step("1", 2, 8, 3, slide="out", slide_frets=-4))
    assert np.allclose(fretted_midi(out, np.array([out.notes[0].onset_s, out.notes[0].offset_s])), [67, 63])


def test_a_hammer_on_is_a_step_within_ten_milliseconds():
    chain = chain_of(step("1", 2, 5, 1), step("1", 2, 8, 4, attack="hammer-on"))
    lands_s = chain.notes[1].onset_s
    assert np.allclose(fretted_midi(chain, np.array([lands_s, lands_s + 0.01])), [64, 67])


def test_vibrato_has_its_rate_and_extent_and_leans_upward():
    chain = chain_of(step("2", 2, 8, 3, vibrato=Wave(5.0, 30.0, at=0.0, lean=1.0)))
    times_s = chain.notes[0].onset_s + np.arange(0.5, 1.5, 0.001)
    cents = pushed_cents(chain.notes[0], times_s)
    assert np.isclose(np.ptp(cents), 60.0, atol=0.5)
    assert cents.min() > -0.5
    assert np.count_nonzero(np.diff(np.signbit(cents - 30.0))) == 10  # five waves a second
