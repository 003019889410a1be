"""Several voices to notes: the choice of path, and gestures read voice by voice."""

from dataclasses import replace

import numpy as np
import pytest

from transcribe.audio.recording import Recording
from transcribe.evidence.network import voice_maps
from transcribe.notes.hear_voices import _as_begun, believed, hear_voices, sounds_together
from transcribe.notes.moves import Line
from transcribe.notes.note import Note, Slide
from transcribe.notes.part import Part
from transcribe.notes.voices import Voice, find_voices
from transcribe.settings import Settings

RATE_HZ = 22050


def string(pitches_midi, at_s, total_s):
    """Return a plucked string whose pitch follows ``pitches_midi`` (one value, or one a sample from the pluck on)."""
    t = np.arange(int(total_s * RATE_HZ)) / RATE_HZ - at_s
    on = t >= 0
    midi = np.full(t.size, 60.0)
    midi[on] = np.broadcast_to(pitches_midi, (int(on.sum()),))
    turns = np.cumsum(440 * 2 ** ((midi - 69) / 12)) / RATE_HZ
    tone = sum(np.sin(2 * np.pi * n * turns) / n * np.exp(-(0.8 + 0.3 * n) * t * on) for n in range(1, 16))
    noise = np.random.default_rng(1).standard_normal(t.size) * np.exp(-np.abs(t) / 0.004)
    return (0.2 * on * (tone + 0.2 * noise)).astype(np.float32)


def voice(first, frames, midi=60.0):
    flat = np.ones(frames)
    return Voice(first * 0.0116, first, midi * flat, flat, "picked", 0.9, np.full(6, 1 / 6), 0.0)


@pytest.mark.parametrize(
    ("voices", "together"),
    [
        ((), False),
        ((voice(0, 50), voice(48, 50, 62), voice(95, 50, 64)), False),
        ((voice(0, 100), voice(2, 98, 64)), True),
    ],
)
def test_a_take_is_a_line_or_strings_together(voices, together):
    assert sounds_together(voices) is together


def test_a_double_stop_gives_two_notes_at_their_pitches():
    sound = string(57, 0.3, 2.0) + string(62, 0.31, 2.0)
    heard = hear_voices(Recording(sound, RATE_HZ), voice_maps(Recording(sound, RATE_HZ)), Settings())
    assert sorted(note.midi for note in heard.notes) == [57, 62]
    assert all(note.attack == "picked" for note in heard.notes)
    assert [note.id for note in heard.notes] == ["n1", "n2"]
    assert all(abs(note.cents) < 12 for note in heard.notes)


def test_one_string_bends_while_another_rings():
    count = int((np.arange(int(2.2 * RATE_HZ)) / RATE_HZ >= 0.3).sum())
    rise = 62 + 2 * np.clip((np.arange(count) / RATE_HZ - 0.5) / 0.2, 0, 1)
    recording = Recording(string(rise, 0.3, 2.2) + string(69, 0.32, 2.2), RATE_HZ)
    assert sounds_together(find_voices(voice_maps(recording)))
    heard = hear_voices(recording, voice_maps(recording), Settings())
    assert sorted(note.midi for note in heard.notes) == [62, 69]
    bent, held = sorted(heard.notes, key=lambda note: note.midi)
    assert [bend.target_cents for bend in bent.bends] == [200]
    assert abs(bent.bends[0].reached_cents - 200) < 2
    assert held.bends == ()


def test_a_string_bent_into_unison_with_a_held_one_is_bent_all_the_same():
    count = int((np.arange(int(2.4 * RATE_HZ)) / RATE_HZ >= 0.3).sum())
    rise = 69 + 2 * np.clip((np.arange(count) / RATE_HZ - 0.5) / 0.2, 0, 1)
    recording = Recording(string(rise, 0.3, 2.4) + string(71, 0.32, 2.4), RATE_HZ)
    heard = hear_voices(recording, voice_maps(recording), Settings())
    bent, held = sorted(heard.notes, key=lambda note: note.midi)
    assert (bent.midi, held.midi) == (69, 71)
    assert [bend.target_cents for bend in bent.bends] == [200]
    assert abs(bent.bends[0].reached_cents - 200) < 8  # no partial is free there: the map's word stands
    assert held.bends == ()


def test_a_dead_note_between_double_stops_is_heard():
    dead_s = 1.2
    t = np.arange(int(2.6 * RATE_HZ)) / RATE_HZ
    ringing = (string(57, 0.3, 2.6) + string(64, 0.3, 2.6)) * (t < 1.0)
    again = string(57, 1.7, 2.6) + string(64, 1.7, 2.6)
    knock = np.random.default_rng(2).standard_normal(t.size) * np.exp(-np.abs(t - dead_s) / 0.008) * (t >= dead_s)
    recording = Recording((ringing + again + 0.15 * knock).astype(np.float32), RATE_HZ)
    heard = hear_voices(recording, voice_maps(recording), Settings())
    dead = [note for note in heard.notes if note.mute == "dead"]
    assert len(dead) == 1
    assert abs(dead[0].onset_s - dead_s) < 0.03
    assert [note.id for note in heard.notes] == [f"n{k + 1}" for k in range(len(heard.notes))]


def test_a_voice_that_runs_on_along_another_string_ends_where_it_leaves_its_pitch():
    midi = np.r_[np.full(12, 54.03), np.full(30, 55.0)]
    line = Line(1.0, 0.0116, midi, np.ones(midi.size))
    part = Part(1.0, 1.48, 55, 0.0, "picked")
    kept = _as_begun(part, line)
    assert (kept.midi, round(kept.rest_cents)) == (54, 3)
    assert kept.end_s == pytest.approx(1.0 + 12 * 0.0116)
    slid = replace(part, slide=("in", 100.0))
    assert _as_begun(slid, line) is slid, "a slide that was told stays"
    assert _as_begun(replace(part, midi=54), line).end_s == 1.48


def test_a_note_sounds_on_through_a_stroke_that_is_not_believed():
    held, ghost, other = (
        Note("v0", 0.0, 1.0, 62, confidence=0.9),
        Note("v1", 1.01, 1.8, 62, confidence=0.2),
        Note("v2", 1.0, 1.7, 67, confidence=0.2),
    )
    assert believed((held, other, ghost), 0.45) == (replace(held, offset_s=1.8),)
    again = replace(ghost, confidence=0.8)
    assert believed((held, again), 0.45) == (held, again), "a stroke that is believed ends the note before"
    late = replace(ghost, onset_s=1.2)
    assert believed((held, late), 0.45) == (held,), "one that comes after a rest gives nothing back"
    leaves = replace(held, slide=Slide("legato", 200.0, "v3"))
    assert believed((leaves, ghost), 0.45) == (leaves,), "a string that slid away does not sound on"
