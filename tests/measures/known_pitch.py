"""How exactly the whole path reads tones and bends whose pitch is known by formula."""

from __future__ import annotations

import tempfile
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fixtures.render import write_flac
from tests import signals
from transcribe.pipeline import draft_take

AFTER_ONSET_S, BEFORE_END_S = 0.08, 0.06  # the pluck's own first moments and the damped end are not a held pitch
STRETCHES = (1.4e-5, 4e-5, 1.1e-4, 1.3e-4)  # stiff strings, plain and wound


def pitch_errors_cents() -> dict[str, NDArray[np.float64]]:
    """Return errors in cents a read moment: of held tones, and of bends on the way and held."""
    tones = [
        signals.steady(signals.hz(midi, cents), 1.2)
        for midi, cents in zip(
            (40, 47, 52, 57, 60, 64, 69, 72, 76, 81), (0, 7, -9, 3, 12, -4, 0, 8, -6, 2), strict=True
        )
    ]
    bends = [
        signals.bend(signals.hz(midi, cents), size, 1.4, start_s=0.3, reach_s=0.3 + over_s)
        for midi, cents, size, over_s in (
            (57, 0, 200, 0.2), (62, 5, 100, 0.15), (62, -8, 200, 0.3), (64, 0, 185, 0.2), (67, 10, 200, 0.12),
            (71, 0, 300, 0.3), (74, -5, 170, 0.2), (79, 0, 200, 0.15),
        )
    ]  # fmt: skip
    glides = [
        signals.glide(signals.hz(midi), signals.hz(midi, cents), 1.0)
        for midi, cents in ((57, 180), (64, -150), (69, 100), (76, 200))
    ]
    return {
        "plucked tones": _errors(tones),
        "plucked bends": _errors(bends),
        "plucked bends, noise 25 dB below": _errors(bends, snr_db=25.0),
        "sine glides": _errors(glides, sines=True),
    }


def _errors(truths: list[signals.Floats], *, snr_db: float = 50.0, sines: bool = False) -> NDArray[np.float64]:
    """Play all pitches one after another as one take, draft it, and return every read moment's error in cents."""
    lead_s, gap_s = 0.3, 0.25
    events, spans, at_s = [], [], lead_s
    for number, truth in enumerate(truths):
        stretch = STRETCHES[number % len(STRETCHES)]
        sound = (
            signals.tone(truth) if sines else signals.plucked(truth, stretch=stretch, decay_s=4.0, phase_seed=number)
        )
        fade = np.minimum(1.0, np.arange(sound.size)[::-1] / (0.02 * signals.RATE_HZ))
        events.append((at_s, sound * fade))
        spans.append((at_s, truth))
        at_s += truth.size / signals.RATE_HZ + gap_s
    take = signals.in_noise(signals.placed(*events, seconds=at_s + 0.2), snr_db)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "known.flac"
        write_flac(path, take.astype(np.float32), signals.RATE_HZ)
        document = draft_take(path)
    offset = document.instrument.tuning_offset_cents or 0.0
    times_s, midi = [], []
    for drafted in document.notes:
        contour = drafted.note.contour
        if contour is None:
            continue
        for step, cents in enumerate(contour.cents):
            if cents is not None:
                times_s.append(contour.start_s + step * contour.hop_s)
                midi.append(drafted.note.midi + (cents + offset) / 100)
    return np.concatenate([_against(truth, at, np.array(times_s), np.array(midi)) for at, truth in spans])


def _against(
    truth_hz: signals.Floats, start_s: float, times_s: NDArray[np.float64], midi: NDArray[np.float64]
) -> NDArray[np.float64]:
    length_s = truth_hz.size / signals.RATE_HZ
    inside = (times_s > start_s + AFTER_ONSET_S) & (times_s < start_s + length_s - BEFORE_END_S)
    at = ((times_s[inside] - start_s) * signals.RATE_HZ).astype(int)
    true_midi = 69 + 12 * np.log2(truth_hz[at] / 440.0)
    if not inside.any():
        return np.array([np.inf])  # a pitch that was not read at all is not left out of the figure
    return 100 * (midi[inside] - true_midi)
