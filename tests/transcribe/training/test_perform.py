"""From written to played: the beat kept, gestures in order, the same every time."""

from dataclasses import replace
from fractions import Fraction

import pytest

from fixtures.licks import LICKS
from transcribe.errors import NoteError
from transcribe.rhythm.rhythm import Timing
from transcribe.training.lick import Lick, let_down, push, step
from transcribe.training.perform import JITTER_LIMIT_S, perform

EIGHTHS = tuple(step("1/2", 1, fret, finger) for fret, finger in ((5, 1), (8, 4)) * 4)


def test_onsets_stay_within_the_player_s_unevenness():
    played = perform(Lick("one", EIGHTHS, 120.0))
    for number, note in enumerate(played.notes):
        assert abs(note.onset_s - (0.4 + 0.25 * number)) <= JITTER_LIMIT_S + 1e-4


def test_swung_eighths_fall_on_two_thirds_of_the_beat_and_are_written_straight():
    played = perform(Lick("one", EIGHTHS, 60.0, feel="swing"))
    assert abs(played.notes[1].onset_s - (0.4 + 2 / 3)) <= JITTER_LIMIT_S + 1e-4
    assert played.notes[1].timing == Timing(1, Fraction(1, 2), Fraction(1, 2))


def test_bar_one_comes_after_the_pickup():
    played = perform(Lick("one", EIGHTHS, 60.0, pickup_beats=Fraction(1)))
    assert [note.timing.bar for note in played.notes] == [0, 0, 1, 1, 1, 1, 1, 1]
    assert played.notes[2].timing.beat == 0
    assert played.first_downbeat_s == pytest.approx(1.4)


def test_the_same_seed_plays_the_same_and_another_does_not():
    lick = LICKS["lamp-room"]
    assert perform(lick) == perform(lick)
    assert perform(lick).notes != perform(replace(lick, seed=99)).notes


def test_movements_of_a_bend_do_not_overlap():
    lick = Lick("one", (step("1", 3, 7, 3, pushes=(push(200, at=0.3, over_s=0.2), let_down(at=0.35))),), 120.0)
    (note,) = perform(lick).notes
    up, down = note.movements
    assert note.onset_s < up.start_s < up.reach_s == down.start_s < down.reach_s <= note.offset_s


def test_a_movement_that_does_not_fit_its_note_is_refused():
    lick = Lick("one", (step("1", 3, 7, 3, pushes=(push(200, over_s=0.6), let_down(at=0.6))),), 120.0)
    with pytest.raises(NoteError, match="too late to fit"):
        perform(lick)


@pytest.mark.parametrize("lick", LICKS.values(), ids=LICKS)
def test_every_lick_plays_one_note_at_a_time(lick):
    played = perform(lick)
    for before, after in zip(played.notes, played.notes[1:], strict=False):
        assert after.onset_s - before.offset_s > -0.05
        assert before.offset_s > before.onset_s
    joined = [note for chain in played.chains for note in chain.notes]
    assert joined == list(played.notes)
    for chain in played.chains:
        assert len({note.step.string for note in chain.notes}) == 1
