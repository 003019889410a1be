"""Standard MIDI Files written with mido, the reference library, for tests of our reader."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from io import BytesIO

import mido

QUARTER = 480  # ticks


def midi_file(*tracks: Iterable[mido.Message | mido.MetaMessage], file_type: int = 1, division: int = QUARTER) -> bytes:
    """The bytes of a file; the times of messages are ticks since the one before."""
    file = mido.MidiFile(type=file_type, ticks_per_beat=division)
    for track in tracks:
        file.tracks.append(mido.MidiTrack(track))
    stream = BytesIO()
    file.save(file=stream)
    return stream.getvalue()


def line(
    keys: Sequence[int | tuple[int, ...]], *, step: int = QUARTER // 2, sounding: int = QUARTER // 2, channel: int = 0
) -> list[mido.Message]:
    """Keys, or chords of keys, one every ``step`` ticks."""
    messages, wait = [], 0
    for item in keys:
        chord = item if isinstance(item, tuple) else (item,)
        for index, key in enumerate(chord):
            time = 0 if index else wait
            messages.append(mido.Message("note_on", channel=channel, note=key, velocity=80, time=time))
        for index, key in enumerate(chord):
            time = 0 if index else sounding
            messages.append(mido.Message("note_off", channel=channel, note=key, time=time))
        wait = step - sounding
    return messages
