"""From which voice a voice goes on, and how: hammered, pulled off, slid there; slides told from note to note."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from transcribe.notes.assignment import cheapest_assignment
from transcribe.notes.in_time import Moments
from transcribe.notes.moves import Line
from transcribe.notes.note import Attack, Bend, Note, Slide
from transcribe.notes.touch import FINGER_NAMED
from transcribe.notes.voices import Voice

SLOWEST_S = 0.08  # a legato note begins this soon after the one it comes from ends
LEAST, WIDEST = 0.5, 7.5  # semitones between the two
SLIDE_FRAMES = (3, 13)  # so long frets between the two are heard on the way: less is the blur of a step, more a bend
NO_WAY_COST = 100.0  # semitones, more than any way costs
UNHEARD_COST = 4.0  # semitones a way without frets heard on it counts as longer
TAIL_FRAMES = 16
UNHELD_S = 0.08  # a bend is held longer than this before a finger slides on
SHORT_S = 0.13  # a picked note no longer than this from which a finger slides on at once is the way into the next
SHORTEST_S = 0.065  # and one no longer than this, however the finger goes on: nobody hears its pitch

Span = tuple[int, int]  # a voice's first and last note


@dataclass(frozen=True, slots=True)
class Begun:
    """How a voice begins, and the number of the voice it comes from when a finger took it over, picked again or not."""

    attack: Attack
    source: int | None = None


def how_begun(voices: tuple[Voice, ...], lines: list[Line], finger: Sequence[float] | None = None) -> tuple[Begun, ...]:
    """Return how each voice begins; ``lines`` holds their pitches, one line a voice.

    ``finger`` tells how likely the fretting hand alone began each, 0 to 1; without it, what the maps say stands. No
    voice goes on in two others: where several begin at once, the hands go the shortest way together.
    """
    picked = [v.begin == "picked" if finger is None else finger[k] < FINGER_NAMED for k, v in enumerate(voices)]
    ends = Moments(line.end_s for line in lines)
    ways = {k: _ways(k, voices, lines, ends, picked[k]) for k, voice in enumerate(voices) if voice.begin != "unknown"}
    chosen = {k: way for some in _that_may_meet(ways) for k, way in _apart(some).items()}
    found = []
    for k, voice in enumerate(voices):
        way = chosen.get(k)
        if way is None:
            found.append(Begun("unknown" if voice.begin == "unknown" else "picked"))
        elif way.slid:
            found.append(Begun("picked" if picked[k] else "slide", way.source))
        else:
            rises = float(lines[k].midi[0]) > float(lines[way.source].midi[-1])
            found.append(Begun("hammer-on" if rises else "pull-off", way.source))
    return tuple(found)


@dataclass(frozen=True, slots=True)
class _Way:
    """A voice another may come from, what that costs, and whether frets were heard on the way."""

    source: int
    cost: float
    slid: bool


def _ways(k: int, voices: tuple[Voice, ...], lines: list[Line], ends: Moments, picked: bool) -> list[_Way]:
    """The voices another may come from; ``ends`` are those of the lines, in seconds."""
    start, found = float(lines[k].midi[0]), []
    for j in ends.within(SLOWEST_S, lines[k].start_s):
        if voices[j].first >= voices[k].first:
            continue
        apart_s = abs(lines[k].start_s - lines[j].end_s)
        slid = _passes_frets(lines[j], _home(lines[j]), start)
        away = abs(start - float(lines[j].midi[-1]))
        if away <= WIDEST and (slid or (away > LEAST and not picked)):
            travelled = abs(start - _home(lines[j]))
            found.append(_Way(j, travelled + apart_s / SLOWEST_S + (0.0 if slid else UNHEARD_COST), slid))
    return found


def _that_may_meet(ways: dict[int, list[_Way]]) -> list[dict[int, list[_Way]]]:
    """The ways in groups that share no source: each group is decided for itself.

    Sources of one group lead to one head (B. A. Galler and M. J. Fischer, "An improved equivalence algorithm",
    Communications of the ACM 7, 1964).
    """
    above = {way.source: way.source for mine in ways.values() for way in mine}

    def head(source: int) -> int:
        while above[source] != source:
            above[source] = source = above[above[source]]
        return source

    groups: dict[int, dict[int, list[_Way]]] = {}
    for mine in ways.values():
        for way in mine[1:]:
            above[head(way.source)] = head(mine[0].source)
    for k, mine in ways.items():
        if mine:
            groups.setdefault(head(mine[0].source), {})[k] = mine
    return list(groups.values())


def _apart(ways: dict[int, list[_Way]]) -> dict[int, _Way]:
    """The cheapest way for each voice so that as many as can have one, and no two the same."""
    wanting = [k for k, mine in ways.items() if mine]
    sources = sorted({way.source for k in wanting for way in ways[k]})
    cost = np.full((len(wanting), len(sources) + len(wanting)), NO_WAY_COST)
    for row, k in enumerate(wanting):
        for way in ways[k]:
            cost[row, sources.index(way.source)] = way.cost
    found = {}
    for k, column in zip(wanting, cheapest_assignment(cost), strict=True):
        chosen = [way for way in ways[k] if column < len(sources) and way.source == sources[column]]
        if chosen:
            found[k] = chosen[0]
    return found


def could_all_pass_on(begun: Sequence[Voice], voices: Sequence[Voice], ends: Moments, hop_s: float) -> bool:
    """Return whether two voices or more that begin together could each be another that just ended, passed on.

    ``ends`` are the last frames of ``voices`` in seconds. One that ended at the very pitch was picked again.
    """
    if len(begun) < 2:
        return False
    sources = []
    for voice in begun:
        start, at_s = float(voice.midi[0]), voice.first * hop_s
        ended = [n for n in ends.within(SLOWEST_S, at_s) if voices[n].first < voice.first]
        if any(abs(float(voices[n].midi[-1]) - start) <= LEAST for n in ended):
            return False
        sources.append({n for n in ended if abs(float(voices[n].midi[-1]) - start) <= WIDEST})
    return _each_its_own(sources)


def _each_its_own(sources: Sequence[set[int]]) -> bool:
    """Whether each can have a source that no other has, by augmenting paths (H. W. Kuhn, 1955)."""
    owner: dict[int, int] = {}

    def placed(k: int, tried: set[int]) -> bool:
        for source in sources[k] - tried:
            tried.add(source)
            if source not in owner or placed(owner[source], tried):
                owner[source] = k
                return True
        return False

    return all(placed(k, set()) for k in range(len(sources)))


def _home(line: Line) -> float:
    """The pitch a line is at for most of its time, or where it begins when it is short and may be all slide."""
    return float(np.median(line.midi if line.midi.size > TAIL_FRAMES else line.midi[:2]))


def _passes_frets(line: Line, home: float, goal: float) -> bool:
    """True when the line's last moments lie on frets between where it was and where it goes."""
    tail = line.midi[-TAIL_FRAMES:]
    low, high = min(home, goal) + 0.5, max(home, goal) - 0.5
    return SLIDE_FRAMES[0] <= int(((tail > low) & (tail < high)).sum()) <= SLIDE_FRAMES[1]


