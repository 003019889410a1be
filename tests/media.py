"""Sound and video files written for a test with PyAV: any container, any codec, sound that starts after the picture."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import av
import numpy as np
from numpy.typing import NDArray

FRAMES_PER_SECOND = 5


def write_media(
    path: Path,
    samples: NDArray[np.float32],
    rate_hz: int,
    *,
    codec: str = "pcm_s16le",
    offset_s: float = 0.0,
    picture: str | None = None,
    picture_after_s: float = 0.0,
    options: dict[str, str] | None = None,
) -> Path:
    """Write samples, shape (n_samples,) or (n_channels, n_samples), from ``offset_s`` on, under a picture if asked.

    The picture goes on for ``picture_after_s`` after the sound. ``options`` are those of container and codec.
    """
    channels = np.atleast_2d(np.asarray(samples, dtype=np.float32))
    layout = {1: "mono", 2: "stereo", 6: "5.1"}[channels.shape[0]]
    with av.open(str(path), "w", options=options or {}) as container:
        video = container.add_stream(picture, rate=FRAMES_PER_SECOND) if picture else None
        audio = container.add_stream(codec, rate=rate_hz, layout=layout, options=options or {})
        if video is not None:
            video.width, video.height, video.pix_fmt = 64, 48, "yuv420p"
            _write_picture(container, video, channels.shape[1] / rate_hz + offset_s + picture_after_s)
        frame = av.AudioFrame.from_ndarray(np.ascontiguousarray(channels), format="fltp", layout=layout)
        frame.sample_rate, frame.time_base, frame.pts = rate_hz, Fraction(1, rate_hz), round(offset_s * rate_hz)
        cutter = av.AudioResampler(
            format=audio.format, layout=layout, rate=rate_hz, frame_size=audio.frame_size or None
        )
        for piece in [*cutter.resample(frame), *cutter.resample(None)]:
            container.mux(audio.encode(piece))
        container.mux(audio.encode(None))
    return path


def _write_picture(container: av.container.OutputContainer, video: av.video.VideoStream, seconds: float) -> None:
    for k in range(round(seconds * FRAMES_PER_SECOND)):
        frame = av.VideoFrame(64, 48, "yuv420p")
        frame.pts, frame.time_base = k, Fraction(1, FRAMES_PER_SECOND)
        container.mux(video.encode(frame))
    container.mux(video.encode(None))


def write_picture_alone(path: Path, seconds: float) -> Path:
    """Write a video without an audio track."""
    with av.open(str(path), "w") as container:
        video = container.add_stream("mpeg4", rate=FRAMES_PER_SECOND)
        video.width, video.height, video.pix_fmt = 64, 48, "yuv420p"
        _write_picture(container, video, seconds)
    return path
