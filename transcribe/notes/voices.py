"""Maps of several voices to strands with their attacks: one strand a note, crossings, unisons and re-picks allowed.

Onsets are where the picked or legato map peaks. New notes claim the contour's peaks near them first, then those that
run on; a note ends when its contour is gone, or when its pitch is struck again. Contour that nobody claims and no
onset began is a fast bend of a note just lost, or room and echo.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from transcribe.evidence.voice_maps import VoiceMaps, shares
from transcribe.notes.begins import Begin, possible_begins
from transcribe.notes.in_time import Moments
from transcribe.notes.voice_track import How, Track, VoiceRules, begin_unclaimed, claim, rejoined

Floats = NDArray[np.float64]


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

    @property
    def last(self) -> int:
        """Its last frame."""
        return self.first + self.midi.size - 1


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
    done: list[Track] = []
    running: list[Track] = []
    for frame, (pitch, level) in enumerate(_peaks(maps, rules)):
        fresh = [
            Track(frame, _pitch_ahead(maps, begin, rules), begin.kind, begin.sure, begin.at, begin.row)
            for begin in at_frame.get(frame, ())
        ]
        for track in fresh:
            struck = [old for old in running if abs(old.pitch - track.pitch) <= rules.struck_semitones]
            done += struck
            running = [old for old in running if old not in struck]
        running = [*fresh, *running]
        near = range(frame - rules.leap_before, frame + rules.leap_after + 1)
        beginning = [maps.lowest_midi + begin.row for at in near for begin in at_frame.get(at, ())]
        claim(running, pitch, level, frame, beginning, rules)
        lost = [t for t in running if t.missed > (rules.most_missed if t.seen else rules.most_waited)]
        done += lost
        running = [track for track in running if track not in lost]
        begin_unclaimed(running, pitch, level, frame, rules)
    done += running
    tracks = rejoined([track for track in done if track.seen], rules)
    legato = [track for track in tracks if track.begin == "legato"]
    starts = Moments(track.first for track in legato)
    voices = [_voice(track, maps, rules, least=_least_frames(track, legato, starts, rules)) for track in tracks]
    return tuple(sorted((v for v in voices if v is not None), key=lambda v: (v.onset_s, v.midi[0])))


def _loud_enough(maps: VoiceMaps, rules: VoiceRules) -> tuple[Begin, ...]:
    """Beginnings by the height of the onset maps alone."""
    least = {"picked": rules.picked, "legato": rules.legato}
    return tuple(begin for begin in possible_begins(maps) if begin.peak >= least[begin.kind])


def _pitch_ahead(maps: VoiceMaps, begin: Begin, rules: VoiceRules) -> float:
    """The pitch near an onset's semitone that is first to grow when it begins."""
    middle = begin.row * maps.sub_bins + maps.sub_bins // 2
    bins = np.arange(max(0, middle - maps.sub_bins + 1), min(maps.contour.shape[1], middle + maps.sub_bins))
    before = shares(maps.contour[max(0, begin.frame - rules.ahead) : max(1, begin.frame - 1), bins]).mean(axis=0)
    frames = np.arange(begin.frame, min(begin.frame + rules.ahead + 1, maps.n_frames))
    grown = shares(maps.contour[frames[:, None], bins]) - 0.5 * before  # what sounded before is likelier another's
    clear = np.flatnonzero(grown.max(axis=1) >= rules.grown)
    at = int(clear[0]) if clear.size else int(grown.max(axis=1).argmax())
    if grown[at].max() <= 0:
        return float(maps.lowest_midi + begin.row)
    best = int(bins[grown[at].argmax()])
    return float(maps.bin_midi[best] + np.clip(maps.offset[frames[at], best] / 64.0, -1, 1) / maps.sub_bins)


def _peaks(maps: VoiceMaps, rules: VoiceRules) -> Iterator[tuple[list[float], list[float]]]:
    """Pitches and sureness of each frame's contour peaks."""
    level = shares(maps.contour)
    padded = np.pad(level, ((0, 0), (1, 1)))
    frames, at = np.nonzero((level >= rules.faint_contour) & (level >= padded[:, :-2]) & (level > padded[:, 2:]))
    pitch = maps.bin_midi[at] + np.clip(maps.offset[frames, at] / 64.0, -1, 1) / maps.sub_bins
    told, sure = pitch.tolist(), level[frames, at].tolist()
    edges = np.searchsorted(frames, np.arange(maps.n_frames + 1)).tolist()
    for first, last in pairwise(edges):
        yield told[first:last], sure[first:last]


def _least_frames(track: Track, legato: list[Track], starts: Moments, rules: VoiceRules) -> int:
    """How long a voice must be: less where a finger goes on from it at once, as in a slide into a note.

    ``starts`` are the first frames of the ``legato`` tracks.
    """
    if track.begin != "picked":
        return rules.least_frames
    end, pitch = track.first + len(track.midi), track.midi[-1]
    onward = [abs(legato[n].midi[0] - pitch) for n in starts.within(rules.most_missed, end)]
    if any(0.5 < away <= rules.onward_semitones for away in onward):
        return rules.least_frames_onward
    return rules.least_frames


def _voice(track: Track, maps: VoiceMaps, rules: VoiceRules, *, least: int) -> Voice | None:
    contour = np.array(track.contour)
    frames = track.first + np.arange(contour.size)
    rows = np.clip(np.round(track.midi).astype(int) - maps.lowest_midi, 0, maps.held.shape[1] - 1)
    sure = np.flatnonzero((contour >= rules.last_contour) | (shares(maps.held[frames, rows]) >= rules.last_held))
    if sure.size == 0 or sure[-1] + 1 < least:
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
    )
