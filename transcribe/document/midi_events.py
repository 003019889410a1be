"""A Standard MIDI File as plain values: struck keys, pitch wheels, tempo, meter and key, all in ticks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from io import BytesIO
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from transcribe.errors import ReadError

if TYPE_CHECKING:
    import mido

DRUM_CHANNEL = 9  # channel 10, counted from 0 on the wire (General MIDI 1)
PLAIN_QUARTER_US = 500_000  # 120 bpm: what a file without a tempo means (Standard MIDI Files 1.0)
PLAIN_BEND_RANGE = 2.0  # semitones either way at power-on (MIDI 1.0 Detailed Specification)
CENTRE = 8192
LARGEST_BYTES = 16 * 2**20  # a day of dense playing; more is no MIDI file of one guitar

MEND_FILE = "Export it again from the program that made it, as a Standard MIDI File."


@dataclass(frozen=True, slots=True)
class Struck:
    """One key from note-on to note-off."""

    track: int
    channel: int
    key: int
    velocity: int  # 1 to 127
    on: int  # ticks
    off: int  # at least one tick later
    ended: bool = True  # False when the file holds no note-off for it


@dataclass(frozen=True, slots=True)
class Wheel:
    """Where one channel's pitch wheel stands: from each tick on, in semitones."""

    ticks: NDArray[np.int64]  # (n,) rising
    semitones: NDArray[np.float64]  # (n,)


@dataclass(frozen=True, slots=True)
class MidiMusic:
    """What a file holds. Meters are (tick, beats, unit); keys (tick, name such as "F#m")."""

    struck: tuple[Struck, ...]  # in order of time, drums left out
    drums: int  # how many drum strokes were left out
    wheels: dict[int, Wheel]  # by channel
    clock: MidiClock
    meters: tuple[tuple[int, int, int], ...]
    keys: tuple[tuple[int, str], ...]
    track_names: dict[int, str] = field(default_factory=dict)


class MidiClock:
    """Ticks to seconds, through every change of tempo."""

    def __init__(self, division: int, tempos: Sequence[tuple[int, int]]) -> None:
        self.is_film = division < 0  # SMPTE: ticks of a film frame, no tempo
        if self.is_film:
            frames, parts = -(division >> 8), division & 0xFF
            exact = 30_000 / 1001 if frames == 29 else float(frames)  # 29 stands for 30 drop-frame (SMF 1.0)
            self.ticks_per_quarter = exact * parts * PLAIN_QUARTER_US / 1e6
            tempos = ()
        else:
            self.ticks_per_quarter = float(division)
        self.tempos = tuple(tempos) or ((0, PLAIN_QUARTER_US),)  # (tick, microseconds a quarter)
        self.has_tempo = bool(tempos)
        ticks = np.array([tick for tick, _ in self.tempos], dtype=np.float64)
        self._s_per_tick = np.array([us for _, us in self.tempos]) / 1e6 / self.ticks_per_quarter
        self._ticks = ticks
        self._starts_s = np.concatenate(([0.0], np.cumsum(np.diff(ticks) * self._s_per_tick[:-1])))

    def seconds(self, ticks: NDArray[Any] | Sequence[int]) -> NDArray[np.float64]:
        """Return the time of each tick in seconds, shape as given."""
        at = np.asarray(ticks, dtype=np.float64)
        piece = np.maximum(np.searchsorted(self._ticks, at, side="right") - 1, 0)
        return np.asarray(self._starts_s[piece] + (at - self._ticks[piece]) * self._s_per_tick[piece])


def midi_music(data: bytes) -> MidiMusic:
    """Return what a Standard MIDI File of type 0 or 1 holds.

    Raises ReadError for one that is cut short, broken, of type 2 or too large.

    References
    ----------
    Standard MIDI Files 1.0; MIDI 1.0 Detailed Specification (running status, note-on with velocity 0, RPN 0).
    """
    file = _parsed(data)
    reader = _Reader()
    tempos: dict[int, int] = {0: PLAIN_QUARTER_US}
    told_tempo = False
    meters: dict[int, tuple[int, int]] = {}
    keys: dict[int, str] = {}
    names: dict[int, str] = {}
    timed: list[tuple[int, int, int, mido.Message]] = []
    for number, track in enumerate(file.tracks):
        tick = 0
        for index, message in enumerate(track):
            tick += message.time
            if message.type == "set_tempo":
                tempos[tick], told_tempo = message.tempo, True
            elif message.type == "time_signature":
                meters[tick] = (message.numerator, message.denominator)
            elif message.type == "key_signature":
                keys[tick] = message.key
            elif message.type == "track_name":
                names.setdefault(number, message.name.strip())
            elif not message.is_meta:
                timed.append((tick, number, index, message))
        reader.last_tick = max(reader.last_tick, tick)
    for tick, number, _, message in sorted(timed, key=lambda item: item[:3]):
        reader.take(tick, number, message)
    clock = MidiClock(file.ticks_per_beat, sorted(tempos.items()) if told_tempo else ())
    return MidiMusic(
        struck=reader.finish(),
        drums=reader.drums,
        wheels=reader.wheels(),
        clock=clock,
        meters=tuple((tick, *meter) for tick, meter in sorted(meters.items())),
        keys=tuple(sorted(keys.items())),
        track_names=names,
    )


