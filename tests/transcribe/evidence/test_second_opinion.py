"""Probabilistic YIN (librosa) beside our own reading of the same glide."""

import numpy as np

from tests.signals import glide, hz, plucked, recording
from transcribe.evidence.refine import refine_pitch
from transcribe.evidence.second_opinion import pyin_contour
from transcribe.settings import EvidenceSettings


def test_both_read_the_same_glide_and_ours_is_nearer():
    pitch = glide(hz(52), hz(55), 1.2)
    sound = recording(plucked(pitch))
    late = type(sound)(sound.samples, sound.rate_hz, start_s=1.0)
    theirs = pyin_contour(late)
    inside = (theirs.times_s > 1.1) & (theirs.times_s < 2.1)
    times = theirs.times_s[inside]
    true = 52 + 3 * (times - 1.0) / 1.2
    ours = refine_pitch(late, times, np.round(true * 5) / 5, EvidenceSettings())
    assert np.nanmedian(np.abs(theirs.midi[inside] - ours)) * 100 < 15
    assert np.nanmean(np.abs(ours - true)) < 0.2 * np.nanmean(np.abs(theirs.midi[inside] - true))
    assert theirs.voiced[inside].min() > 0.5
