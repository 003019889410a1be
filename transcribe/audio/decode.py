"""A media file's audio track, block by block, each block with its time from the start of the file."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from transcribe.errors import ReadError

if TYPE_CHECKING:
    from av.audio.frame import AudioFrame
    from av.audio.stream import AudioStream
    from av.container import InputContainer
    from av.packet import Packet
    from av.stream import Stream

# Lossy decoders (mp3's bit reservoir, the overlap of AAC and Opus) need a run-up after a seek: decoded, then dropped.
RUN_UP_S = 0.5
MEDIA_MEND = "Give a sound or video file: wav, flac, ogg, mp3, m4a, mp4, mov, mkv or webm."
BARE_STREAMS = frozenset({"aac", "loas", "ac3", "eac3", "dts"})  # no container round them that could tell a length
ANOTHER_COPY_MEND = "Open it in a player to see whether it is whole; export or copy it again."


@dataclass(frozen=True, slots=True, eq=False)
class Block:
    """A stretch of sound as it left the decoder."""

    time_s: float | None  # of the first sample, from the start of the file; None: it follows the block before
    rate_hz: int
    channels: NDArray[np.float32]  # shape (n_channels, n_samples), full scale is 1.0


@dataclass(slots=True)
class OpenMedia:
    """An open file: its audio track, its start and length, and where it turned out to be damaged."""

    container: InputContainer
    stream: AudioStream
    origin_s: float  # what the container calls its start; subtracted from every time
    duration_s: float | None  # from the origin, as the file declares it; None: it does not, or it would be a guess
    damaged_s: list[float] = field(default_factory=list)  # times near which a packet could not be decoded


def check_file(path: Path) -> None:
    """Raise ReadError unless ``path`` is a file with something in it that may be read."""
    try:
        if path.is_dir():
            raise ReadError(f"{path} is a folder, not a recording", "Give one file in it.")
        size = path.stat().st_size
        with path.open("rb"):
            pass
    except FileNotFoundError:
        raise ReadError(f"no such file: {path}", "Check the name and the folder you are in.") from None
    except PermissionError:
        raise ReadError(
            f"not allowed to read {path}", "Change the file's permissions, or copy it to a folder of yours."
        ) from None
    except (OSError, ValueError) as error:
        raise ReadError(f"cannot read {path}: {error}", "Copy it to a local folder and try again.") from None
    if size == 0:
        raise ReadError(f"{path} is empty (0 bytes)", "Record or export it again.")


@contextmanager
def open_media(path: Path) -> Iterator[OpenMedia]:
    """Open a file for its audio track; times count from the start of the container, as a player shows them.

    Raises ReadError for a file that is missing, unreadable, not media, or without an audio track.
    """
    import av  # late: keeps `--help` fast

    check_file(path)
    try:
        # Only local files may be opened, also from inside play lists.
        container = av.open(str(path.resolve()), options={"protocol_whitelist": "file"})
    except (av.FFmpegError, OSError, ValueError):
        raise ReadError(f"{path} is not a sound or video file, or is damaged", MEDIA_MEND) from None
    with container:
        stream = container.streams.best("audio")
        if stream is None:
            raise ReadError(f"{path} has no audio track", "Export it again with sound, or give the sound file itself.")
        # A start below zero is a codec's priming, not a moment of the recording.
        origin_s = max(0.0, (container.start_time or 0) / av.time_base)
        declared = (container.duration or 0) > 0 and not _is_guessed(container, stream)
        duration_s = container.duration / av.time_base if declared and container.duration else None
        yield OpenMedia(container, stream, origin_s, duration_s)  # type: ignore[arg-type]


def _is_guessed(container: InputContainer, stream: Stream) -> bool:
    """Whether the length is a guess from the bit rate of the first seconds: a bare stream tells none.

    Nor does an mp3 file without the header of its encoder, which also says where the sound starts.
    """
    name = container.format.name
    return name in BARE_STREAMS or (name == "mp3" and not stream.start_time)


def blocks(media: OpenMedia, *, from_s: float = 0.0) -> Iterator[Block]:
    """Yield the track's blocks in order, from at or before ``from_s``; damage is noted in ``media.damaged_s``.

    After a seek, blocks may begin later than asked in a file with a broken index: the caller looks at ``time_s``.
    """
    import av

    if from_s > RUN_UP_S:
        try:
            media.container.seek(round((from_s - RUN_UP_S + media.origin_s) * av.time_base))
        except av.FFmpegError:
            media.container.seek(0)  # no index: read through
    packets = media.container.demux(media.stream)
    while True:
        try:
            packet = next(packets)
        except (StopIteration, EOFError):
            return
        except av.FFmpegError:
            media.damaged_s.append(_packet_time_s(media, None))
            return
        time_s = _packet_time_s(media, packet)
        if packet.size and time_s + _packet_length_s(packet) < from_s - RUN_UP_S:
            continue
        try:
            frames = packet.decode()
        except EOFError:
            return
        except av.FFmpegError:
            media.damaged_s.append(time_s)
            continue
        for frame in frames:
            yield _block(frame, media.origin_s)


def _packet_time_s(media: OpenMedia, packet: Packet | None) -> float:
    if packet is None or packet.pts is None or packet.time_base is None:
        return float("inf")
    return float(packet.pts * packet.time_base) - media.origin_s


def _packet_length_s(packet: Packet) -> float:
    if not packet.duration or packet.time_base is None:
        return RUN_UP_S
    return float(packet.duration * packet.time_base)


def _block(frame: AudioFrame, origin_s: float) -> Block:
    samples = frame.to_ndarray()
    n_channels = frame.layout.nb_channels
    if not frame.format.is_planar:
        samples = samples.reshape(-1, n_channels).T
    if samples.dtype.kind == "u":
        channels = (samples.astype(np.float32) - 128.0) / 128.0
    elif samples.dtype.kind == "i":
        channels = samples.astype(np.float32) / 2.0 ** (8 * samples.dtype.itemsize - 1)
    else:
        channels = samples.astype(np.float32)
    return Block(None if frame.time is None else frame.time - origin_s, frame.sample_rate, channels)
