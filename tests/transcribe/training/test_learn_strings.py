"""How far to believe a word on strings, learned from words whose truth is known."""

import numpy as np

from transcribe.notes.string_shares import believed
from transcribe.training.learn_strings import fitted


def words(boast, *, count=3000, misled=0.0):
    """Logarithms of shares that exaggerate by ``boast``, the strings drawn by the shares themselves."""
    rng = np.random.default_rng(3)
    logs = rng.normal(0, 2, (count, 6))
    logs -= np.log(np.exp(logs).sum(axis=1, keepdims=True))
    string = np.array([rng.choice(6, p=np.exp(row)) for row in logs])
    string = np.where(rng.random(count) < misled, rng.integers(0, 6, count), string)
    return boast * logs, np.ones((count, 6), bool), string


def test_the_louder_the_word_the_less_it_is_believed():
    assert abs(fitted(*words(1.0))[0].power - 1.0) <= 0.1
    assert abs(fitted(*words(2.0))[0].power - 0.5) <= 0.1


def test_notes_of_which_nothing_is_told_are_counted():
    trust, _ = fitted(*words(1.0, misled=0.2))
    assert 0.1 <= trust.nothing <= 0.3


def test_strings_that_cannot_play_the_note_are_out_of_the_question():
    logs = np.log(np.tile([0.9, 0.02, 0.02, 0.02, 0.02, 0.02], (200, 1)))
    can = np.tile([False, True, True, False, False, False], (200, 1))
    string = np.random.default_rng(1).integers(1, 3, 200)
    trust, mean = fitted(logs, can, string)
    assert abs(mean - np.log(0.5)) < 1e-6
    assert np.argmax(believed(logs, trust)[0]) == 0
