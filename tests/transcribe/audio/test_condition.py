"""What is refused, what is remarked on, and that a good take comes through untouched."""

from __future__ import annotations

import numpy as np
import pytest

from tests.signals import hz, plucked, recording, steady
from transcribe.audio.condition import condition
from transcribe.audio.recording import Recording
from transcribe.errors import TakeError


def take(level: float = 0.5, seconds: float = 2.0) -> np.ndarray:
    return plucked(steady(hz(57), seconds), level=level)


def test_a_good_take_comes_through_untouched() -> None:
    sound = recording(take() - take().mean())
    done = condition(sound)
    assert np.abs(done.recording.samples - sound.samples).max() < 1e-6
    assert done.remarks == ()
    assert done.gain_db == 0.0
    assert done.peak_dbfs == pytest.approx(-6.0, abs=0.1)


def test_the_place_in_the_file_and_its_remarks_are_kept() -> None:
    sound = Recording(take().astype(np.float32), 22050, 12.5, ("The file ends early.",))
    done = condition(sound)
    assert (done.recording.start_s, done.recording.rate_hz) == (12.5, 22050)
    assert done.remarks[0] == "The file ends early."


@pytest.mark.parametrize("level", [0.0, 0.0005])
def test_silence_is_refused(level: float) -> None:
    hiss = level * np.random.default_rng(0).uniform(-1, 1, 22050)
    with pytest.raises(TakeError, match="nothing to hear") as error:
        condition(recording(hiss))
    assert "input" in error.value.mend


def test_silence_with_an_offset_is_still_silence() -> None:
    with pytest.raises(TakeError, match="nothing to hear"):
        condition(recording(np.full(22050, 0.3)))


def test_an_offset_is_taken_out_and_told() -> None:
    done = condition(recording(take() + 0.1))
    assert abs(done.recording.samples.mean()) < 1e-6
    assert "off centre by 10.0 %" in done.remarks[0]


def test_a_quiet_take_is_raised_and_told() -> None:
    done = condition(recording(take(level=0.01)))
    assert np.abs(done.recording.samples).max() == pytest.approx(0.5, abs=0.01)
    assert done.gain_db == pytest.approx(34.0, abs=0.1)
    assert "very quiet (peak 40 dB below full scale)" in done.remarks[0]


def test_hard_clipping_is_refused_and_the_way_round_it_named() -> None:
    sawn = np.clip(take(level=6.0), -1, 1)
    with pytest.raises(TakeError, match="badly clipped") as error:
        condition(recording(sawn))
    assert "--accept-clipping" in error.value.mend


def test_hard_clipping_can_be_accepted() -> None:
    done = condition(recording(np.clip(take(level=6.0), -1, 1)), accept_clipping=True)
    assert done.clipped_share > 0.05
    assert "badly clipped" in done.remarks[0]


def test_mild_clipping_is_a_remark() -> None:
    done = condition(recording(np.clip(take(level=1.6), -1, 1)))
    assert 0 < done.clipped_share < 0.05
    assert "loudest moments are clipped" in done.remarks[0]


@pytest.mark.parametrize("gain", [3, 8, 20, 40])
def test_a_driven_guitar_is_not_clipped(gain: float) -> None:
    driven = np.tanh(gain * take(level=1.0))
    done = condition(recording(driven / np.abs(driven).max()))  # at full scale, and not refused
    assert done.recording.samples.size == driven.size
    assert gain > 20 or not any("clipped" in remark for remark in done.remarks)


def test_a_take_sawn_off_and_turned_down_is_a_remark() -> None:
    done = condition(recording(0.4 * np.clip(take(level=3.0), -1, 1)))
    assert "below full scale" in done.remarks[0]


def test_samples_past_full_scale_are_a_remark() -> None:
    done = condition(recording(take(level=1.5)))
    assert "past full scale" in done.remarks[0]


def test_hum_is_taken_out_and_told() -> None:
    t = np.arange(4 * 22050) / 22050
    sound = np.concatenate([np.zeros(22050), take(), np.zeros(22050)]) + 0.01 * np.sin(2 * np.pi * 60 * t)
    done = condition(recording(sound))
    assert "Mains hum at 60 Hz" in done.remarks[0]
    assert np.abs(done.recording.samples[4000:18000]).max() < 0.002


def test_what_is_given_is_not_changed() -> None:
    sound = recording(take() + 0.1)
    before = sound.samples.copy()
    condition(sound)
    assert np.array_equal(sound.samples, before)
