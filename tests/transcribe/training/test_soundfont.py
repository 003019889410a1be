"""Guitar programs of soundfonts: the muted one is taken once, every guitar carries its soundfont's name."""

import sys
from types import SimpleNamespace

import numpy as np
import pytest

from transcribe.errors import ReadError
from transcribe.training import soundfont
from transcribe.training.note_bank import PALM_GUITAR


@pytest.mark.parametrize(("name", "muted"), [("gm", True), ("second", False)])
def test_guitars_are_named_after_their_soundfont(monkeypatch, name, muted):
    asked = []

    def one_note(data, program, key, velocity):
        asked.append((program, key))
        return np.linspace(0.5, 0, 2000, dtype=np.float32) * (key > 40)  # a program may leave keys out

    monkeypatch.setattr(soundfont, "one_note", one_note)
    zones = soundfont.zones_of_soundfont(b"", name=name)
    # General MIDI level 1, programs 25 to 31 counted from 1: acoustic (nylon, steel), electric (jazz, clean, muted),
    # overdriven, distortion.
    programs = {24, 25, 26, 27, 29, 30} | ({28} if muted else set())
    assert {each.guitar for each in zones} == {f"{name}-{program}" for program in programs}
    assert (PALM_GUITAR in {each.guitar for each in zones}) == muted
    assert min(each.midi for each in zones) > 40
    assert {program for program, _ in asked} == programs


def test_what_is_no_soundfont_is_told_in_words(monkeypatch):
    def render_wave_from(data, midi):
        raise RuntimeError("SoundFont error: the RIFF chunk was not found")  # as midirenderer says it

    monkeypatch.setitem(sys.modules, "midirenderer", SimpleNamespace(render_wave_from=render_wave_from))
    with pytest.raises(ReadError, match=r"cannot be played: .* RIFF"):
        soundfont.one_note(b"no soundfont", 24, 60, 100)
