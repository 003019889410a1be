"""Every default in one place, frozen: one class a room, each number with its unit and source."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class AudioSettings:
    """Reading and conditioning. Levels are decibels below full scale unless they say otherwise."""

    # Reading
    min_take_s: float = 0.05  # three periods of the low E (82.4 Hz) and a little: less has no pitch to speak of
    max_take_s: float = 600.0  # a lick lasts seconds; longer files are cut with --from and --to
    max_rate_hz: int = 48_000  # the range of hearing and more; higher rates are resampled
    cancelled_below_db: float = -10.0  # the channels' average against the strongest one; unrelated channels give -3
    silent_channel_db: float = -40.0  # a channel this far under the strongest one carries nothing


@dataclass(frozen=True, slots=True)
class EvidenceSettings:
    """Maps and fine pitch."""

    hop_s: float = 0.01  # between frames; the CREPE authors' default
    silence_db: float = -66.0  # frames quieter than this are not shown to the network; dB below full scale
    network_threads: int = 2  # processor cores the network may use

    onset_rate_hz: int = 24000  # pick noise lies below 12 kHz; half of the usual 48 kHz
    onset_window: int = 1024  # samples, 43 ms: two periods of a low E
    onset_hop_s: float = 0.005  # SuperFlux paper: 200 frames a second
    onset_lag_frames: int = 2  # compared with this many frames before
    onset_neighbours: int = 3  # bands; SuperFlux paper
    onset_floor_db: float = -60.0  # spectrum below this counts as silence; dB below full scale
    onset_scale_db: float = 3.0  # mean rise over all bands that reads 0.63
    bands_per_octave: int = 24  # SuperFlux paper
    band_lowest_hz: float = 60.0
    band_highest_hz: float = 10000.0


@dataclass(frozen=True, slots=True)
class NoteSettings:
    """Voices, gestures, attacks, mutes, intonation, doubts."""


@dataclass(frozen=True, slots=True)
class RhythmSettings:
    """Tempo, grid and written values."""


@dataclass(frozen=True, slots=True)
class Settings:
    """All rooms' defaults together."""

    audio: AudioSettings = AudioSettings()
    evidence: EvidenceSettings = EvidenceSettings()
    notes: NoteSettings = NoteSettings()
    rhythm: RhythmSettings = RhythmSettings()
