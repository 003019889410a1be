"""Batches made in other processes: the same ones in the same order, and places that are used again."""

import itertools
from types import SimpleNamespace

import numpy as np
import pytest

from transcribe.errors import WriteError
from transcribe.training.batch_maker import BatchMaker, Shelf
from transcribe.training.note_bank import RATE_HZ, Zone, joined
from transcribe.training.rehearsal import Players, batch_of


def players():
    t = np.arange(2 * RATE_HZ) / RATE_HZ
    tone = np.round(20000 * np.sin(2 * np.pi * 440 * t)).astype(np.int16)
    return Players(joined([Zone("tone", 69.0, 0.4, tone)]), ("tone",))


def same(one, other):
    return one.keys() == other.keys() and all(np.array_equal(one[name], other[name]) for name in one)


@pytest.mark.parametrize("workers", [0, 2])
def test_batches_come_in_the_order_of_their_numbers(workers):
    with BatchMaker(players(), seed=3, clips=2, modal_clips=1, workers=workers) as maker:
        found = list(itertools.islice(maker.batches(5), 7))  # more than there are places
    for number, batch in enumerate(found, 5):
        assert same(batch, batch_of(players(), 3, number, clips=2, modal_clips=1))


def test_a_shelf_keeps_what_was_put_and_gives_copies(tmp_path):
    one, other = (batch_of(players(), 3, number, clips=2, modal_clips=1) for number in (1, 2))
    shelf = Shelf.like(one, tmp_path / "shelf", 3)
    shelf.put(0, one)
    shelf.put(2, other)
    taken = shelf.take(0)
    shelf.put(0, other)
    assert same(taken, one)
    assert same(shelf.take(0), other)
    assert same(shelf.take(2), other)


def test_a_full_disk_is_told_before_anything_is_written(tmp_path, monkeypatch):
    usage = SimpleNamespace(total=9 << 20, used=8 << 20, free=1 << 20)
    monkeypatch.setattr("shutil.disk_usage", lambda folder: usage)
    batch = batch_of(players(), 3, 1, clips=2, modal_clips=1)
    with pytest.raises(WriteError, match=r"need \d+ MB, and .* has 1 MB free\nLet TMPDIR .* name a folder with more"):
        Shelf.like(batch, tmp_path / "shelf", 9)
    assert list(tmp_path.iterdir()) == []


def test_a_batch_of_another_layout_is_refused(tmp_path):
    shelf = Shelf.like(batch_of(players(), 3, 1, clips=2, modal_clips=1), tmp_path / "shelf", 1)
    with pytest.raises(ValueError, match="not those of the shelf"):
        shelf.put(0, batch_of(players(), 3, 1, clips=1, modal_clips=1))