def slid_on(left: Note, reached: Note) -> Note:
    """Return ``left`` with the slide on to the next note of its own voice.

    As it is where that has the same pitch, or where the slide into ``left`` is told: a note holds one.
    """
    if left.midi == reached.midi or (left.slide is not None and left.slide.kind == "in"):
        return left
    return replace(left, slide=Slide("legato", 100.0 * (reached.midi - left.midi), reached.id))


def with_slides(told: list[Note], begun: tuple[Begun, ...], spans: list[Span]) -> list[Note]:
    """Return the notes with slides from one voice to the next: told in the note left, or as a way in to the next.

    ``told`` holds the notes of all voices, ``spans`` where each voice's are.
    """
    notes: list[Note | None] = list(told)
    for k, each in enumerate(begun):
        if each.source is None:
            continue
        leaves, reaches = spans[each.source][1], spans[k][0]
        left, reached = notes[leaves], notes[reaches]
        if left is None or reached is None or left.midi == reached.midi:
            continue
        origin = _slid_from(left, notes) if each.attack != "picked" else None
        if origin is not None and (before := notes[origin]) is not None and before.midi != reached.midi:
            slide = Slide("legato", 100.0 * (reached.midi - before.midi), reached.id)
            notes[origin] = replace(before, slide=slide, offset_s=max(before.offset_s, left.offset_s))
            notes[leaves], notes[reaches] = None, replace(reached, attack="slide")
            continue
        cents = 100.0 * (reached.midi - left.midi)
        short_s = SHORT_S if each.attack == "slide" else SHORTEST_S
        if each.attack != "picked" and left.attack == "picked" and left.offset_s - left.onset_s <= short_s:
            slide = reached.slide or Slide("in", cents)
            notes[reaches] = replace(reached, onset_s=left.onset_s, attack="picked", slide=slide)
            notes[leaves] = None
        elif each.attack in ("slide", "picked") and (left.slide is None or left.slide.kind == "out"):
            kind: Literal["legato", "shift"] = "legato" if each.attack == "slide" else "shift"
            bends = tuple(bend for bend in left.bends if not _is_way(bend, left, cents))
            notes[leaves] = replace(left, slide=Slide(kind, cents, reached.id), bends=bends)
    return [note for note in notes if note is not None]


def _slid_from(left: Note, notes: Sequence[Note | None]) -> int | None:
    """Where the note stands from which a hand slid to ``left``, if that is too short to be more than a place passed."""
    if left.attack != "slide" or left.offset_s - left.onset_s > SHORTEST_S:
        return None
    return next((k for k, note in enumerate(notes) if note and note.slide and note.slide.to == left.id), None)


def _is_way(bend: Bend, left: Note, cents: float) -> bool:
    """True for a bend up that only arrives as the note ends, where a slide leads up: it was the slide."""
    return bend.kind == "bend" and cents > 0 and left.offset_s - bend.reach_s < UNHELD_S
