"""What surrounds a beginning: the body that answers every attack, delays, glides, difference tones."""

import numpy as np
import pytest

from transcribe.evidence.voice_maps import VoiceMaps, stored
from transcribe.notes.begins_context import INTERVALS, context_features, difference_pairs, log_odds

LOWEST, PITCHES = 36, 56
FIRST_OTHER = 16  # features of the pitch's own maps come first
MIDI, REPEATS, ALONE, ANSWERS = -1, -2, -3, -4


def maps_with(*notes, frames=400):
    """Each note: (first frame, last frame, MIDI pitch); struck surely at its first frame."""
    picked, contour = np.zeros((frames, PITCHES)), np.zeros((frames, 3 * PITCHES))
    for first, last, midi in notes:
        picked[first, midi - LOWEST] = 0.9
        contour[first : last + 1, 3 * (midi - LOWEST) + 1] = 0.9
    zero, string = np.zeros((frames, PITCHES), np.uint8), np.zeros((frames, PITCHES, 6), np.uint8)
    offset, level = np.zeros(contour.shape, np.int8), np.full(frames, -20, np.float32)
    return VoiceMaps(
        0.0, 0.0116, LOWEST, 3, stored(contour), offset, stored(picked), zero, stored(contour[:, 1::3]), string, zero,
        zero, level,
    )  # fmt: skip


def features(maps, frame, midi, *, lag_s=None):
    return context_features(maps, np.array([frame]), np.array([midi - LOWEST]), lag_s=lag_s)[0]


def test_a_body_answers_every_attack_and_is_never_alone():
    melody = [(20 + 40 * k, 50 + 40 * k, 60 + k) for k in range(8)]
    body = [(first, first + 5, 43) for first, _, _ in melody]
    maps = maps_with(*melody, *body)
    assert features(maps, 100, 43)[ANSWERS] > 0.75
    assert features(maps, 100, 62)[ANSWERS] < 0.1
    assert features(maps, 100, 43)[ALONE] == 0
    assert features(maps_with((20, 50, 43), (60, 90, 43), (100, 130, 43)), 100, 43)[ALONE] == pytest.approx(0.5)


def test_a_repeat_one_delay_later_is_known():
    maps = maps_with((50, 80, 60), (100, 130, 60))
    assert features(maps, 100, 60, lag_s=50 * 0.0116)[REPEATS] == pytest.approx(0.9, abs=0.01)
    assert features(maps, 100, 60, lag_s=30 * 0.0116)[REPEATS] == 0
    assert features(maps, 100, 60)[REPEATS] == 0


def test_what_sounded_before_and_after_stands_in_its_own_columns():
    ringing = features(maps_with((50, 200, 60), (100, 200, 60)), 100, 60)
    fresh = features(maps_with((100, 200, 60)), 100, 60)
    before, after = 1, 2
    assert ringing[before] > 0.8
    assert fresh[before] == 0
    assert ringing[after] == fresh[after] > 0.8


def test_a_pitch_an_octave_below_is_seen():
    plain, under = (
        features(maps_with((100, 200, 60)), 100, 60),
        features(maps_with((100, 200, 60), (100, 200, 48)), 100, 60),
    )
    changed = np.flatnonzero(plain != under)
    assert changed.size
    place = FIRST_OTHER + sum(2 if abs(i) in (2, 5, 7) else 3 for i in INTERVALS[: INTERVALS.index(-12)])
    assert set(range(place, place + 2)) <= set(changed.tolist())
    assert plain[MIDI] == under[MIDI] == 0


def test_difference_tones_of_a_fifth_lie_an_octave_below_its_lower_note():
    low, high = (rows + LOWEST for rows in difference_pairs(60 - LOWEST, LOWEST, PITCHES))
    pairs = set(zip(low.tolist(), high.tolist(), strict=True))
    assert (72, 79) in pairs, "784 - 523 Hz is 261 Hz"
    assert (69, 76) not in pairs
    assert all(abs(row - 60) > 1 for pair in pairs for row in pair), "a note is not explained by itself"


def test_a_tone_between_two_struck_strings_is_known():
    struck = maps_with((100, 200, 72), (100, 200, 79))
    plain = maps_with((100, 200, 72), (100, 200, 81))
    assert (features(struck, 100, 60) - features(plain, 100, 60)).max() > 0.8


def test_log_odds_stay_finite():
    assert np.isfinite(log_odds(np.array([0.0, 0.5, 1.0]))).all()
    assert log_odds(np.array([0.5]))[0] == pytest.approx(0.0, abs=0.02)
