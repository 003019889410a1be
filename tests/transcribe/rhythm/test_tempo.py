import pytest

from tests.rhythm_music import played
from transcribe.rhythm.onsets import moments
from transcribe.rhythm.rhythm import Meter
from transcribe.rhythm.tempo import refined_tempo, tempo_readings
from transcribe.settings import RhythmSettings

SETTINGS = RhythmSettings()
FOUR = Meter(4, 4)


@pytest.mark.parametrize("bpm", [66, 84, 100, 118, 132])
@pytest.mark.parametrize(
    "written",
    [
        "1 1/2 1/2 3/2 1/2 1/2 1/2 1/4 1/4 1/2 2",
        "1/3 1/3 1/3 1/3 1/3 1/3 1/2 1/2 1 1/3 1/3 1/3 1 2",
        "1/2 1/2 1/2 1/2 1 1 1/2 1/2 1/2 1/2 2",
    ],
)
def test_the_best_tempo_is_the_one_played(written, bpm):
    line = played(written, bpm, jitter_s=0.015, seed=bpm)
    best = tempo_readings(moments(line.notes, SETTINGS), SETTINGS, meter=FOUR)[0]
    assert abs(best.tempo_bpm / bpm - 1) < 0.02


def test_four_notes_are_enough_and_a_near_tie_is_kept():
    line = played("1 1 1/2 1/2", 96)
    readings = tempo_readings(moments(line.notes, SETTINGS), SETTINGS, meter=FOUR)
    assert abs(readings[0].tempo_bpm - 96) < 1
    assert any(abs(reading.tempo_bpm / 192 - 1) < 0.02 for reading in readings)
    assert [reading.cost for reading in readings] == sorted(reading.cost for reading in readings)


def test_two_notes_tell_no_tempo():
    assert tempo_readings(moments(played("1 1", 96).notes, SETTINGS), SETTINGS, meter=FOUR) == ()


def test_six_eight_is_counted_in_dotted_quarters():
    line = played("1/2 1/2 1/2 1 1/2 " * 4, 132, jitter_s=0.01)
    best = tempo_readings(moments(line.notes, SETTINGS), SETTINGS, meter=Meter(6, 8))[0]
    assert abs(best.tempo_bpm / 132 - 1) < 0.02


def test_a_tempo_is_corrected_by_where_the_notes_fell():
    line = played("1 1 1 1 1 1 1 1", 97.3)
    assert abs(refined_tempo(moments(line.notes, SETTINGS), line.places, 98.0) - 97.3) < 0.01
