from dataclasses import replace

from tests.rhythm_music import played
from transcribe.rhythm.beats import fit_rhythm
from transcribe.rhythm.doubts import rhythm_doubts
from transcribe.rhythm.rhythm import Meter, Rhythm, RhythmReading
from transcribe.settings import RhythmSettings


def doubts(notes, **given):
    return rhythm_doubts(notes, fit_rhythm(notes, **given))


def test_a_steady_lick_is_not_doubted():
    assert doubts(played("1 1/2 1/2 2 1/2 1/2 1/2 1/2 2", 100).notes, tempo_bpm=100) == ()


def test_a_likely_half_tempo_is_named():
    reading = RhythmReading(72.0, Meter(4, 4), 1.0, likely=0.3)
    rhythm = Rhythm(144.0, Meter(4, 4), 1.0, readings=(RhythmReading(144.0, Meter(4, 4), 1.0, likely=0.7), reading))
    found = [doubt.why for doubt in rhythm_doubts(played("1/2 " * 12, 144).notes, rhythm)]
    assert found == ["the tempo could be half: 72 bpm in 4/4 fits nearly as well"]


def test_a_tempo_is_named_once():
    found = [doubt.why.split(":")[0] for doubt in doubts(played("1/2 " * 12, 144, jitter_s=0.02).notes)]
    assert len(found) == len(set(found))


def test_a_count_too_fast_for_most_feet_is_doubted_unless_it_was_given():
    notes = played("1 " * 8, 196).notes
    fast = Rhythm(196.0, Meter(4, 4), 1.0, readings=(RhythmReading(196.0, Meter(4, 4), 1.0, likely=1.0),))
    (doubt,) = rhythm_doubts(notes, fast)
    assert doubt.why == "196 beats a minute are a fast count: it could be 98 with every value written half as long"
    assert rhythm_doubts(notes, replace(fast, tempo_source="given")) == ()
    assert rhythm_doubts(played("1 " * 8, 160).notes, replace(fast, tempo_bpm=160.0, readings=())) == ()
    dotted = Rhythm(196.0, Meter(6, 8), 1.0)  # quarters: 131 dotted beats a minute
    assert not any("fast count" in doubt.why for doubt in rhythm_doubts(notes, dotted))
    faster = [doubt.why for doubt in rhythm_doubts(notes, replace(dotted, tempo_bpm=270.0)) if "fast" in doubt.why]
    assert faster == ["180 beats a minute are a fast count: it could be 90 with every value written half as long"]


def test_a_given_tempo_is_not_doubted():
    found = doubts(played("1 " * 8, 74).notes, tempo_bpm=74)
    assert not any("bpm" in doubt.why for doubt in found)


def test_two_notes_tell_no_tempo_and_the_doubt_says_what_to_do():
    (doubt,) = doubts(played("1 1", 74).notes)
    assert doubt.note is None
    assert "give the tempo" in doubt.why


def test_a_note_far_from_its_place_is_named():
    line = played("1 1/2 1/2 1 1 1 1 2", 60)
    late = tuple(replace(note, onset_s=note.onset_s + 0.1) if note.id == "n5" else note for note in line.notes)
    found = [doubt for doubt in doubts(late, tempo_bpm=60) if doubt.note == "n5"]
    assert found
    assert "ms after" in found[0].why


def test_bar_lines_that_were_given_are_not_doubted():
    notes = played("1/2 " * 12, 100).notes
    wary = RhythmSettings(doubt_share=0.02)
    told = {"tempo_bpm": 100, "meter": Meter(4, 4)}
    open_lines = rhythm_doubts(notes, fit_rhythm(notes, **told), wary)
    assert any("bar 1 could begin" in doubt.why for doubt in open_lines)
    given = rhythm_doubts(notes, fit_rhythm(notes, **told, first_downbeat_s=1.0), wary)
    assert not any("bar 1 could begin" in doubt.why for doubt in given)


def test_another_metre_that_is_likely_is_named():
    notes = played("1 " * 9, 100, midis=(60,)).notes
    wary = RhythmSettings(doubt_share=0.02)
    assert any("the meter could be" in doubt.why for doubt in rhythm_doubts(notes, fit_rhythm(notes), wary))


def test_no_notes_no_doubts():
    assert doubts(()) == ()


def test_where_bar_1_could_begin_is_said_as_players_count():
    notes, told = played("1/2 " * 12, 60).notes, []
    for beats in (-0.5, 1.0, 1.5, 2.0):
        other = RhythmReading(60.0, Meter(4, 4), 1.0 + beats, likely=0.3)
        rhythm = Rhythm(60.0, Meter(4, 4), 1.0, readings=(RhythmReading(60.0, Meter(4, 4), 1.0, likely=0.7), other))
        told += [doubt.why for doubt in rhythm_doubts(notes, rhythm) if "begin" in doubt.why]
    assert [why.removeprefix("bar 1 could begin ") for why in told] == [
        "half a beat earlier", "1 beat later", "1½ beats later", "2 beats later",
    ]  # fmt: skip
