"""The learned judge of readings."""

import numpy as np
import pytest

from tests.rhythm_music import played
from transcribe.rhythm.features import METERS
from transcribe.rhythm.judge import ROW, SHORTLIST, centred, judged, networks, sheet_of
from transcribe.rhythm.onsets import moments
from transcribe.rhythm.readings import Told, likeliest, read_bars
from transcribe.rhythm.rhythm import Meter
from transcribe.rhythm.standing import NOTE_ROW
from transcribe.settings import RhythmSettings

SETTINGS = RhythmSettings()
# A tune of our own: two phrases of four bars in three, each with a pickup of a quarter, long notes on downbeats.
TUNE = "1 2 1 2 1 1 1 1 2 1 2 1 2 1 1 1 1 2"
PITCHES = (62, 67, 67, 71, 71, 69, 67, 66, 69, 62, 66, 66, 69, 69, 67, 66, 64, 67)


def heard(written=TUNE, midis=PITCHES, bpm=100):
    return moments(played(written, bpm, jitter_s=0.01, midis=midis).notes, SETTINGS)


def test_the_shipped_networks_fit_what_they_are_shown():
    assert networks()
    for network in networks():
        assert network.first.shape[0] == NOTE_ROW
        assert network.facts.shape == (ROW, len(METERS))


def test_the_order_of_the_shortlist_does_not_matter():
    line = heard()
    found = likeliest(line, SETTINGS, Told(tempo_bpm=100.0))[:SHORTLIST]
    sheets = [sheet_of(line, one.ticks, one.meter, facts, one.followed.guess.quarter_s) for one, facts in found]
    meters = [one.meter for one, _ in found]
    forward, back = judged(line, sheets, meters), judged(line, sheets[::-1], meters[::-1])
    assert forward == pytest.approx(back[::-1], abs=1e-3)


def test_facts_are_told_as_they_differ_within_the_line():
    line = heard()
    found = likeliest(line, SETTINGS, Told(tempo_bpm=100.0))[:5]
    sheets = [sheet_of(line, one.ticks, one.meter, facts, one.followed.guess.quarter_s) for one, facts in found]
    assert np.abs(centred(sheets).mean(axis=0)).max() < 1e-3


def test_a_metre_the_judge_never_saw_is_read_without_it():
    line = heard("1 1 1 1 1 1 1 1 1 1", (60, 64, 67, 64, 62))
    assert read_bars(line, SETTINGS, Told(tempo_bpm=100.0, meter=Meter(5, 4)))[0].meter == Meter(5, 4)


def test_phrases_that_begin_before_long_notes_have_a_pickup():
    best = read_bars(heard(), SETTINGS, Told(tempo_bpm=100.0, meter=Meter(3, 4)))[0]
    assert best.ticks[0] % 72 == 48
