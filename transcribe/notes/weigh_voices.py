"""What speaks for and against each note of several voices: the maps, the sound at its own partials, its neighbours."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray

from transcribe.audio.recording import Recording
from transcribe.evidence.voice_maps import VoiceMaps
from transcribe.notes.attack import Envelope
from transcribe.notes.voices import Voice

Floats = NDArray[np.float64]

PARTIALS = 8
WINDOW_S = 0.07  # of sound in which a note's own partials are looked for
BAND_SEMITONES = 0.4
BEFORE_S, AFTER_S = (-0.085, -0.05), (0.04, 0.09)  # centres of the windows, from the onset
OVERTONES = (12.0, 19.0, 24.0, 28.0, 31.0)  # semitones from a note to its partials 2 to 6
NEAR_SEMITONES = 0.6
LONGEST_S = 1.0  # times longer than this are all the same to the weighing
TOGETHER_S = 0.05
HABIT_S = 6.0
COMBINED_SEMITONES = 0.35
STEPS_S = (-0.17, -0.11, -0.055, 0.0, 0.055, 0.11)  # from the onset: the third and fourth steps are its own


@dataclass(frozen=True, slots=True)
class VoiceGrounds:
    """What speaks for and against one note of several."""

    sure: float  # height of the onset map where it begins, 0 to 1; 0 for a note that was there from the start
    contour: float  # middle of its contour, 0 to 1
    weakest: float  # the tenth part of its contour that is least sure, 0 to 1
    held: float  # mean of the map of what sounds, 0 to 1
    length_s: float
    rise_db: float  # how much louder its own partials grow at its onset
    late_db: float  # how much louder they grow only after it, or have grown before it already
    softer_db: float  # how far its partials lie below those of the take's loud notes
    burst_db: float  # rise of the sound above 2 kHz at its onset
    under: float  # 1 when a lower note sounds whose overtone it may be, less where that note is softer
    combination: float  # likewise for two louder notes whose difference tone it may be: overdriven amplifiers add them
    above: float  # 1 when a note sounds an octave or more higher that would have it as undertone, likewise
    since_same_s: float  # since a note of this pitch last began
    gap_same_s: float  # since a note of this pitch last ended; 0 when it was cut off by this one
    repeats_db: float  # how far below the loudest note of its pitch in the second before; 0 with none
    together: float  # notes that begin with it, itself among them
    unsteady_cents: float  # middle change of pitch from frame to frame
    habit: float  # share of the moments around at which a note of its pitch begins: a body answers every pluck
    legato: float  # 1 for a note that the fretting hand began
    plain: float  # how plainly the onset maps say picked, or legato, at its onset: 0 even, 1 wholly
    inside: float  # 1 for a note found inside another by a slide
    midi: float

    def values(self) -> dict[str, float]:
        """Return the grounds by name."""
        return {name: float(getattr(self, name)) for name in self.__slots__}


def grounds_of_voices(
    recording: Recording, maps: VoiceMaps, voices: tuple[Voice, ...], loudness: Envelope
) -> tuple[VoiceGrounds, ...]:
    """Return the grounds of every voice, in their order."""
    before = np.array([_own_db(recording, voice, BEFORE_S) for voice in voices])
    after = np.array([_own_db(recording, voice, AFTER_S) for voice in voices])
    loud = float(np.percentile(after, 90)) if voices else 0.0
    onset = np.array([voice.onset_s for voice in voices])
    end = np.array([maps.start_s + voice.last * maps.hop_s for voice in voices])
    first = np.array([float(np.median(voice.midi[:6])) for voice in voices])
    told = []
    for k, voice in enumerate(voices):
        same = np.abs(first - first[k]) < NEAR_SEMITONES
        earlier = same & (onset < onset[k] - 1e-6)
        recent = earlier & (onset > onset[k] - LONGEST_S)
        sounding = (onset < onset[k] + TOGETHER_S) & (end > onset[k] + 0.02) & ~same
        contour = np.sort(voice.contour)
        rows = np.clip(np.round(voice.midi).astype(int) - maps.lowest_midi, 0, maps.held.shape[1] - 1)
        told.append(
            VoiceGrounds(
                sure=voice.sure,
                contour=float(np.median(contour)),
                weakest=float(contour[: max(1, contour.size // 10)].mean()),
                held=float(maps.held[voice.first + np.arange(voice.midi.size), rows].mean() / 255),
                length_s=min(LONGEST_S, float(end[k] - onset[k])),
                rise_db=float(after[k] - before[k]),
                late_db=_late_db(recording, voice),
                softer_db=loud - float(after[k]),
                burst_db=_burst_db(loudness, voice.onset_s),
                under=_partner(first - first[k], after - after[k], sounding, -1),
                combination=_combination(first, after, k, sounding),
                above=_partner(first - first[k], after - after[k], sounding, 1),
                since_same_s=float(min(LONGEST_S, (onset[k] - onset[earlier]).min(initial=LONGEST_S))),
                gap_same_s=float(np.clip((onset[k] - end[earlier]).min(initial=LONGEST_S), 0.0, LONGEST_S)),
                repeats_db=max(0.0, float(after[recent].max(initial=after[k]) - after[k])),
                together=float((np.abs(onset - onset[k]) < TOGETHER_S).sum()),
                unsteady_cents=100.0 * float(np.median(np.abs(np.diff(voice.midi)))) if voice.midi.size > 1 else 0.0,
                habit=_habit(k, first, onset),
                legato=float(voice.begin == "legato"),
                plain=_plain(maps, voice, first[k]),
                inside=0.0,
                midi=float(first[k]),
            )
        )
    return tuple(told)


def _partner(away: Floats, louder_db: Floats, sounding: NDArray[np.bool_], side: int) -> float:
    """1 for a note sounding at an overtone's distance on one side, at least as loud; 0 for none or 30 dB softer."""
    steps = side * np.array(OVERTONES)
    related = sounding & (np.abs(away[:, None] - steps).min(axis=1) < NEAR_SEMITONES)
    return float(np.clip((louder_db[related].max(initial=-30.0) + 30.0) / 30.0, 0.0, 1.0))


