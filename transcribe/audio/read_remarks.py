"""What a person should know about how a file was read: damage, sound that is missing, ends that come too soon."""

from __future__ import annotations

import math

from transcribe.audio.decode import OpenMedia
from transcribe.audio.tape import Tape, Window

EARLY_S = 0.5  # sound that ends no more than this too soon: a matter of the last blocks


def remarks_on(media: OpenMedia, tape: Tape, window: Window, *, to_s_asked: bool) -> tuple[str, ...]:
    """Return what was odd about a file, one sentence each; ``to_s_asked``: a person asked for the window's end."""
    found = []
    if media.damaged_s:
        first_s = next((t for t in media.damaged_s if math.isfinite(t)), tape.heard_to_s)
        found.append(
            f"The file is damaged near {first_s:.2f} s ({len(media.damaged_s)}"
            f" {'place' if len(media.damaged_s) == 1 else 'places'}): what could be decoded was used."
        )
    if tape.filled_s > 0:
        found.append(
            f"{tape.filled_s:.2f} s of sound is missing near {tape.filled_at_s:.2f} s (the file is damaged there, or"
            " the recording dropped out); silence stands in its place."
        )
    if tape.unreadable_samples:
        found.append(f"{tape.unreadable_samples} samples were not numbers and were taken as silence.")
    if tape.stopped_by:
        found.append(tape.stopped_by)
    promised_s = promised_end_s(media)
    if promised_s is not None and ends_before(tape.heard_to_s, min(promised_s, window.to_s)) and not media.damaged_s:
        found.append(
            f"The file promises {promised_s:.2f} s of sound but ends at {tape.heard_to_s:.2f} s: it may be cut short."
        )
    elif to_s_asked:
        found += ended_early(tape.heard_to_s, window.to_s)
    return tuple(found)


def ends_before(end_s: float, to_s: float) -> bool:
    """Return whether sound ends so far before ``to_s`` that it is no matter of a block more or less."""
    return end_s < to_s - EARLY_S


def ended_early(end_s: float, to_s: float) -> tuple[str, ...]:
    """Return the remark that sound ends before ``to_s``, the end that a person asked for; none where it does not."""
    if math.isinf(to_s) or not ends_before(end_s, to_s):
        return ()
    return (f"The sound ends at {end_s:.2f} s, before --to {to_s:g} s.",)


def promised_end_s(media: OpenMedia) -> float | None:
    """Return where the audio track should end by the file's own word; a video's picture may well last longer."""
    stream = media.stream
    if media.duration_s is None:
        return None
    if stream.duration and stream.time_base:
        return float((stream.duration + (stream.start_time or 0)) * stream.time_base) - media.origin_s
    return media.duration_s if not media.container.streams.video else None
