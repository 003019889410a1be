"""Maps of several voices to strands with their attacks: one strand a note, crossings, unisons and re-picks allowed.

Onsets are where the picked or legato map peaks. New notes claim the contour's peaks near them first, then those that
run on; a note ends when its contour is gone, or when its pitch is struck again. Contour that nobody claims and no
onset began is a fast bend of a note just lost, or room and echo.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from transcribe.evidence.voice_maps import VoiceMaps, shares
from transcribe.notes.begins import Begin, possible_begins

Floats = NDArray[np.float64]
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
    ahead: tuple[int, int] = (1, 6)  # frames after an onset in which its contour is looked for, to tell its pitch
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
    rejoin_before: int = 9  # unclaimed contour that starts so many frames before a note is lost
    rejoin_after: int = 3  # or after
    rejoin_semitones: float = 3.3  # and so near in pitch is that note's, bending fast


@dataclass(frozen=True, slots=True, eq=False)
class Voice:
    """One note as the maps show it; frame k of it is frame ``first + k`` of the maps."""

    onset_s: float
    first: int
    midi: Floats  # (n_frames,) sounding pitch
    contour: Floats  # (n_frames,) 0 to 1
    begin: How
    sure: float  # of its onset, 0 to 1
    string: Floats  # (6,) weight of each string, summing to 1
    palm: float  # 0 to 1
    harmonic: float

    @property
    def last(self) -> int:
        """Its last frame."""
        return self.first + self.midi.size - 1


@dataclass(slots=True)
class _Track:
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


def find_voices(
    maps: VoiceMaps, rules: VoiceRules | None = None, *, begins: tuple[Begin, ...] | None = None
) -> tuple[Voice, ...]:
    """Return the notes the maps show, in order of onset.

    ``begins`` says where notes begin (see ``judged_begins``); without it the height of the onset maps does.
    """
    rules = rules or VoiceRules()
    at_frame: dict[int, list[Begin]] = {}
    for begin in _loud_enough(maps, rules) if begins is None else begins:
        at_frame.setdefault(begin.frame, []).append(begin)
    done: list[_Track] = []
    running: list[_Track] = []
    contour = shares(maps.contour)
    for frame in range(maps.n_frames):
        pitch, level = _peaks(contour[frame], maps, frame, rules)
        fresh = [
            _Track(frame, _pitch_ahead(contour, maps, begin, rules), begin.kind, begin.sure, begin.at, begin.row)
            for begin in at_frame.get(frame, ())
        ]
        for track in fresh:
            struck = [old for old in running if abs(old.pitch - track.pitch) <= rules.struck_semitones]
            done += struck
            running = [old for old in running if old not in struck]
        running = [*fresh, *running]
        near = range(frame - rules.leap_before, frame + rules.leap_after + 1)
        beginning = [maps.lowest_midi + begin.row for at in near for begin in at_frame.get(at, ())]
        _claim(running, pitch, level, frame, beginning, rules)
        lost = [t for t in running if t.missed > (rules.most_missed if t.seen else rules.most_waited)]
        done += lost
        running = [track for track in running if track not in lost]
        _begin_unclaimed(running, pitch, level, frame, rules)
    done += running
    tracks = _rejoined([track for track in done if track.seen], rules)
    voices = [_voice(track, maps, rules) for track in tracks]
    return tuple(sorted((v for v in voices if v is not None), key=lambda v: (v.onset_s, v.midi[0])))


def _loud_enough(maps: VoiceMaps, rules: VoiceRules) -> tuple[Begin, ...]:
    """Beginnings by the height of the onset maps alone."""
    least = {"picked": rules.picked, "legato": rules.legato}
    return tuple(begin for begin in possible_begins(maps) if begin.peak >= least[begin.kind])


def _pitch_ahead(contour: NDArray[np.float32], maps: VoiceMaps, begin: Begin, rules: VoiceRules) -> float:
    """The pitch that stands nearest an onset's semitone just after it."""
    first, last = rules.ahead
    middle = begin.row * maps.sub_bins + maps.sub_bins // 2
    bins = np.arange(max(0, middle - maps.sub_bins + 1), min(contour.shape[1], middle + maps.sub_bins))
    after = contour[begin.frame + first : begin.frame + last + 1, bins]
    before = contour[max(0, begin.frame - last) : max(1, begin.frame - first), bins]
    if after.size == 0 or after.mean(axis=0).max() < rules.faint_contour:
        return float(maps.lowest_midi + begin.row)
    grown = after.mean(axis=0) - 0.5 * before.mean(axis=0)  # what sounded before is likelier another's
    best = int(bins[grown.argmax()])
    frame = min(begin.frame + last, maps.n_frames - 1)
    return float(maps.bin_midi[best] + np.clip(maps.offset[frame, best] / 64.0, -1, 1) / maps.sub_bins)


