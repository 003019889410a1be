"""How sure each note of a single line is: what speaks for it, and one number from all of it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from transcribe.evidence.voice_maps import VoiceMaps
from transcribe.notes.confidence_weights import LINE, LINE_ALONE
from transcribe.notes.odds import Odds
from transcribe.notes.touch import TouchMaps, touch_maps
from transcribe.notes.voices import Voice

Floats = NDArray[np.float64]

LONGEST_S = 1.0  # times longer than this are all the same to the weighing
AGREE_S = 0.06
MARGIN = 8  # frames that two hearings' starts may lie apart, and some more
AGREE_SEMITONES = 0.8


@dataclass(frozen=True, slots=True, eq=False)
class Voices:
    """The notes the several-voices network hears in a take, and the clock of their frames."""

    start_s: float
    hop_s: float
    voices: tuple[Voice, ...]
    first: NDArray[np.int64]  # frame of each voice, kept so that an hour of notes is looked through fast
    last: NDArray[np.int64]
    touch: TouchMaps

    def between(self, first: int, last: int) -> list[Voice]:
        """Return the voices that sound somewhere in a span of frames."""
        return [self.voices[k] for k in np.flatnonzero((self.first <= last) & (self.last >= first))]


def heard_voices(maps: VoiceMaps, voices: tuple[Voice, ...]) -> Voices:
    """Return the voices found in ``maps``, to be looked through."""
    first = np.array([voice.first for voice in voices], dtype=np.int64)
    last = np.array([v.last for v in voices], dtype=np.int64)
    return Voices(maps.start_s, maps.hop_s, voices, first, last, touch_maps(maps))


@dataclass(frozen=True, slots=True)
class Second:
    """What the several-voices network says of one note of the line."""

    onset: float  # how surely it hears a note of this pitch begin here, 0 to 1
    held: float  # part of the note's length in which it hears this pitch, 0 to 1
    other: float  # part in which it hears another pitch alone, 0 to 1
    legato: float  # 1 where it hears the note hammered, pulled or slid to, 0 picked, one half where it hears none


@dataclass(frozen=True, slots=True)
class Grounds:
    """What speaks for and against one note."""

    salience: float  # middle of the map's salience along the note, 0 to 1
    strike: float  # likelihood of the pick that began it; for a legato note how plain the change of pitch was; 0 to 1
    length_s: float
    octave: float  # evidence that an octave below is sounding: 0 none, 1 as much as for a real one
    unsteady_cents: float  # how far the pitch strays around its holds
    gestures: float  # how plain bends and slides were, 0 to 1
    softer_db: float  # how far below the loudest notes of the take
    off_cents: float  # distance of the resting pitch from the nearest semitone
    legato: float = 0.0  # 1 for a note that the fretting hand began
    unknown: float = 0.0  # 1 for a note of which no start was heard
    since_same_s: float = LONGEST_S  # since a note of this pitch last began
    gap_same_s: float = LONGEST_S  # since a note of this pitch last ended
    repeats_db: float = 0.0  # how far below the loudest note of its pitch in the second before; 0 with none
    midi: float = 60.0
    finger: float = 0.5  # likelihood that the fretting hand alone began it; 0.5 where nobody asked
    second: Second | None = None  # None where nobody asked the network

    def values(self) -> dict[str, float]:
        """Return the grounds by name; the second hearing's are there when it was asked."""
        told = {name: float(getattr(self, name)) for name in self.__slots__ if name != "second"}
        told["pick"] = self.strike if not self.legato and not self.unknown else 1.0
        told["step"] = self.strike if self.legato else 1.0
        if self.second is not None:
            told |= {f"second_{name}": float(getattr(self.second, name)) for name in Second.__slots__}
            told["agrees"] = 1.0 - abs(self.second.legato - self.legato)
        return told

    @property
    def odds(self) -> Odds:
        """The weighing that fits what is known."""
        return LINE_ALONE if self.second is None else LINE


def confidence_of(grounds: Grounds) -> float:
    """Return how likely the note is right, 0 to 1; learned by ``python -m transcribe.training.calibrate``."""
    return grounds.odds.of(grounds.values())


def second_hearing(onset_s: float, times_s: Floats, midi: Floats, heard: Voices) -> Second:
    """Return what the network's voices say of a note: its start, and its sounding pitch at each time."""
    frames = np.round((times_s - heard.start_s) / heard.hop_s).astype(int)
    sure, legato, begins_at = 0.0, 0.5, float(np.median(midi[:6]))
    same, other = np.zeros(frames.size, dtype=bool), np.zeros(frames.size, dtype=bool)
    for voice in heard.between(int(frames[0]) - MARGIN, int(frames[-1])):
        away = abs(float(np.median(voice.midi[:6])) - begins_at)
        if abs(voice.onset_s - onset_s) <= AGREE_S and away <= AGREE_SEMITONES:
            legato = float(voice.begin == "legato") if voice.sure > sure else legato
            sure = max(sure, voice.sure)
        inside = (frames >= voice.first) & (frames <= voice.last)
        near = np.abs(voice.midi[frames[inside] - voice.first] - midi[inside]) <= AGREE_SEMITONES
        same[np.flatnonzero(inside)[near]] = True
        other[np.flatnonzero(inside)[~near]] = True
    return Second(sure, float(same.mean()), float((other & ~same).mean()), legato)
