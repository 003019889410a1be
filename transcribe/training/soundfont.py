"""The guitar programs of a General MIDI soundfont as recorded notes."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING

import mido
import numpy as np

from transcribe.errors import MissingExtraError, ReadError
from transcribe.training.note_bank import PALM_GUITAR, RATE_HZ, SOUNDFONT, Zone, zone

if TYPE_CHECKING:
    from numpy.typing import NDArray

PROGRAMS = range(24, 31)  # General MIDI level 1, counted from 0: nylon, steel, jazz, clean, muted, overdriven, driven
KEYS = range(38, 90, 3)
VELOCITIES = (70, 110)
HELD_S = 2.6
SILENT = 1e-3  # a program may leave keys out
SECOND = 1000  # MIDI ticks


def zones_of_soundfont(data: bytes, *, name: str = SOUNDFONT) -> list[Zone]:
    """Return notes of every guitar program, every third key, two dynamics, each held for 2.6 s.

    Guitars are called ``name``-24 and so on. The muted one, which palm mutes are taken from, only of the first
    soundfont: by itself it is no guitar.

    Raises MissingExtraError when ``midirenderer`` (extra ``fixtures``) is not installed.
    """
    made = [
        (program, key, one_note(data, program, key, velocity))
        for program in PROGRAMS
        if name == SOUNDFONT or f"{SOUNDFONT}-{program}" != PALM_GUITAR
        for key in KEYS
        for velocity in VELOCITIES
    ]
    return [zone(f"{name}-{program}", float(key), note) for program, key, note in made if np.abs(note).max() > SILENT]


def one_note(data: bytes, program: int, key: int, velocity: int) -> NDArray[np.float32]:
    """Return one note alone, mono at RATE_HZ. Raises ReadError when ``data`` is no soundfont."""
    try:
        import midirenderer
    except ImportError as error:
        raise MissingExtraError(
            "rendering a soundfont needs midirenderer", "install with: pip install 'takesheet[fixtures]'"
        ) from error
    import av
    import soxr

    track = mido.MidiTrack(
        [
            mido.MetaMessage("set_tempo", tempo=1_000_000),
            mido.Message("program_change", program=program),
            mido.Message("note_on", note=key, velocity=velocity),
            mido.Message("note_off", note=key, time=int(HELD_S * SECOND)),
            mido.MetaMessage("end_of_track"),
        ]
    )
    box = io.BytesIO()
    mido.MidiFile(type=0, ticks_per_beat=SECOND, tracks=[track]).save(file=box)
    try:
        wave = midirenderer.render_wave_from(data, box.getvalue())
    except RuntimeError as error:
        raise ReadError(f"a soundfont cannot be played: {error}", "Give a General MIDI .sf2 file.") from error
    with av.open(io.BytesIO(wave), "r") as sound:
        rate_hz = sound.streams.audio[0].rate
        parts = [frame.to_ndarray() for frame in sound.decode(audio=0)]
    mono = np.concatenate(parts, axis=1).astype(np.float32).reshape(-1, 2).mean(axis=1)
    return np.asarray(soxr.resample(mono, rate_hz, RATE_HZ), dtype=np.float32)[: int(HELD_S * RATE_HZ)]