def _parsed(data: bytes) -> mido.MidiFile:
    import mido

    if len(data) > LARGEST_BYTES:
        raise ReadError("this MIDI file is too large", "Export the guitar's track alone, or a shorter passage.")
    try:
        file = mido.MidiFile(file=BytesIO(data), clip=True)
    except EOFError as error:
        raise ReadError("this MIDI file is cut short", MEND_FILE) from error
    except Exception as error:  # the parser raises whatever a broken byte leads to
        why = str(error).partition("\n")[0] or type(error).__name__
        raise ReadError(f"this MIDI file is broken: {why}", MEND_FILE) from error
    if file.type == 2:
        raise ReadError(
            "this MIDI file holds separate patterns (type 2), not one piece", "Export it as type 0 or type 1."
        )
    if file.ticks_per_beat == 0 or (file.ticks_per_beat < 0 and not file.ticks_per_beat & 0xFF):
        raise ReadError("this MIDI file says that a beat has no ticks", MEND_FILE)
    return file


class _Reader:
    """Walks through the messages of all tracks in order of time."""

    def __init__(self) -> None:
        self.last_tick = 0
        self.drums = 0
        self._open: dict[tuple[int, int, int], list[tuple[int, int]]] = {}  # (track, channel, key): (on, velocity)
        self._struck: list[Struck] = []
        self._range: dict[int, float] = {}  # semitones, by channel
        self._parameter: dict[int, tuple[int, int]] = {}  # RPN chosen, coarse and fine number
        self._bends: dict[int, list[tuple[int, int]]] = {}  # (tick, -8192 to 8191)
        self._wheels: dict[int, list[tuple[int, float]]] = {}

    def take(self, tick: int, track: int, message: mido.Message) -> None:
        """Read one more message."""
        if message.type == "note_on" and message.velocity > 0:
            if message.channel == DRUM_CHANNEL:
                self.drums += 1
                return
            self._open.setdefault((track, message.channel, message.note), []).append((tick, message.velocity))
        elif message.type in ("note_off", "note_on"):
            waiting = self._open.get((track, message.channel, message.note))
            if waiting:
                self._close(track, message.channel, message.note, *waiting.pop(0), tick, ended=True)
        elif message.type == "control_change":
            self._control(message.channel, message.control, message.value)
        elif message.type == "pitchwheel":
            reach = self._range.get(message.channel, PLAIN_BEND_RANGE)
            moved = self._wheels.setdefault(message.channel, [])
            if moved and moved[-1][0] == tick:
                moved.pop()
            moved.append((tick, reach * message.pitch / CENTRE))

    def _control(self, channel: int, control: int, value: int) -> None:
        coarse, fine = self._parameter.get(channel, (127, 127))
        if control == 101:
            self._parameter[channel] = (value, fine)
        elif control == 100:
            self._parameter[channel] = (coarse, value)
        elif control in (98, 99):  # a parameter of the maker's own: data that follows is not for the bend range
            self._parameter[channel] = (127, 127)
        elif (coarse, fine) == (0, 0) and control == 6:
            self._range[channel] = float(value)
        elif (coarse, fine) == (0, 0) and control == 38:
            self._range[channel] = int(self._range.get(channel, PLAIN_BEND_RANGE)) + value / 100.0

    def _close(self, track: int, channel: int, key: int, on: int, velocity: int, off: int, *, ended: bool) -> None:
        self._struck.append(Struck(track, channel, key, velocity, on, max(on + 1, off), ended))

    def finish(self) -> tuple[Struck, ...]:
        """Return all keys struck, in order of time and then from high to low."""
        for (track, channel, key), waiting in self._open.items():
            for on, velocity in waiting:
                self._close(track, channel, key, on, velocity, self.last_tick, ended=False)
        self._open.clear()
        return tuple(sorted(self._struck, key=lambda item: (item.on, -item.key, item.track, item.channel, item.off)))

    def wheels(self) -> dict[int, Wheel]:
        """Return the pitch wheels that were ever moved."""
        return {
            channel: Wheel(
                np.array([tick for tick, _ in moved], dtype=np.int64),
                np.array([semitones for _, semitones in moved]),
            )
            for channel, moved in self._wheels.items()
            if any(semitones for _, semitones in moved)
        }
