"""Written starts and ends of every note of a take, before voices and bars."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise

from transcribe.document.model import TakeNote
from transcribe.rhythm.quantize import place_of
from transcribe.rhythm.rhythm import Rhythm, Timing
from transcribe.score.snap import FINE, SIXTH, snap

SHOWN_OVERLAP = Fraction(1, 2)  # ringing on for less than an eighth is not worth a second voice
HEARD_OVERLAP_S = 0.2  # a string heard on for this long under a new note was left to ring
HEARD_SHARE = 0.6  # and for this share of the new note's time
DAMPED = ("palm", "dead")


@dataclass(frozen=True, slots=True)
class Tone:
    """One note as written, in quarters from the first downbeat."""

    take: TakeNote
    start: Fraction
    end: Fraction  # where it stops sounding, other notes or not

    @property
    def lets_ring(self) -> bool:
        """True when the take says that it rings on."""
        return self.take.note.let_ring


def tones_of(notes: Sequence[TakeNote], timings: Mapping[str, Timing], rhythm: Rhythm) -> tuple[Tone, ...]:
    """Return the notes on places that can be written, in order of start, lower notes later.

    Notes tied into one another are one tone. A string sounds one note at a time, so the next note on it ends the one
    before. A note that was heard to ring on under later ones is written as long as it rang.
    """
    place = {item.id: place_of(timings[item.id], rhythm) for item in notes}
    tied = {item.id: item.tie_to for item in notes if item.tie_to in place and place[item.tie_to] > place[item.id]}
    sounding = [item for item in notes if item.id not in tied.values()]  # the others sound on from an earlier note
    raw = []
    for item in sounding:
        last = item.id
        while last in tied:
            last = tied[last]
        raw.append(Tone(item, place[item.id], place[last] + timings[last].value))
    raw = _heard_ringing(raw)
    return _written(raw, rhythm)


def _written(raw: Sequence[Tone], rhythm: Rhythm) -> tuple[Tone, ...]:
    written = snap([edge for tone in raw for edge in (tone.start, tone.end)], rhythm.meter)
    tones = []
    for tone in raw:
        start = written[tone.start]
        shortest = start + (SIXTH if start % FINE else FINE)
        tones.append(replace(tone, start=start, end=max(shortest, written[tone.end])))
    tones = _plain_ends(tones)
    again = snap([edge for tone in tones for edge in (tone.start, tone.end)], rhythm.meter)
    tones = [replace(tone, start=again[tone.start], end=again[tone.end]) for tone in tones]
    return tuple(sorted(tones, key=lambda tone: (tone.start, -tone.take.note.midi)))


def _plain_ends(tones: Sequence[Tone]) -> list[Tone]:
    """Ends cut where the string is struck again, and where the overlap with the next note is too short to show."""
    order = sorted({tone.start for tone in tones})
    following = dict(pairwise(order))
    again: dict[tuple[int, Fraction], Fraction] = {}  # (string, start): when that string is struck next
    by_string: dict[int, list[Fraction]] = {}
    for tone in tones:
        if tone.take.placement:
            by_string.setdefault(tone.take.placement.string, []).append(tone.start)
    for string, starts in by_string.items():
        ordered = sorted(set(starts))
        again.update({(string, start): after for start, after in pairwise(ordered)})
    found = []
    for tone in tones:
        end, after = tone.end, following.get(tone.start)
        if tone.take.placement:
            end = min(end, again.get((tone.take.placement.string, tone.start), end))
        if after is not None and after < end and (end - after < SHOWN_OVERLAP or tone.take.note.mute in DAMPED):
            end = after
        found.append(replace(tone, end=end))
    return found


def _heard_ringing(tones: Sequence[Tone]) -> list[Tone]:
    """Tones written up to the next start, made longer where they were plainly heard on under it.

    A written end that the take tells otherwise (shorter, or longer) is kept, and so is one that a person fixed.
    """
    starts: dict[Fraction, list[Tone]] = {}
    for tone in tones:
        starts.setdefault(tone.start, []).append(tone)
    order = sorted(starts)
    after = {start: index + 1 for index, start in enumerate(order)}
    found = []
    for tone in tones:
        index = after[tone.start]
        kept = "value" in tone.take.locked or tone.take.note.mute in DAMPED
        if kept or index >= len(order) or tone.end != order[index]:
            found.append(tone)
            continue
        while index < len(order) and _sounds_through(tone, starts[order[index]]):
            index += 1
        end = order[index] if index < len(order) else max(other.end for other in starts[order[-1]])
        found.append(replace(tone, end=max(end, tone.end)))
    return found


def _sounds_through(tone: Tone, later: Sequence[Tone]) -> bool:
    """Whether a note was heard on through most of those struck later, on other strings."""
    note, place = tone.take.note, tone.take.placement
    onset_s = min(other.take.note.onset_s for other in later)
    shortest_s = min(other.take.note.offset_s for other in later) - onset_s
    overlap_s = note.offset_s - onset_s
    if onset_s <= note.onset_s or overlap_s < max(HEARD_OVERLAP_S, HEARD_SHARE * shortest_s):
        return False
    for other in later:
        there = other.take.placement
        if other.take.note.midi == note.midi or (place and there and place.string == there.string):
            return False
    return True
