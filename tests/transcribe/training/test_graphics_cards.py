"""Batches made and heard ahead of their use, and cards that are not there."""

import os

os.environ.setdefault("KERAS_BACKEND", "tensorflow")
os.environ.setdefault("TF_CPP_MIN_LOG_LEVEL", "3")

import itertools

import numpy as np
import pytest

from transcribe.errors import ReadError
from transcribe.training.graphics_cards import heard_batches, share_the_work
from transcribe.training.note_bank import RATE_HZ, Zone, joined
from transcribe.training.rehearsal import Players, batch_of, hearing


def tone_bank():
    t = np.arange(2 * RATE_HZ) / RATE_HZ
    return joined([Zone("tone", 69.0, 0.4, np.round(20000 * np.sin(2 * np.pi * 440 * t)).astype(np.int16))])


def test_one_card_hears_every_batch_in_turn():
    bank = tone_bank()
    batches = [batch_of(Players(bank, ("tone",)), 5, number, clips=1, modal_clips=0) for number in range(3)]
    hear = hearing(bank.samples, modal_clips=0)
    pairs = heard_batches(iter(batches), bank.samples, modal_clips=0, cards=1)
    for batch, (view, truth) in zip(batches, itertools.islice(pairs, 2), strict=False):
        wanted_view, wanted_truth = hear(batch)
        assert np.abs(np.asarray(view) - np.asarray(wanted_view)).max() < 1e-4
        assert np.array_equal(np.asarray(truth), np.asarray(wanted_truth))


def test_one_card_needs_nothing_and_several_need_jax():
    share_the_work(1)
    with pytest.raises(ReadError, match="JAX backend"):
        share_the_work(2)
