"""Blocks of sound laid end to end: gaps, overlaps, windows."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from transcribe.audio.decode import Block
from transcribe.audio.tape import Tape, Window

RATE_HZ = 1000


def block(first: int, n: int, time_s: float | None = None) -> Block:
    """Samples that count up from ``first``, one a millisecond."""
    return Block(
        first / RATE_HZ if time_s is None else time_s, RATE_HZ, np.arange(first, first + n, dtype=np.float32)[None]
    )


def test_blocks_join() -> None:
    tape = Tape(Window())
    assert tape.add(block(0, 100))
    assert tape.add(block(100, 50))
    assert np.array_equal(tape.finish(), np.arange(150))
    assert (tape.start_s, tape.length_s) == (0.0, 0.15)


def test_rounded_times_do_not_tear_the_sound() -> None:
    tape = Tape(Window())
    for k in range(20):
        tape.add(block(10 * k, 10, time_s=round(0.01 * k, 2) + 0.004 * (k % 2)))
    assert np.array_equal(tape.finish(), np.arange(200))


def test_missing_sound_is_filled_so_that_later_sound_keeps_its_time() -> None:
    tape = Tape(Window())
    tape.add(block(0, 100))
    tape.add(block(300, 100))
    out = tape.finish()
    assert out.size == 400
    assert not out[100:300].any()
    assert out[300] == 300
    assert (tape.filled_s, tape.filled_at_s) == pytest.approx((0.2, 0.1))


def test_sound_told_twice_is_taken_once() -> None:
    tape = Tape(Window())
    tape.add(block(0, 100))
    tape.add(block(50, 100))
    assert np.array_equal(tape.finish(), np.arange(150))


def test_a_window_that_opens_in_a_gap() -> None:
    tape = Tape(Window(0.2, 0.35))
    tape.add(block(0, 100))
    tape.add(block(300, 100))
    assert tape.start_s == pytest.approx(0.3)
    assert np.array_equal(tape.finish(), np.arange(300, 350))


def test_a_broken_clock_does_not_ask_for_hours_of_silence() -> None:
    tape = Tape(Window())
    tape.add(block(0, 100))
    assert not tape.add(block(100, 100, time_s=90_000.0))
    assert tape.finish().size == 100
    assert "clock jumps" in tape.stopped_by


def test_a_changed_rate_ends_the_tape() -> None:
    tape = Tape(Window())
    tape.add(block(0, 100))
    assert not tape.add(Block(0.1, 2 * RATE_HZ, np.zeros((1, 10), np.float32)))
    assert "sample rate changes" in tape.stopped_by


@given(
    cuts=st.lists(st.integers(1, 60), min_size=1, max_size=20),
    from_ms=st.integers(0, 400),
    length_ms=st.integers(1, 400),
    timed=st.booleans(),
)
def test_any_blocks_give_the_window_asked_for(cuts: list[int], from_ms: int, length_ms: int, timed: bool) -> None:
    """However the sound is cut into blocks, the window holds the same samples."""
    tape = Tape(Window(from_ms / 1000, (from_ms + length_ms) / 1000))
    first = 0
    for n in cuts:
        piece = block(first, n)
        if not tape.add(piece if timed else Block(None, RATE_HZ, piece.channels)):
            break
        first += n
    wanted = np.arange(sum(cuts))[from_ms : from_ms + length_ms]
    assert np.array_equal(tape.finish(), wanted)
    if wanted.size:
        assert tape.start_s == pytest.approx(from_ms / 1000)
