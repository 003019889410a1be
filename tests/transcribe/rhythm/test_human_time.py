"""Lines as people play them: unsteady by 15 ms, faster and slower by 4 %, slowing at the end, lightly swung."""

import math
from collections import Counter

import pytest

from tests.rhythm_music import played
from transcribe.rhythm import Meter, fit_rhythm, quantize, rhythm_doubts
from transcribe.rhythm.quantize import place_of

JITTER_S = 0.015
SAME_TEMPO = 0.04
FOUR_FOUR = Meter(4, 4)
LINE = "1 1/2 1/2 1/2 1/2 1 1/2 1/2 1 1 1/2 1/2 3/2 1/2 1 1 1/2 1/2 1/2 1/2 2"
RUN = "1 1/2 1/2 1/2 1/2 1/2 1/2 1/2 1/2 1/2 1/2 1 1 1/2 1/2 1/2 1/2 1/2 1/2 1/2 1/2 2"
SIXTEENTHS = "1 1/2 1/4 1/4 1/2 1/2 1 1/4 1/4 1/4 1/4 1/2 1/2 1 1 3/4 1/4 1 1/2 1/2 2"


def share_right(lines, told, **given):
    """Share of notes on the written place, all of a line moved by one whole number of beats."""
    right = count = 0
    for bpm, line in lines:
        rhythm = fit_rhythm(line.notes, tempo_bpm=bpm if told else None, **given)
        timings = quantize(line.notes, rhythm)
        moved = Counter(
            place_of(timings[note.id], rhythm) - place for note, place in zip(line.notes, line.places, strict=True)
        )
        right += max((hits for shift, hits in moved.items() if shift % 1 == 0), default=0)
        count += len(line.notes)
    return right / count


def drifting(bpm, share, period):
    """A clock whose tempo goes up and down by ``share`` in ``period`` quarters."""
    swing = share * period / (2 * math.pi)
    return lambda quarters: (quarters + swing * math.sin(2 * math.pi * quarters / period)) * 60 / bpm


def slowing(bpm, total, last, slowest):
    """A clock that slows evenly to ``slowest`` of its tempo over the ``last`` quarters."""

    def time_s(quarters):
        late = max(0.0, quarters - (total - last))
        return (quarters + (1 / slowest - 1) / last * late * late / 2) * 60 / bpm

    return time_s


def swinging(bpm, share):
    """A clock whose second eighths come at ``share`` of the beat."""

    def time_s(quarters):
        beat, inside = divmod(quarters, 1)
        return (beat + (2 * share * inside if inside < 0.5 else share + (2 * inside - 1) * (1 - share))) * 60 / bpm

    return time_s


def drifts(line):
    """A line played twice over at three tempos, each drifting in its own time."""
    return [
        (bpm, played(f"{line} {line}", bpm, jitter_s=JITTER_S, seed=seed, clock=drifting(bpm, 0.04, period)))
        for seed, (bpm, period) in enumerate([(80, 16), (100, 24), (120, 32)])
    ]


def test_a_tempo_that_drifts_by_four_per_cent_is_followed():
    assert share_right([*drifts(LINE), *drifts(SIXTEENTHS)], told=True) >= 0.97
    assert share_right(drifts(LINE), told=False) >= 0.97


def test_where_a_drifting_tempo_is_read_twice_as_fast_a_doubt_names_the_other():
    for bpm, line in drifts(SIXTEENTHS):
        rhythm = fit_rhythm(line.notes)
        if abs(rhythm.tempo_bpm / bpm - 1) > SAME_TEMPO:
            named = [doubt.why for doubt in rhythm_doubts(line.notes, rhythm) if "could be half" in doubt.why]
            assert named, bpm
            assert abs(float(named[0].split(": ")[1].split()[0]) / bpm - 1) < SAME_TEMPO


@pytest.mark.parametrize(("slowest", "last"), [(0.85, 4), (0.75, 4), (0.75, 2)])
def test_a_rubato_end_is_written_in_the_values_it_was_played_from(slowest, last):
    lines = [
        (bpm, played(line, bpm, jitter_s=JITTER_S, seed=seed, clock=slowing(bpm, total, last, slowest)))
        for line, total in ((LINE, 14), (RUN, 14))
        for seed, bpm in enumerate((80, 100, 120))
    ]
    assert share_right(lines, told=True, meter=FOUR_FOUR) >= 0.97


@pytest.mark.parametrize("share", [0.5, 0.54, 0.56, 0.58, 0.6, 0.62, 0.66])
def test_swung_eighths_are_written_as_eighths_however_lightly_they_swing(share):
    lines = [
        (bpm, played(line, bpm, jitter_s=0.012, seed=seed, clock=swinging(bpm, share)))
        for line in (LINE, RUN)
        for seed, bpm in enumerate((90, 120, 150))
    ]
    assert share_right(lines, told=True) >= 0.97


def test_a_swing_of_62_per_cent_is_a_swing_and_one_of_54_is_not():
    def feel(share):
        return fit_rhythm(played(RUN, 110, jitter_s=0.01, clock=swinging(110, share)).notes, tempo_bpm=110).feel

    assert (feel(0.62), feel(0.54)) == ("swing", "straight")
