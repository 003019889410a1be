"""Cadences: how two chords close a phrase.

Open Music Theory (M. Gotham et al.), "Introduction to harmony, cadences": authentic, plagal, half, deceptive; perfect
authentic with both chords in root position and the tonic in the melody.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace
from fractions import Fraction

from transcribe.harmony.backing import chord_of
from transcribe.harmony.chord import Chord
from transcribe.harmony.chord_span import ChordSpan
from transcribe.harmony.key import Key
from transcribe.harmony.names import fifths_of
from transcribe.harmony.roles import tonic_fifths
from transcribe.harmony.sounding import Sounded


def cadence(before: Chord, last: Chord, key: Key) -> str | None:
    """Return the cadence that two chords make at the end of a phrase; None when they make none.

    >>> cadence(Chord("C"), Chord("G"), Key("G", "major")), cadence(Chord("D", "7"), Chord("G"), Key("G", "major"))
    ('plagal', 'authentic')
    """
    tonic = tonic_fifths(key)
    steps = (fifths_of(before.root) - tonic, fifths_of(last.root) - tonic)
    leads = 4 in before.steps  # a dominant has the leading tone as its third
    if steps[1] == 0:
        if (steps[0] == 1 and leads) or (steps[0] == 5 and before.kind in ("dim", "dim7", "m7b5")):
            return "authentic"
        return "plagal" if steps[0] == -1 else None
    if steps[0] == 1 and leads and steps[1] == (3 if key.mode == "major" else -4):
        return "deceptive"
    if steps[1] == 1 and steps[0] != 1 and 4 in last.steps and last.kind in ("", "7"):
        return "half"
    return None


def full_cadence(before: Chord, last: Chord, key: Key, *, melody: int, bass_told: bool = True) -> str | None:
    """Return the cadence with "perfect" or "imperfect" before authentic; ``melody`` is the last top note (MIDI).

    Where nobody knows the bass (``bass_told`` false, as with double stops) an authentic cadence that may be perfect is
    told without either word.
    """
    name = cadence(before, last, key)
    if name != "authentic":
        return name
    dominant = fifths_of(before.root) - tonic_fifths(key) == 1
    on_tonic = melody % 12 == last.pitch_classes[0]
    if not (dominant and before.inversion == 0 and last.inversion == 0 and on_tonic):
        return "imperfect authentic"
    return "perfect authentic" if bass_told else name


def with_cadences(
    spans: Sequence[ChordSpan],
    line: Sequence[Sounded],
    key: Key,
    ends: Sequence[Fraction],
    bass_told: Collection[Fraction],
    longest_gap: Fraction,
) -> tuple[ChordSpan, ...]:
    """Return the chords, those that close a phrase with the cadence that they make with the chord before.

    ``ends`` says where the last moment of each phrase starts; ``bass_told`` where chords start whose bass is known;
    chords farther apart than ``longest_gap`` quarters make no cadence. Chords told by a person go before those heard.
    """
    told = [span for span in spans if span.source == "given"] or list(spans)
    names: dict[int, str] = {}
    since: Fraction | None = None
    for end in ends:
        at = next((k for k, span in enumerate(told) if span.start_beat <= end < span.end_beat), None)
        if at and (since is None or told[at].start_beat > since):
            before, last = told[at - 1], told[at]
            near = last.start_beat - before.end_beat <= longest_gap
            chords = chord_of(before), chord_of(last)
            if near and not last.locked and chords[0] is not None and chords[1] is not None:
                top = max(note.pitch for note in line if note.start == end)
                known = {before.start_beat, last.start_beat} <= set(bass_told)
                name = full_cadence(chords[0], chords[1], key, melody=top, bass_told=known)
                if name is not None:
                    names[id(last)] = name
        since = end
    return tuple(replace(span, cadence=names[id(span)]) if id(span) in names else span for span in spans)
