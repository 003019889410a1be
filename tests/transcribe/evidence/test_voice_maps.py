"""Maps of several voices: bytes and shares, and stretches cut out of a take."""

import numpy as np
import pytest

from transcribe.errors import EvidenceError
from transcribe.evidence.voice_maps import VoiceMaps, section, shares, stored


def maps(frames=40, pitches=4):
    zero = np.zeros((frames, pitches), np.uint8)
    contour = np.repeat(np.arange(frames, dtype=np.uint8)[:, None], 3 * pitches, axis=1)
    string = np.zeros((frames, pitches, 6), np.uint8)
    level = np.arange(frames, dtype=np.float32)
    return VoiceMaps(2.0, 0.01, 36, 3, contour, contour.astype(np.int8), zero, zero, zero, string, zero, zero, level)


def test_a_share_survives_its_byte():
    share = np.linspace(0, 1, 100, dtype=np.float32)
    assert np.abs(shares(stored(share)) - share).max() <= 1 / 510 + 1e-6


def test_a_section_keeps_its_place_in_time():
    part = section(maps(), 10, 15)
    assert part.n_frames == 5
    assert part.start_s == pytest.approx(2.1)
    assert part.contour[:, 0].tolist() == [10, 11, 12, 13, 14]
    assert part.level_db[0] == 10
    assert section(maps(), 38, 99).n_frames == 2, "past the end there is nothing"


def test_the_middle_bin_lies_on_the_note():
    assert maps().bin_midi[1] == 36
    assert maps().bin_midi[2] == pytest.approx(36 + 1 / 3)


def test_maps_that_do_not_fit_are_refused():
    with pytest.raises(EvidenceError):
        VoiceMaps(
            **{**{n: getattr(maps(), n) for n in VoiceMaps.__dataclass_fields__}, "palm": np.zeros((3, 4), np.uint8)}
        )
