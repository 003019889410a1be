"""The chords of a document: those a person told, with their place in the key, and those heard in the notes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

from transcribe.document.model import TakeDocument
from transcribe.harmony.backing import backing_at, chord_of
from transcribe.harmony.cadences import with_cadences
from transcribe.harmony.chord import Chord
from transcribe.harmony.chord_span import ChordSpan
from transcribe.harmony.groups import groups_of
from transcribe.harmony.heard_chords import HeardChord, heard_chords
from transcribe.harmony.key import Key
from transcribe.harmony.phrases import phrase_ends
from transcribe.harmony.roles import plain_role, role
from transcribe.harmony.sounding import Sounded

UNTIMED_BAR = Fraction(4)  # quarters, where nobody found bars


def chords_told_and_heard(
    document: TakeDocument, line: Sequence[Sounded], key: Key, vamp: Chord | None
) -> tuple[ChordSpan, ...]:
    """Return the chords in order of time, with place in the key, backing under them and the cadences they close."""
    given = _with_roles([span for span in document.chords if span.source == "given" or span.locked], key)
    groups = groups_of(line)
    under = [backing_at(group.start, given, vamp) for group in groups]
    bar = document.rhythm.meter.bar_beats if document.rhythm else None
    before = {(span.start_beat, span.symbol): span for span in document.chords if span.source == "heard"}
    found = heard_chords(groups, key, under, longest_gap=bar or UNTIMED_BAR)
    following = [*(one.chord for one in found[1:]), None][: len(found)]
    heard = [
        _span(one, key, backing_at(one.start, given, vamp), after, before)
        for one, after in zip(found, following, strict=True)
        if not _is_told(one, given)
    ]
    spans = sorted([*given, *heard], key=lambda span: (span.start_beat, span.source == "heard"))
    bass_told = {one.start for one in found if one.bass_told} | {span.start_beat for span in given}
    return with_cadences(spans, line, key, phrase_ends(line, bar), bass_told, bar or UNTIMED_BAR)


def _is_told(heard: HeardChord, given: Sequence[ChordSpan]) -> bool:
    """True where the chord is the one that was given there, or one was fixed by a person."""
    for span in given:
        if span.start_beat <= heard.start < span.end_beat:
            told = chord_of(span)
            same = told is not None and set(heard.chord.pitch_classes) <= set(told.pitch_classes)
            return bool(span.locked) or (same and told is not None and told.root == heard.chord.root)
    return False


def _with_roles(given: Sequence[ChordSpan], key: Key) -> list[ChordSpan]:
    found = []
    for span, after in zip(given, [*given[1:], None], strict=False):
        chord = chord_of(span)
        if span.locked or chord is None:
            found.append(span)
        else:
            following = chord_of(after) if after is not None else None
            found.append(replace(span, role=role(chord, key, following), cadence=None))
    return found


def _span(
    heard: HeardChord,
    key: Key,
    backing: Chord | None,
    following: Chord | None,
    before: dict[tuple[Fraction, str], ChordSpan],
) -> ChordSpan:
    """Return the chord as the document tells it; its shape stays when the chord does."""
    other = backing is not None and backing.root != heard.chord.root
    told = plain_role(heard.chord, key) if other else role(heard.chord, key, following)
    old = before.get((heard.start, heard.chord.symbol))
    return ChordSpan(
        heard.start,
        heard.end,
        heard.chord.symbol,
        role=f"{told} over {role(backing, key)}" if other and backing is not None else told,
        over=heard.chord.bass,
        shape=old.shape if old else None,
        fret=old.fret if old else None,
        source="heard",
        backing=backing.symbol if other and backing is not None else None,
        unknown=old.unknown if old else {},
    )
