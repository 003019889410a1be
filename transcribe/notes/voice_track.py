"""A voice while it is followed from frame to frame: which peak of the contour is whose, and what belongs together."""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal

import numpy as np

How = Literal["picked", "legato", "unknown"]


@dataclass(frozen=True, slots=True)
class VoiceRules:
    """Thresholds of this file; those of the maps were chosen on made clips, apart from all real recordings."""

    contour: float = 0.5  # a peak of the contour at least this sure begins what no onset began
    faint_contour: float = 0.25  # and this sure is a note's that is under way
    last_contour: float = 0.35  # a note ends where it was last this sure,
    last_held: float = 0.4  # or the map of what is held
    picked: float = 0.45
    legato: float = 0.4
    ahead: int = 6  # frames from an onset on in which its contour is looked for, to tell its pitch
    grown: float = 0.55  # by so much it stands above half of what was there before
    claim_semitones: float = 0.6  # a new note claims a peak this near
    struck_semitones: float = 0.5  # and ends a note that sounds this near
    follow_semitones: float = 0.7  # a running note follows this far from frame to frame
    missed_semitones: float = 0.25  # and this much farther for each frame it was lost
    most_missed: int = 2  # frames
    leap_semitones: float = 0.5  # a running note that moves farther from one frame to the next leaps
    leap_before: int = 4  # frames around a leap in which a note that begins there owns the pitch
    leap_after: int = 6
    most_waited: int = 7  # frames a new note may wait for its contour to show
    shared_frames: int = 400  # two notes may lie on one peak so long: crossings, unisons
    least_frames: int = 5  # shorter notes are no notes
    least_frames_onward: int = 2  # but for the way into a legato note
    onward_semitones: float = 4.5
    rejoin_before: int = 9  # unclaimed contour that starts so many frames before a note is lost
    rejoin_after: int = 3  # or after
    rejoin_same: int = 40  # or so long after at its own pitch: it was drowned for a while
    rejoin_semitones: float = 3.3  # and so near in pitch is that note's, bending fast


@dataclass(slots=True)
class Track:
    """A voice while it is followed."""

    first: int
    pitch: float
    begin: How
    sure: float
    onset: float  # in frames, with a fraction
    row: int
    midi: list[float] = field(default_factory=list)
    contour: list[float] = field(default_factory=list)
    missed: int = 0
    shared: int = 0
    seen: bool = False


def claim(
    running: list[Track],
    pitch: Sequence[float],
    level: Sequence[float],
    frame: int,
    beginning: list[int],
    rules: VoiceRules,
) -> None:
    """Give every running note its peak of this frame, new notes first, near pairs before far ones.

    A running note does not leap to a pitch at which another begins about now (``beginning``, MIDI numbers).
    """
    owners: dict[int, int] = {}
    waiting = list(running)
    pairs = []
    for track in waiting:
        reach = rules.claim_semitones
        if track.seen:
            reach = rules.follow_semitones + rules.missed_semitones * track.missed
        for k, there in enumerate(pitch):
            away = abs(there - track.pitch)
            if away > reach:
                continue
            another = any(abs(there - begun) <= rules.leap_semitones for begun in beginning)
            if not (track.seen and another and away > rules.leap_semitones):
                pairs.append((track.seen, away, track, k))
    served: set[int] = set()
    for _, _, track, k in sorted(pairs, key=lambda pair: pair[:2]):
        if id(track) in served or (k in owners and track.shared >= rules.shared_frames):
            continue
        if k in owners and not track.seen:
            continue
        track.shared = track.shared + 1 if k in owners else 0
        owners[k] = id(track)
        served.add(id(track))
        if track.seen and track.missed:
            track.midi += list(np.linspace(track.pitch, pitch[k], track.missed + 2)[1:-1])
            track.contour += [rules.faint_contour] * track.missed
        if not track.seen:
            track.first = frame
        track.pitch, track.missed, track.seen = pitch[k], 0, True
        track.midi.append(pitch[k])
        track.contour.append(level[k])
    for track in running:
        if id(track) not in served:
            track.missed += 1


def begin_unclaimed(
    running: list[Track], pitch: Sequence[float], level: Sequence[float], frame: int, rules: VoiceRules
) -> None:
    """Follow contour that no note claimed: it may prove to be a note's fast bend."""
    for at, sure in zip(pitch, level, strict=True):
        if sure >= rules.contour and all(not t.seen or t.missed or abs(t.pitch - at) > 0.3 for t in running):
            running.append(Track(frame, at, "unknown", 0.0, float(frame), -1, [at], [sure], seen=True))


def rejoined(tracks: list[Track], rules: VoiceRules) -> list[Track]:
    """Put tracks that nothing began behind the notes they go on from; drop those that go on from none."""
    begun = sorted((t for t in tracks if t.begin != "unknown"), key=lambda t: t.first)
    loose = sorted((t for t in tracks if t.begin == "unknown"), key=lambda t: t.first)
    farthest = max(rules.rejoin_same, rules.rejoin_after)
    ahead, within = deque(begun), []  # notes yet to begin, and those that began and ended not too long ago
    cut: list[Track] = []
    for track in loose:
        while ahead and ahead[0].first < track.first:
            within.append(ahead.popleft())
        within = [note for note in within if track.first - note.first - len(note.midi) < farthest]
        best = None
        for note in [*within, *cut]:
            end = note.first + len(note.midi) - 1
            away = abs(note.midi[-1] - track.midi[0])
            longest = rules.rejoin_same if away <= rules.struck_semitones else rules.rejoin_after
            near = away <= rules.rejoin_semitones
            if near and -rules.rejoin_before <= track.first - end <= longest and track.first > note.first:
                distance = abs(note.midi[-1] - track.midi[0]) + 0.1 * abs(track.first - end)
                best = (distance, note) if best is None or distance < best[0] else best
        if best is not None:
            _append(best[1], track)
        elif track.first <= 2 and len(track.midi) >= 20:  # it was sounding when the take began
            cut.append(track)
    return [*begun, *cut]


def _append(note: Track, more: Track) -> None:
    """Let a note run on along another track; where both have a pitch the new one holds."""
    keep = max(1, more.first - note.first)
    gap = more.first - (note.first + len(note.midi))
    if gap > 0:
        note.midi += list(np.linspace(note.midi[-1], more.midi[0], gap + 2)[1:-1])
        note.contour += [0.5] * gap
    note.midi = [*note.midi[:keep], *more.midi]
    note.contour = [*note.contour[:keep], *more.contour]
