"""Ticks at the moments a metronome would give them."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from transcribe.audio.click import LEAD_IN_S, LEVEL, Click, click_samples
from transcribe.errors import SettingsError

RATE_HZ = 16000


def tick_times(click: Click, seconds: float) -> np.ndarray:
    """Return when ticks begin, in seconds."""
    sounds = np.abs(click_samples(click, 0, round(seconds * RATE_HZ), RATE_HZ)) > 1e-4
    edges = np.flatnonzero(sounds & ~np.convolve(sounds, np.ones(200), "full")[: sounds.size].astype(bool).take(
        np.maximum(np.arange(sounds.size) - 1, 0)
    ))  # fmt: skip
    return edges / RATE_HZ


def test_one_bar_of_four_at_120_then_silence() -> None:
    """120 quarter notes a minute are half a second apart."""
    click = Click(tick_s=0.5, ticks_a_bar=4, count_in_bars=1)
    assert tick_times(click, 5.0) == pytest.approx([LEAD_IN_S + 0.5 * k for k in range(4)], abs=0.002)
    assert click.downbeat_s == pytest.approx(LEAD_IN_S + 2.0)


def test_a_click_through_the_take_goes_on() -> None:
    click = Click(tick_s=0.5, ticks_a_bar=4, count_in_bars=1, through=True)
    assert len(tick_times(click, LEAD_IN_S + 10.0 - 0.01)) == 20


def test_the_first_of_a_bar_is_higher() -> None:
    click = Click(tick_s=0.5, ticks_a_bar=3, count_in_bars=2)
    sound = click_samples(click, 0, 4 * RATE_HZ, RATE_HZ)

    def pitch_hz(k: int) -> float:
        first = round((LEAD_IN_S + 0.5 * k) * RATE_HZ)
        spectrum = np.abs(np.fft.rfft(sound[first : first + 480], 16000))
        return float(spectrum.argmax())

    assert [pitch_hz(k) for k in range(6)] == pytest.approx([1760, 1320, 1320, 1760, 1320, 1320], abs=10)


def test_it_stays_soft() -> None:
    assert np.abs(click_samples(Click(0.5, 4, 2), 0, 5 * RATE_HZ, RATE_HZ)).max() <= LEVEL <= 0.1


@given(cuts=st.lists(st.integers(1, 3000), min_size=1, max_size=20))
def test_any_cut_into_blocks_gives_the_same_sound(cuts: list[int]) -> None:
    click = Click(tick_s=0.31, ticks_a_bar=4, count_in_bars=1, through=True)
    starts = np.concatenate([[0], np.cumsum(cuts)])
    parts = [click_samples(click, int(first), n, RATE_HZ) for first, n in zip(starts[:-1], cuts, strict=True)]
    assert np.allclose(np.concatenate(parts), click_samples(click, 0, sum(cuts), RATE_HZ))


@pytest.mark.parametrize(("tick_s", "bars"), [(0.5, -1), (0.5, 100), (0.0, 1), (60.0, 1)])
def test_a_count_in_nobody_could_play(tick_s: float, bars: int) -> None:
    with pytest.raises(SettingsError):
        Click(tick_s, 4, bars)
