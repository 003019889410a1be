"""What the paragraph says of chords: those under the lick, those its notes spell, how they differ, how they close."""

from __future__ import annotations

from collections.abc import Sequence

from fingering.solution import ShapeSpan
from transcribe.document.edit import fretboard_of
from transcribe.document.model import TakeDocument
from transcribe.document.words import listed, sentence, with_article, without_repeats
from transcribe.harmony.backing import chord_of
from transcribe.harmony.chord import Chord, chord_or_none
from transcribe.harmony.chord_span import ChordSpan
from transcribe.harmony.degrees import chord_degree, degree_words
from transcribe.harmony.names import fifths_of, pitch_class
from transcribe.harmony.shape_names import CHORD_SHAPE, RELATIVE, shape_root
from transcribe.rhythm.quantize import place_of

MOST_OF_IT = 0.6  # share of the notes under a chord from which the chords are those of the lick
LONG_ROW = 4  # chords from which their places in the key are told after them all


def harmony_sentences(document: TakeDocument) -> tuple[str, ...]:
    """Return the sentences on the backing, on the chords that the notes spell, and on cadences."""
    given = [span for span in document.chords if span.source == "given"]
    heard = [span for span in document.chords if span.source == "heard"]
    return _backing(document, given), _spelled(document, heard), _cadences(document)


def shapes_worth_telling(document: TakeDocument) -> list[ShapeSpan]:
    """Return the shapes that say something of this music.

    A scale shape of another root than the tonic or its relative, and a chord shape of a chord that is neither home
    nor told nor heard, would name what nobody hears.
    """
    if document.key is None or not document.shapes:
        return []
    neck, tonic = fretboard_of(document), pitch_class(fifths_of(document.key.tonic))
    relative = (tonic + (RELATIVE if document.key.mode == "minor" else -RELATIVE)) % 12
    chords = [chord for span in document.chords if (chord := chord_of(span)) is not None]
    vamp = chord_or_none(document.vamp)
    roots = {chord.pitch_classes[0] for chord in (*chords, *([vamp] if vamp else []))}
    found = []
    for span in document.shapes:
        root = shape_root(span, neck)
        wanted = roots | {tonic} if CHORD_SHAPE.fullmatch(span.name) else {tonic, relative}
        if root is None or root in wanted:
            found.append(span)
    return found


def _backing(document: TakeDocument, given: Sequence[ChordSpan]) -> str:
    if given:
        return f"The chords under it are {listed(without_repeats(str(span) for span in given))}."
    vamp = chord_or_none(document.vamp)
    return f"The backing stays on {vamp}." if vamp is not None else ""


def _spelled(document: TakeDocument, heard: Sequence[ChordSpan]) -> str:
    over = [span for span in heard if span.backing is not None]
    if over:
        told = list(dict.fromkeys(_over(span) for span in over))
        return f"The notes spell {listed(told)}."
    if not heard or document.vamp is not None:  # on a vamp, the vamp's own chord is no news
        return ""
    where = "its notes" if _covered(document, heard) >= MOST_OF_IT else "on the way its notes"
    spans = [heard[index] for index in range(len(heard)) if index == 0 or str(heard[index - 1]) != str(heard[index])]
    if len(spans) >= LONG_ROW and all(span.role for span in spans):
        names = listed(str(span) for span in spans)
        return f"{sentence(where)} spell {names}: {' – '.join(without_repeats(span.role or '' for span in spans))}."
    return f"{sentence(where)} spell {listed(str(span) + (f' ({span.role})' if span.role else '') for span in spans)}."


def _over(span: ChordSpan) -> str:
    """Return a chord over another with what it adds to it: "C over G (IV over I), which adds the 4th and 6th"."""
    chord, backing = chord_of(span), chord_or_none(span.backing)
    role = f" ({span.role})" if span.role else ""
    added = _added(chord, backing) if chord is not None and backing is not None else []
    adds = f", which adds the {listed(added)}" if added else ""
    return f"{span} over {span.backing}{role}{adds}"


def _added(chord: Chord, backing: Chord) -> list[str]:
    """Return the tones of a chord that are none of the backing's, as degrees of the backing in words."""
    strange = [tone for tone in chord.pitch_classes if tone not in backing.pitch_classes]
    return [degree_words(chord_degree(tone, backing)) for tone in strange]


def _covered(document: TakeDocument, spans: Sequence[ChordSpan]) -> float:
    """Return the share of the notes that lie under chords."""
    if document.rhythm is None:
        return 1.0
    places = [place_of(take.timing, document.rhythm) for take in document.notes if take.timing is not None]
    under = sum(any(span.start_beat <= place < span.end_beat for span in spans) for place in places)
    return under / len(places) if places else 1.0


def _cadences(document: TakeDocument) -> str:
    """Return the cadences on the way by bar, and the one that closes the lick."""
    closing = [span for span in document.chords if span.cadence]
    if not closing:
        return ""
    last = max(span.start_beat for span in document.chords if _is_played(document, span))
    inner = [span for span in closing if span.start_beat < last]
    told = [f"bar {_bar(document, span)} closes with {with_article(span.cadence or '')} cadence" for span in inner]
    told += [
        f"it closes with {with_article(span.cadence or '')} cadence" for span in closing if span.start_beat >= last
    ]
    return f"{sentence('; '.join(told))}."


def _is_played(document: TakeDocument, span: ChordSpan) -> bool:
    """Return whether the lick still goes on where a chord starts."""
    if document.rhythm is None:
        return True
    places = [place_of(take.timing, document.rhythm) for take in document.notes if take.timing is not None]
    return not places or span.start_beat <= max(places)


def _bar(document: TakeDocument, span: ChordSpan) -> int:
    bar = document.rhythm.meter.bar_beats if document.rhythm is not None else 4
    return int(span.start_beat // bar) + 1
