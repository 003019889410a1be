"""Which stroke or finger of the picking hand plays each note: a suggestion, not part of the search."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from fractions import Fraction
from itertools import pairwise
from types import MappingProxyType

from fingering.errors import FingeringError
from fingering.moments import OVERLAP_S, TOGETHER_S
from fingering.passage import Passage

REST_S = 1.0  # after a pause this long the picking starts afresh; a choice of ours
CHORD_REST_S = 0.4  # notes struck together this long after the last stroke are struck down; a choice of ours
FIRST_BASS_STRING = 4  # the thumb plays strings 4 to 6, the fingers 3 to 1: common practice of the classical guitar

# How far the picking hand swings one way, in beats, by the finest part of the beat it plays.
SWINGS = {1: Fraction(1, 2), 2: Fraction(1, 2), 4: Fraction(1, 4), 8: Fraction(1, 8)}

BY_STRING = {3: "i", 2: "m", 1: "a"}  # a finger a string for what rolls or rings: common practice

_Group = list[tuple[int, int]]  # (number of the pluck, string) of notes struck together, highest string first
_Strokes = dict[int, str]


def strokes_for(
    passage: Passage, spots: Sequence[tuple[int, int, int]], picking: str = "alternate pick"
) -> tuple[str | None, ...]:
    """Return a stroke for every pluck: "down", "up", or p, i, m, a; None where the picking hand does nothing.

    ``spots`` are (string, fret, finger), string 0 for a note left out. ``picking`` is one of ``PICKING``. Raises
    FingeringError for another word. All rules are common practice. Where the plucks tell their place in the beat,
    alternate picking goes with it: down on beats and up between, down on every other sixteenth.
    """
    if picking not in PICKING:
        raise FingeringError(f"there is no way of picking called '{picking}'", f"Choose one of: {', '.join(PICKING)}.")
    strokes: _Strokes = {}
    for run in _runs(passage, spots):
        strokes.update(PICKING[picking](run))
        if picking == "alternate pick":
            strokes.update(_with_the_beat(passage, run))
    if picking == "fingers":
        strokes.update(_rolled(passage, spots))
    return tuple(strokes.get(index) for index in range(len(passage.plucks)))


def _rolled(passage: Passage, spots: Sequence[tuple[int, int, int]]) -> _Strokes:
    """Return i, m, a by string for treble notes that ring into one another, as a rolled chord does."""
    strokes: _Strokes = {}
    treble = [
        (index, pluck, spots[index][0])
        for index, pluck in enumerate(passage.plucks)
        if 0 < spots[index][0] < FIRST_BASS_STRING and pluck.join == "none"
    ]
    for (one, first, low), (other, second, high) in pairwise(treble):
        apart = second.onset_s - first.onset_s > TOGETHER_S
        if apart and first.end_s - OVERLAP_S > second.onset_s and low != high:
            strokes[one], strokes[other] = BY_STRING[low], BY_STRING[high]
    return strokes


def _runs(passage: Passage, spots: Sequence[tuple[int, int, int]]) -> list[list[_Group]]:
    """Return the struck notes, grouped by stroke and cut at rests, and before chords that leave the hand time."""
    runs: list[list[_Group]] = []
    last_s, gap_s = float("-inf"), float("inf")
    for index, (pluck, spot) in enumerate(zip(passage.plucks, spots, strict=True)):
        if pluck.join != "none" or spot[0] == 0:
            continue
        if pluck.onset_s - last_s > REST_S or not runs:
            runs.append([])
        if not runs[-1] or pluck.onset_s - last_s > TOGETHER_S:
            runs[-1].append([])
            gap_s, last_s = pluck.onset_s - last_s, pluck.onset_s
        runs[-1][-1].append((index, spot[0]))
        if len(runs[-1][-1]) == 2 and len(runs[-1]) > 1 and gap_s > CHORD_REST_S:
            runs.append([runs[-1].pop()])
    return [[sorted(group, key=lambda note: note[1]) for group in run] for run in runs]


def _alternate(run: list[_Group]) -> _Strokes:
    """Down and up in turn."""
    return {index: ("down", "up")[at % 2] for at, group in enumerate(run) for index, _ in group}


def _with_the_beat(passage: Passage, run: list[_Group]) -> _Strokes:
    """Down and up as the hand swings with the beat; in turn where the beat is divided by three or not known.

    A chord that opens the run keeps its down-stroke: it has the time for one.
    """
    divided: dict[int, set[Fraction]] = {}
    for group in run:
        beats = passage.plucks[group[0][0]].beats
        if beats is not None:
            divided.setdefault(beats // 1, set()).add(beats % 1)
    strokes: _Strokes = {}
    stroke = "up"
    for at, group in enumerate(run):
        beats = passage.plucks[group[0][0]].beats
        step = SWINGS.get(max(place.denominator for place in divided[beats // 1])) if beats is not None else None
        if len(group) > 1 and at == 0:
            stroke = "down"
        elif beats is not None and step is not None:
            stroke = "up" if beats % 1 // step % 2 else "down"
        else:
            stroke = "down" if stroke == "up" else "up"
        strokes.update({index: stroke for index, _ in group})
    return strokes


def _economy(run: list[_Group]) -> _Strokes:
    """Down and up in turn, but the pick keeps its direction onto the next string."""
    strokes: _Strokes = {}
    stroke, last = "up", None
    for group in run:
        low = group[-1][1]  # a chord is swept from its lowest string
        if len(group) > 1 or (last is not None and low == last - 1):
            stroke = "down"
        elif last is not None and low == last + 1:
            stroke = "up"
        else:
            stroke = "down" if stroke == "up" else "up"
        strokes.update({index: stroke for index, _ in group})
        last = group[0][1] if stroke == "down" else low
    return strokes


def _pick_and_fingers(run: list[_Group]) -> _Strokes:
    """The pick on the lowest note of a chord and on lines; m and a above it, and on leaps to a higher string.

    A leap that comes back is the finger's; where the line stays up there the pick moves over after the first note. The
    finger takes the place of an up-stroke, so the pick comes back with a down-stroke.
    """
    strokes: _Strokes = {}
    stroke, last, by_finger = "up", None, 0
    for group in run:
        if 1 < len(group) <= 3:
            strokes[group[-1][0]] = "down"
            for finger, (index, _) in zip(("m", "a"), reversed(group[:-1]), strict=False):
                strokes[index] = finger
            stroke = "down"
        elif len(group) > 3:
            strokes.update({index: "down" for index, _ in group})
            stroke = "down"
        elif last is not None and last - group[0][1] >= 2 and group[0][1] != by_finger:
            strokes[group[0][0]] = "m"
            stroke, by_finger = "up", group[0][1]
            continue  # the pick waits where it was
        else:
            stroke = "down" if stroke == "up" else "up"
            strokes[group[0][0]] = stroke
        last, by_finger = group[-1][1], 0
    return strokes


def _fingers(run: list[_Group]) -> _Strokes:
    """Thumb on bass strings; chords with one finger a string; treble lines with i and m in turn, a on leaps up."""
    strokes: _Strokes = {}
    last_finger, last_string = "m", 0
    for group in run:
        thumbs = [note for note in group if note[1] >= FIRST_BASS_STRING]
        trebles = [note for note in group if note[1] < FIRST_BASS_STRING]
        if len(trebles) == 3 or (len(trebles) == 2 and trebles[-1][1] < 3 and thumbs):
            names: tuple[str, ...] = ("a", "m", "i")
        else:
            names = ("m", "i")
        if len(trebles) > 1:
            strokes.update({index: finger for finger, (index, _) in zip(names, trebles, strict=False)})
            last_finger = "i"
        elif trebles:
            index, string = trebles[0]
            leap = last_string - string
            usual = "i" if last_finger == "m" else "m"
            last_finger = "a" if leap >= 2 and last_finger != "a" else usual
            strokes[index], last_string = last_finger, string
        strokes.update({index: "p" for index, _ in thumbs})
    return strokes


PICKING: Mapping[str, Callable[[list[_Group]], _Strokes]] = MappingProxyType(
    {
        "alternate pick": _alternate,
        "economy pick": _economy,
        "pick and fingers": _pick_and_fingers,
        "fingers": _fingers,
    }
)