def _peaks(row: NDArray[np.float32], maps: VoiceMaps, frame: int, rules: VoiceRules) -> tuple[Floats, Floats]:
    """Pitches and sureness of one frame's contour peaks."""
    padded = np.concatenate(([0.0], row, [0.0]))
    at = np.flatnonzero((row >= rules.faint_contour) & (row >= padded[:-2]) & (row > padded[2:]))
    offset = np.clip(maps.offset[frame, at] / 64.0, -1, 1) / maps.sub_bins
    return maps.bin_midi[at] + offset, row[at].astype(np.float64)


def _claim(
    running: list[_Track], pitch: Floats, level: Floats, frame: int, beginning: list[int], rules: VoiceRules
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
        for at in np.flatnonzero(np.abs(pitch - track.pitch) <= reach):
            k = int(at)
            away = abs(float(pitch[k]) - track.pitch)
            another = any(abs(pitch[k] - there) <= rules.leap_semitones for there in beginning)
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
            track.midi += list(np.linspace(track.pitch, float(pitch[k]), track.missed + 2)[1:-1])
            track.contour += [rules.faint_contour] * track.missed
        if not track.seen:
            track.first = frame
        track.pitch, track.missed, track.seen = float(pitch[k]), 0, True
        track.midi.append(float(pitch[k]))
        track.contour.append(float(level[k]))
    for track in running:
        if id(track) not in served:
            track.missed += 1


def _begin_unclaimed(running: list[_Track], pitch: Floats, level: Floats, frame: int, rules: VoiceRules) -> None:
    """Follow contour that no note claimed: it may prove to be a note's fast bend."""
    for k in range(pitch.size):
        if level[k] >= rules.contour and all(not t.seen or t.missed or abs(t.pitch - pitch[k]) > 0.3 for t in running):
            at, sure = float(pitch[k]), float(level[k])
            running.append(_Track(frame, at, "unknown", 0.0, float(frame), -1, [at], [sure], seen=True))


def _rejoined(tracks: list[_Track], rules: VoiceRules) -> list[_Track]:
    """Put tracks that nothing began behind the notes they go on from; drop those that go on from none."""
    begun = sorted((t for t in tracks if t.begin != "unknown"), key=lambda t: t.first)
    loose = sorted((t for t in tracks if t.begin == "unknown"), key=lambda t: t.first)
    for track in loose:
        best = None
        for note in begun:
            end = note.first + len(note.midi) - 1
            near = abs(note.midi[-1] - track.midi[0]) <= rules.rejoin_semitones
            if near and -rules.rejoin_before <= track.first - end <= rules.rejoin_after and track.first > note.first:
                distance = abs(note.midi[-1] - track.midi[0]) + 0.1 * abs(track.first - end)
                best = (distance, note) if best is None or distance < best[0] else best
        if best is not None:
            _append(best[1], track)
        elif track.first <= 2 and len(track.midi) >= 20:  # it was sounding when the take began
            begun.append(track)
    return begun


def _append(note: _Track, more: _Track) -> None:
    """Let a note run on along another track; where both have a pitch the new one holds."""
    keep = max(1, more.first - note.first)
    gap = more.first - (note.first + len(note.midi))
    if gap > 0:
        note.midi += list(np.linspace(note.midi[-1], more.midi[0], gap + 2)[1:-1])
        note.contour += [0.5] * gap
    note.midi = [*note.midi[:keep], *more.midi]
    note.contour = [*note.contour[:keep], *more.contour]


def _voice(track: _Track, maps: VoiceMaps, rules: VoiceRules) -> Voice | None:
    contour = np.array(track.contour)
    frames = track.first + np.arange(contour.size)
    rows = np.clip(np.round(track.midi).astype(int) - maps.lowest_midi, 0, maps.held.shape[1] - 1)
    sure = np.flatnonzero((contour >= rules.last_contour) | (shares(maps.held[frames, rows]) >= rules.last_held))
    if sure.size == 0 or sure[-1] + 1 < rules.least_frames:
        return None
    last = int(sure[-1]) + 1
    midi, contour = np.array(track.midi[:last]), contour[:last]
    frames, rows = frames[:last], rows[:last]
    string = shares(maps.string[frames, rows]).sum(axis=0).astype(np.float64)
    begun = min(max(0, round(track.onset)), maps.n_frames - 1)
    return Voice(
        onset_s=maps.start_s + track.onset * maps.hop_s,
        first=track.first,
        midi=midi,
        contour=contour,
        begin=track.begin,
        sure=track.sure,
        string=string / max(float(string.sum()), 1e-9),
        palm=float(maps.palm[begun, track.row] / 255) if 0 <= track.row < maps.palm.shape[1] else 0.0,
        harmonic=float(maps.harmonic[begun, track.row] / 255) if 0 <= track.row < maps.palm.shape[1] else 0.0,
    )
