"""The material of the benchmark of gestures: harmonics and mutes whose sound and truth belong together."""

from dataclasses import replace

import numpy as np

from tests.benchmark_gestures import measured
from tests.harmonic_material import BELLS, PARTIAL, RISES, harmonic_takes
from tests.muted_material import RIFFS, muted_takes
from transcribe.notes.hear import Heard
from transcribe.training.harmonic_zones import touched

RATE_HZ = 22050


def _level_db(sound: np.ndarray, pitch_hz: float) -> float:
    t = np.arange(sound.size) / RATE_HZ
    return float(20 * np.log10(np.abs(np.mean(sound * np.hanning(sound.size) * np.exp(-2j * np.pi * pitch_hz * t)))))


def test_a_touched_string_keeps_every_nth_partial_and_no_other():
    t = np.arange(RATE_HZ) / RATE_HZ
    opened = sum(np.sin(2 * np.pi * 110 * n * t) for n in range(1, 13))
    bell = touched(opened, 110.0, 3, RATE_HZ)[RATE_HZ // 10 : -RATE_HZ // 10]
    for n in range(1, 13):
        change_db = _level_db(bell, 110.0 * n) - _level_db(opened[RATE_HZ // 10 : -RATE_HZ // 10], 110.0 * n)
        assert abs(change_db) < 0.5 if n % 3 == 0 else change_db < -40, n


def test_nodes_and_pitches_follow_the_overtone_series():
    for fret, partial in PARTIAL.items():
        assert RISES[fret] == round(12 * np.log2(partial))
        assert abs(12 * np.log2(partial / (partial - 1)) - fret) < 0.2  # the node nearest to the nut


def test_harmonics_sound_as_the_truth_says():
    take = next(harmonic_takes("choosing", None, conditions=("clean",)))
    bells = [each.note for each in take.reference.notes if each.note.harmonic == "natural"]
    assert len(bells) == sum(is_touched for _, _, is_touched in BELLS["choosing"])
    for note in bells:
        first = round((note.onset_s + 0.1) * RATE_HZ)
        part = take.recording.samples[first : first + round(0.25 * RATE_HZ)].astype(float)
        sounding = 440 * 2 ** ((note.midi - 69) / 12)
        assert _level_db(part, sounding) > _level_db(part, sounding * 2**-0.25) + 15, note.midi


def test_choosing_and_judging_share_no_riff():
    assert RIFFS["choosing"].split()[:6] != RIFFS["judging"].split()[:6]
    assert BELLS["choosing"][:4] != BELLS["judging"][:4]


def test_a_riff_told_back_without_its_mutes_scores_no_mutes():
    take = next(muted_takes("judging", None, conditions=("clean",)))
    played = tuple(each.note for each in take.reference.notes)
    perfect = measured(take, Heard(played, 0.0, ()))
    assert (perfect.scores.palm_mutes.f, perfect.scores.dead_notes.f, perfect.scores.notes.f) == (1.0, 1.0, 1.0)
    missing = measured(take, Heard(take.notes, 0.0, ()))
    assert (missing.scores.palm_mutes.f, missing.scores.dead_notes.f) == (1.0, 0.0)


def test_a_perfect_answer_scores_every_harmonic_and_a_plain_one_none():
    take = next(harmonic_takes("judging", None, conditions=("clean",)))
    assert measured(take, Heard(take.notes, 0.0, ())).harmonics.f == 1.0
    plain = tuple(replace(note, harmonic="none") for note in take.notes)
    assert measured(take, Heard(plain, 0.0, ())).harmonics.f == 0.0
