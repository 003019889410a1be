"""Takes that are no guitar, or hardly takes: a doubt or two plain lines, never a crash."""

import wave

import numpy as np
import pytest

from tests.measures import strange_takes
from tests.signals import hz, in_noise, placed, plucked, steady
from transcribe.document.model import TakeDocument
from transcribe.errors import TakesheetError
from transcribe.notes.strange_take import UNLIKE
from transcribe.pipeline import draft_take

RATE_HZ = strange_takes.RATE_HZ


def written(path, sound, *, channels=1):
    with wave.open(str(path), "wb") as file:
        file.setnchannels(channels)
        file.setsampwidth(2)
        file.setframerate(RATE_HZ)
        file.writeframes(np.round(np.clip(sound, -1, 1) * 32767).astype("<i2").tobytes())
    return path


def drafted(path):
    """The document, or the error told in two lines."""
    try:
        return draft_take(path)
    except TakesheetError as error:
        told = error
    assert told.found.strip()
    assert told.mend.strip()
    assert "\n" not in told.found + told.mend
    return told


def guitar(seconds=2.0):
    return placed((0.2, plucked(steady(hz(57), 0.8))), (1.0, plucked(steady(hz(60), 0.8), level=0.4)), seconds=seconds)


NOISE = np.random.default_rng(0)
ODD = {
    "silence": np.zeros(2 * RATE_HZ),
    "nearly silence": 1e-5 * NOISE.standard_normal(2 * RATE_HZ),
    "standing off centre": np.full(2 * RATE_HZ, 0.4),
    "one sample": np.array([0.5]),
    "very short": 0.3 * np.sin(np.arange(400) / 10.0),
    "clicks": np.where(np.arange(3 * RATE_HZ) % 7000 == 0, 0.9, 0.0),
    "clipped": np.clip(20 * guitar(), -1, 1),
    "a hum": 0.3 * np.sin(2 * np.pi * 50 * np.arange(3 * RATE_HZ) / RATE_HZ),
    "a whistle": 0.3 * np.sin(2 * np.pi * 3000 * np.arange(3 * RATE_HZ) / RATE_HZ),
}


@pytest.mark.parametrize("name", list(ODD))
def test_odd_sounds_never_crash(tmp_path, name):
    told = drafted(written(tmp_path / "odd.wav", ODD[name]))
    assert isinstance(told, (TakeDocument, TakesheetError))


@pytest.mark.parametrize("name", ["silence", "nearly silence", "standing off centre"])
def test_nothing_to_hear_is_said_in_two_lines(tmp_path, name):
    told = drafted(written(tmp_path / "odd.wav", ODD[name]))
    assert isinstance(told, TakesheetError)
    assert "nothing to hear" in told.found


def test_channels_that_cancel_each_other_are_heard_all_the_same(tmp_path):
    left = guitar()
    both = np.stack([left, -left], axis=1).reshape(-1)
    document = drafted(written(tmp_path / "odd.wav", both, channels=2))
    assert [take.note.midi for take in document.notes] == [57, 60]


def test_a_guitar_in_noise_is_still_a_guitar(tmp_path):
    document = drafted(written(tmp_path / "odd.wav", 0.5 * in_noise(guitar(), 30.0)))
    assert not any(UNLIKE in doubt.why for doubt in document.doubts)


@pytest.mark.parametrize("kind", ["babble", "band", "noise", "struck_strings"])
@pytest.mark.parametrize("seed", [4, 5])
def test_what_is_no_guitar_is_doubted_or_refused(tmp_path, kind, seed):
    """Talk-like sound, a band with drums, noise, and two hands on piano-like strings."""
    sound = getattr(strange_takes, kind)(np.random.default_rng(seed), seconds=6.0)
    told = drafted(written(tmp_path / "strange.wav", sound))
    refused = isinstance(told, TakesheetError)
    assert refused or any(UNLIKE in doubt.why for doubt in told.doubts)
