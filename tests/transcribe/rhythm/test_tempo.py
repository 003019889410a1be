import pytest

from tests.rhythm_music import played
from transcribe.rhythm import fit_rhythm
from transcribe.rhythm.onsets import moments
from transcribe.rhythm.tempo import DOTTED_QUARTERS, refined_tempo, tempo_candidates
from transcribe.settings import RhythmSettings

SETTINGS = RhythmSettings()


@pytest.mark.parametrize("bpm", [66, 84, 100, 118, 132])
@pytest.mark.parametrize(
    "written",
    [
        "1 1/2 1/2 3/2 1/2 1/2 1/2 1/4 1/4 1/2 2",
        "1/3 1/3 1/3 1/3 1/3 1/3 1/2 1/2 1 1/3 1/3 1/3 1 2",
        "1/2 1/2 1/2 1/2 1 1 1/2 1/2 1/2 1/2 2",
    ],
)
def test_the_tempo_played_is_among_those_worth_trying(written, bpm):
    line = played(written, bpm, jitter_s=0.015, seed=bpm)
    tried = tempo_candidates(moments(line.notes, SETTINGS), SETTINGS)
    assert min(abs(each / bpm - 1) for each in tried) < 0.04
    assert all(SETTINGS.slowest_bpm <= each <= DOTTED_QUARTERS * SETTINGS.fastest_bpm for each in tried)


def test_a_tempo_is_corrected_by_where_the_notes_fell():
    line = played("1 1 1 1 1 1 1 1", 97.3)
    assert abs(refined_tempo(moments(line.notes, SETTINGS), line.places, 98.0) - 97.3) < 0.01


def test_a_fast_jig_has_its_tempo_though_its_quarters_go_faster_than_any_beat():
    jig = played("1/2 1/2 1/2 1 1/2 1/2 1/2 1/2 1 1/2 1/2 1/2 1/2 1 1/2 3/2 3/2 " * 2, 231, jitter_s=0.01)
    rhythm = fit_rhythm(jig.notes)
    assert (str(rhythm.meter), round(rhythm.tempo_bpm / 231, 2)) == ("6/8", 1.0)