def _combination(first: Floats, louder_db: Floats, k: int, sounding: NDArray[np.bool_]) -> float:
    """1 where two notes sound whose difference, or twice one less the other, is this pitch, at least as loud."""
    here = np.flatnonzero(sounding & (louder_db > louder_db[k] - 20.0))
    if here.size < 2:
        return 0.0
    hz = 440.0 * 2 ** ((first[here] - 69) / 12)
    made = np.stack([np.abs(hz[:, None] - hz), np.abs(2 * hz[:, None] - hz)])
    made[:, np.arange(here.size), np.arange(here.size)] = np.nan
    away = np.abs(12 * np.log2(np.maximum(made, 1.0) / 440.0) + 69 - first[k])
    softer = np.minimum(louder_db[here][:, None], louder_db[here]) - louder_db[k]
    fits = np.where(away < COMBINED_SEMITONES, softer, -30.0)
    return float(np.clip((fits.max() + 20.0) / 20.0, 0.0, 1.0))


def _late_db(recording: Recording, voice: Voice) -> float:
    """The largest step of a note's own partials outside its onset, less that at it."""
    hz = 440.0 * 2 ** ((float(np.median(voice.midi[:6])) - 69) / 12)
    level = partials_db(recording, voice.onset_s + np.array(STEPS_S), hz)
    step = np.diff(np.maximum(level, level.max() - 40.0))
    return float(max(step[0], step[1], step[-1]) - max(step[2], step[3]))


def _habit(k: int, first: Floats, onset: Floats) -> float:
    """Share of the other moments within some seconds at which a note of one pitch begins."""
    near = (np.abs(onset - onset[k]) < HABIT_S) & (np.abs(onset - onset[k]) >= TOGETHER_S)
    moments = np.unique(np.round(onset[near] / (2 * TOGETHER_S)))
    same = np.unique(np.round(onset[near & (np.abs(first - first[k]) < NEAR_SEMITONES)] / (2 * TOGETHER_S)))
    return float(same.size / moments.size) if moments.size else 0.0


def _plain(maps: VoiceMaps, voice: Voice, midi: float) -> float:
    """How far apart the maps of picks and of legato stand at the onset, against their sum."""
    frame = round((voice.onset_s - maps.start_s) / maps.hop_s)
    row = int(np.clip(round(midi) - maps.lowest_midi, 0, maps.picked.shape[1] - 1))
    span = slice(max(0, frame - 2), max(0, frame - 2) + 5)
    picked, legato = (float(each[span, row].max(initial=0)) for each in (maps.picked, maps.legato))
    return abs(picked - legato) / max(picked + legato, 1.0)


def _own_db(recording: Recording, voice: Voice, moments_s: tuple[float, float]) -> float:
    """Power of a note's own partials around two moments near its onset, the louder of the two, in dB."""
    hz = 440.0 * 2 ** ((float(np.median(voice.midi[:6])) - 69) / 12)
    return float(partials_db(recording, voice.onset_s + np.array(moments_s), hz).max())


def partials_db(recording: Recording, at_s: Floats, hz: float) -> Floats:
    """Return the power within 0.4 semitones of the first partials of ``hz`` at each moment, shape (n,).

    In dB below full scale, -120 at least.
    """
    size = int(WINDOW_S * recording.rate_hz)
    n_fft = 1 << int(np.ceil(np.log2(2 * size)))
    bin_hz = recording.rate_hz / n_fft
    reach = 2 ** (BAND_SEMITONES / 12)
    cut = np.zeros((at_s.size, n_fft), np.float32)
    counts = np.ones(at_s.size)
    for row, start in enumerate(((at_s - recording.start_s - WINDOW_S / 2) * recording.rate_hz).astype(int).tolist()):
        part = recording.samples[max(0, start) : max(0, start + size)]
        if part.size >= size // 2:  # else the sound hardly reaches there
            cut[row, : part.size] = part * _hann(part.size)
            counts[row] = part.size
    highest = int(np.ceil(PARTIALS * hz * reach / bin_hz)) + 1  # nothing above is looked at
    seen = np.fft.rfft(cut)[:, :highest]
    power = np.square(seen.real) + np.square(seen.imag)
    total = np.zeros(at_s.size)
    for number in range(1, PARTIALS + 1):
        first, last = int(number * hz / reach / bin_hz), int(np.ceil(number * hz * reach / bin_hz)) + 1
        if last > power.shape[1]:
            break
        total += power[:, first:last].sum(axis=1, dtype=np.float64)
    return np.asarray(10 * np.log10(np.maximum(total / (0.375 * counts * n_fft / 2), 1e-12)))


@cache
def _hann(size: int) -> NDArray[np.float32]:
    return np.hanning(size).astype(np.float32)


def _burst_db(loudness: Envelope, onset_s: float) -> float:
    after = loudness.span(loudness.high_db, onset_s - 0.02, onset_s + 0.04).max()
    return float(after - loudness.span(loudness.high_db, onset_s - 0.09, onset_s - 0.03).min())
