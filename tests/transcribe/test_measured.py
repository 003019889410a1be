"""What is measured ahead is what is asked for later, and clicks are counted from the first sample."""

import numpy as np
import pytest

from tests.signals import RATE_HZ, placed, plucked, recording, steady
from transcribe.audio.recording import Recording
from transcribe.evidence.features import onset_map
from transcribe.measured import clicks_in, measure_ahead
from transcribe.notes.attack import envelope
from transcribe.notes.echoes import delay_s
from transcribe.settings import Settings

BEEP = 0.5 * np.sin(2 * np.pi * 1500 * np.arange(round(0.03 * RATE_HZ)) / RATE_HZ) * np.hanning(round(0.03 * RATE_HZ))


def counted_in(start_s=0.0):
    beeps = [(0.3 + 0.5 * beat, BEEP) for beat in range(4)]
    sound = placed(*beeps, (2.3, plucked(steady(220.0, 1.5))), seconds=4.0)
    return Recording(np.asarray(sound, dtype=np.float32), RATE_HZ, start_s)


def test_a_count_in_is_heard_wherever_the_passage_begins_in_the_file():
    for start_s in (0.0, 7.0):
        clicks = clicks_in(counted_in(start_s))
        assert clicks is not None
        assert clicks.counted == 4
        assert clicks.click_s == pytest.approx(0.5, abs=0.01)
        assert clicks.times_s[0] == pytest.approx(0.3, abs=0.02)


def test_no_clicks_in_a_single_pluck():
    assert clicks_in(recording(plucked(steady(220.0, 2.0)))) is None


def test_what_was_measured_ahead_is_not_measured_again(monkeypatch):
    take, settings = counted_in(), Settings()
    measure_ahead(take, settings)

    def again(*_args, **_named):
        raise AssertionError("measured again")

    for inside in ("attack._levels", "echoes._flat_autocorrelation"):
        monkeypatch.setattr(f"transcribe.notes.{inside}", again)
    monkeypatch.setattr("transcribe.evidence.features.rise_over_neighbours", again)
    monkeypatch.setattr("transcribe.measured.heard_clicks", again)
    assert envelope(take).all_db.size > 0
    assert onset_map(take, settings.evidence, hop_s=settings.evidence.hop_s).max() > 0.5
    assert clicks_in(take).click_s == pytest.approx(0.5, abs=0.01)
    assert delay_s(take, settings.notes) is None
    with pytest.raises(AssertionError):
        envelope(counted_in())
