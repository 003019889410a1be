"""A recording made ready for listening: offset, hum and rumble gone, level and clipping checked."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from transcribe.audio.clipping import Clipping, measure_clipping
from transcribe.audio.hum import find_hum, remove_rumble
from transcribe.audio.recording import Recording
from transcribe.errors import TakeError
from transcribe.settings import AudioSettings

NOTHING_DBFS = -200.0  # stands for no sound at all


@dataclass(frozen=True, slots=True, eq=False)
class Conditioned:
    """A take ready to be listened to, and what was found on the way."""

    recording: Recording
    remarks: tuple[str, ...]  # one sentence each: those of the recording, then what was found here
    gain_db: float  # how far the level was raised; levels measured later lie this much too high
    peak_dbfs: float  # of the take as it came
    clipped_share: float  # of the sounding samples, 0 to 1


def condition(
    recording: Recording, settings: AudioSettings | None = None, *, accept_clipping: bool = False
) -> Conditioned:
    """Return the take without offset, mains hum and rumble, each removed only when it is really there.

    A very quiet take is raised. Nothing moves in time. Faults that leave doubt are sentences in ``remarks``.

    Raises
    ------
    TakeError
        If the take is silent, or so clipped that bends and attacks cannot be trusted (unless ``accept_clipping``).
    """
    settings = settings or AudioSettings()
    samples, rate_hz = recording.samples, recording.rate_hz
    mean, peak_dbfs = _middle_and_peak(recording)
    if peak_dbfs < settings.silent_dbfs:
        heard = (
            "is digital silence"
            if peak_dbfs <= NOTHING_DBFS
            else f"never gets louder than {peak_dbfs:.0f} dB below full scale"
        )
        raise TakeError(
            f"there is nothing to hear: the take {heard.replace('-', '')}",
            "Check that the right input was recorded and its level turned up; --from and --to choose another passage.",
        )
    remarks = list(recording.remarks)
    clipping = measure_clipping(samples, rate_hz, settings=settings)
    remarks += _clipping_remarks(clipping, settings, accept_clipping)
    if abs(mean) > settings.offset_share:
        remarks.append(f"The input was off centre by {100 * abs(mean):.1f} % of full scale; that was taken out.")
    if mean:
        samples = samples - np.float32(mean)
    hum = find_hum(samples, rate_hz, settings=settings)
    if hum is not None:
        samples = samples - hum.samples
        remarks.append(f"Mains hum at {hum.mains_hz:.0f} Hz ({hum.level_db:.0f} dB against the playing) was taken out.")
    calmer = remove_rumble(samples, rate_hz, settings=settings)
    if calmer is not None:
        samples = calmer
        remarks.append(f"Rumble below {settings.rumble_below_hz:.0f} Hz was filtered out.")
    gain_db = 0.0
    if peak_dbfs < settings.quiet_dbfs:
        remarks.append(
            f"The take is very quiet (peak {peak_dbfs:.0f} dB below full scale): hiss may hide soft notes.".replace(
                "-", ""
            )
        )
        gain_db = settings.quiet_raised_to_dbfs - peak_dbfs
        samples = samples * np.float32(10 ** (gain_db / 20))
    done = replace(recording, samples=np.ascontiguousarray(samples, dtype=np.float32), remarks=tuple(remarks))
    return Conditioned(done, tuple(remarks), gain_db, peak_dbfs, clipping.share)


def is_silent(recording: Recording, settings: AudioSettings | None = None) -> bool:
    """Return whether nothing in a recording is loud enough to be heard."""
    return _middle_and_peak(recording)[1] < (settings or AudioSettings()).silent_dbfs


def _middle_and_peak(recording: Recording) -> tuple[float, float]:
    """The offset of the samples, and how far they swing from it in dB below full scale."""
    mean = float(recording.samples.mean(dtype=np.float64))
    peak = max(float(recording.samples.max()) - mean, mean - float(recording.samples.min()))
    return mean, float(20 * np.log10(max(peak, 10 ** (NOTHING_DBFS / 20))))


def _clipping_remarks(clipping: Clipping, settings: AudioSettings, accept_clipping: bool) -> list[str]:
    at_full_scale = clipping.top >= settings.clipping_full_scale
    sawn_off = clipping.corner >= settings.clipping_corner
    percent = f"{100 * clipping.share:.2g} %"
    if at_full_scale and sawn_off and clipping.share >= settings.clipping_refuse_share:
        if not accept_clipping:
            raise TakeError(
                f"the take is badly clipped: {percent} of the playing is cut off at full scale",
                "Record it again with the input turned down, or use --accept-clipping to draft it all the same.",
            )
        return [f"The take is badly clipped ({percent} of the playing): attacks and soft notes may be wrong."]
    if at_full_scale and clipping.corner >= settings.clipping_corner / 2:
        if clipping.share >= settings.clipping_remark_share:
            return [f"The loudest moments are clipped ({percent} of the playing); turn the input down a little."]
    elif sawn_off and clipping.share >= settings.clipping_refuse_share / 5:
        return [f"The waves are sawn off below full scale ({percent}): perhaps clipped, then turned down."]
    if clipping.past_share >= settings.clipping_past_share:
        return [
            f"{100 * clipping.past_share:.2g} % of the playing goes past full scale:"
            " it may have been clipped before this file was made."
        ]
    return []
