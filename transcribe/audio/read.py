"""Any sound or video file to one mono Recording, with times counted from the start of the file."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from transcribe.audio.decode import ANOTHER_COPY_MEND, MEDIA_MEND, OpenMedia, blocks, check_file, open_media
from transcribe.audio.read_remarks import promised_end_s, remarks_on
from transcribe.audio.recording import Recording
from transcribe.audio.tape import Tape, Window
from transcribe.errors import ReadError, SettingsError, TakeError
from transcribe.settings import AudioSettings

Progress = Callable[[float], None]  # called with the part done, 0 to 1
HASH_CHUNK_BYTES = 1 << 20
CUT_MEND = "Cut the lick out with --from and --to, in seconds: for example --from 75 --to 90."


@dataclass(frozen=True, slots=True)
class FileFacts:
    """What identifies a file in a take document."""

    file: str  # name without folders
    sha256: str
    duration_s: float | None  # to the end of its sound, as it declares it; None when it does not, or guesses
    sample_rate_hz: int  # of the audio track, before anything was resampled


def read_recording(
    path: str | Path,
    *,
    from_s: float | None = None,
    to_s: float | None = None,
    to_s_asked: bool = True,
    progress: Progress | None = None,
    settings: AudioSettings | None = None,
) -> Recording:
    """Return the audio track of a file as one channel, from ``from_s`` to ``to_s`` (seconds from the file's start).

    The first sample's time is in ``start_s``: the sound of a video often begins after its picture. Channels are
    averaged; where they cancel each other, or where all but one are silent, the strongest channel alone is taken.
    The sample rate stays as it is up to ``settings.max_rate_hz``. A passage is sought, not read up to, so memory and
    time follow the length of the passage. What a person should know (damage, cancelling channels) is in ``remarks``;
    that the sound ends before ``to_s`` is, where a person asked for that end.

    Raises
    ------
    ReadError
        If the file is missing, unreadable, not media, without an audio track, or nothing in it can be decoded.
    SettingsError
        If ``from_s`` and ``to_s`` are below zero, the wrong way round, or outside the file.
    TakeError
        If the passage is shorter than ``settings.min_take_s`` or longer than ``settings.max_take_s``.
    """
    settings = settings or AudioSettings()
    path = Path(path)
    window = _window(from_s, to_s)
    tape, remarks = _listen(path, window, settings, progress, channel=None, to_s_asked=to_s_asked)
    alone, why = _channel_to_take_alone(tape, settings)
    if alone is not None:
        tape, remarks = _listen(path, window, settings, progress, channel=alone, to_s_asked=to_s_asked)
        if why:
            remarks = (why, *remarks)
    samples = tape.finish()
    length_s = tape.length_s
    if samples.size == 0 or length_s < settings.min_take_s:
        raise TakeError(
            f"{path} is too short: {1000 * length_s:.0f} ms of sound there; a take needs"
            f" {1000 * settings.min_take_s:.0f} ms",
            "Give a longer take, or a wider --from and --to.",
        )
    if progress:
        progress(1.0)
    return Recording(samples, tape.rate_out_hz, max(0.0, tape.start_s), remarks)


def source_facts(path: str | Path) -> FileFacts:
    """Return a file's name, SHA-256 (read in chunks), declared length and sample rate; raises ReadError."""
    path = Path(path)
    with open_media(path) as media:
        duration_s = promised_end_s(media) or media.duration_s
        rate_hz = media.stream.rate or media.stream.codec_context.sample_rate
    return FileFacts(path.name, file_sha256(path), duration_s, rate_hz)


def file_sha256(path: str | Path) -> str:
    """Return a file's SHA-256 as 64 hexadecimal digits, read in chunks; raises ReadError."""
    path = Path(path)
    check_file(path)
    digest = hashlib.sha256()
    with path.open("rb") as file:
        while chunk := file.read(HASH_CHUNK_BYTES):
            digest.update(chunk)
    return digest.hexdigest()


def _window(from_s: float | None, to_s: float | None) -> Window:
    for name, value in (("--from", from_s), ("--to", to_s)):
        if value is not None and not (math.isfinite(value) and value >= 0):
            raise SettingsError(f"{name} is {value:g} s", "Give seconds from the start of the file, 0 or more.")
    start_s, end_s = from_s or 0.0, math.inf if to_s is None else to_s
    if not start_s < end_s:
        raise SettingsError(
            f"--from {start_s:g} s is not before --to {end_s:g} s", "Give the start first and a later end."
        )
    return Window(start_s, end_s)


def _listen(
    path: Path,
    window: Window,
    settings: AudioSettings,
    progress: Progress | None,
    *,
    channel: int | None,
    to_s_asked: bool,
) -> tuple[Tape, tuple[str, ...]]:
    """Decode the window once onto a tape; also return what was odd about the file."""
    with open_media(path) as media:
        _check_length(path, media, window, settings)
        tape = _decode(path, media, window, settings, progress, channel, seek=True)
        if tape.began_late:  # the file's index pointed past the passage: read through from the start instead
            media.damaged_s.clear()
            with open_media(path) as again:
                tape = _decode(path, again, window, settings, progress, channel, seek=False)
                media.damaged_s.extend(again.damaged_s)
        if tape.n_samples == 0:
            _explain_nothing(path, media, tape, window)
        return tape, remarks_on(media, tape, window, to_s_asked=to_s_asked)


def _check_length(path: Path, media: OpenMedia, window: Window, settings: AudioSettings) -> None:
    """Refuse what is certain to fail before anything is decoded."""
    if media.duration_s is None:
        return
    if window.from_s >= media.duration_s:
        raise SettingsError(
            f"{path} ends at {media.duration_s:.2f} s; --from is {window.from_s:g} s", "Give an earlier --from."
        )
    if min(window.to_s, media.duration_s) - window.from_s > settings.max_take_s + 1.0:
        raise _too_long(path, min(window.to_s, media.duration_s) - window.from_s, settings)


def _too_long(path: Path, length_s: float, settings: AudioSettings) -> TakeError:
    return TakeError(
        f"{path}: {_minutes(length_s)} is too long for one take (limit {_minutes(settings.max_take_s)})", CUT_MEND
    )


def _minutes(length_s: float) -> str:
    return f"{length_s:.0f} s" if length_s < 120 else f"{length_s / 60:.1f} min".replace(".0 ", " ")


def _decode(
    path: Path,
    media: OpenMedia,
    window: Window,
    settings: AudioSettings,
    progress: Progress | None,
    channel: int | None,
    *,
    seek: bool,
) -> Tape:
    tape = Tape(window, channel=channel, max_rate_hz=settings.max_rate_hz)
    end_s = min(window.to_s, media.duration_s or window.to_s)
    for block in blocks(media, from_s=window.from_s if seek else 0.0):
        if not tape.add(block):
            break
        if tape.length_s > settings.max_take_s + 1.0:
            raise _too_long(path, tape.length_s, settings)
        if progress and math.isfinite(end_s):
            progress(min(1.0, max(0.0, (tape.heard_to_s - window.from_s) / (end_s - window.from_s))))
    return tape


def _explain_nothing(path: Path, media: OpenMedia, tape: Tape, window: Window) -> None:
    if tape.heard_to_s > 0 and not media.damaged_s:
        raise SettingsError(
            f"{path} has no sound between {window.from_s:g} s and {window.to_s:g} s; its sound runs"
            f" from {max(0.0, tape.heard_from_s):.2f} s to {tape.heard_to_s:.2f} s",
            "Give a --from and --to inside it.",
        )
    mend = ANOTHER_COPY_MEND if media.damaged_s else MEDIA_MEND
    raise ReadError(f"nothing in the audio track of {path} could be decoded", mend)


def _channel_to_take_alone(tape: Tape, settings: AudioSettings) -> tuple[int | None, str]:
    """Return the channel to use instead of the average, if any, and the remark that explains it."""
    power = tape.channel_power
    if power.size < 2 or not power.any():
        return None, ""
    strongest = int(np.argmax(power))
    if tape.mix_power < power[strongest] * 10 ** (settings.cancelled_below_db / 10):
        return strongest, (
            "The channels cancel each other (one is wired the other way round), so only the stronger one was used."
        )
    others = np.delete(power, strongest)
    if np.all(others < power[strongest] * 10 ** (settings.silent_channel_db / 10)):
        return strongest, ""
    return None, ""
