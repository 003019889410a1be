"""What the backing plays: one chord throughout, or chords by the bar."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from transcribe.errors import SettingsError
from transcribe.harmony.chord import Chord, chord_from_text, chord_or_none
from transcribe.harmony.chord_span import ChordSpan
from transcribe.harmony.key import MAJOR_FIFTHS, MINOR_FIFTHS, Key, Mode
from transcribe.harmony.names import fifths_of, name_at, readable
from transcribe.harmony.sounding import Sounded

WRITE = "Write bars apart with |, and chords of one bar with spaces: 'G | C G | D7'; % repeats the bar before."
MOST_IN_A_BAR = 16
LOW_OCTAVE = 36  # MIDI note number of the C that roots are put at: below any line
Bars = tuple[tuple[str, ...], ...]


def bars_from_text(text: str) -> Bars:
    """Return the chord symbols of every bar. Raises SettingsError for a bar that holds none, or no chord we know.

    >>> bars_from_text("G | C G | %")
    (('G',), ('C', 'G'), ('C', 'G'))
    """
    bars: list[tuple[str, ...]] = []
    for words in text.strip().strip("|").split("|"):
        symbols = tuple(words.split())
        if symbols == ("%",) and bars:
            bars.append(bars[-1])
            continue
        if not symbols:
            raise SettingsError(f"a bar without a chord in {text!r}", WRITE)
        if len(symbols) > MOST_IN_A_BAR:
            raise SettingsError(f"{len(symbols)} chords in one bar of {text!r}", WRITE)
        bars.append(tuple(str(chord_from_text(symbol)) for symbol in symbols))
    return tuple(bars)


def spans_from_bars(bars: Bars, bar_quarters: Fraction, until: Fraction) -> tuple[ChordSpan, ...]:
    """Return the chords of the bars from the first downbeat to ``until``; from the start again where they run out.

    The chords of a bar share it evenly. A pickup is under no chord.
    """
    spans: list[ChordSpan] = []
    start, index = Fraction(0), 0
    while bars and (start < until or not spans):
        symbols = bars[index % len(bars)]
        length = bar_quarters / len(symbols)
        for symbol in symbols:
            chord = chord_from_text(symbol)
            spans.append(ChordSpan(start, start + length, chord.symbol, over=chord.bass))
            start += length
        index += 1
    return tuple(_joined(spans))


def chord_of(span: ChordSpan) -> Chord | None:
    """Return the chord of a span; None for a symbol we do not know."""
    return chord_or_none(str(span))


def backing_at(place: Fraction, given: Sequence[ChordSpan], vamp: Chord | None) -> Chord | None:
    """Return the chord that the backing plays at a place in quarters from the first downbeat; None for none told."""
    for span in given:
        if span.start_beat <= place < span.end_beat:
            return chord_of(span)
    return vamp


def home_key(vamp: Chord) -> Key:
    """Return the key whose tonic chord a vamp is.

    >>> home_key(Chord("A", "7")).mode, home_key(Chord("E", "m7")).mode
    ('major', 'minor')
    """
    fifths = readable(fifths_of(vamp.root))
    mode: Mode = "minor" if -3 in vamp.steps else "major"
    signed = MINOR_FIFTHS if mode == "minor" else MAJOR_FIFTHS
    names = (name_at(fifths), name_at(fifths + 12), name_at(fifths - 12))
    return Key(next(name for name in names if name in signed), mode, source="estimated")


def backing_tones(given: Sequence[ChordSpan]) -> tuple[Sounded, ...]:
    """Return the tones of the chords told, roots below any line, for whoever asks for the key of line and chords."""
    added = []
    for index, span in enumerate(given):
        chord = chord_of(span)
        if chord is None:
            continue
        root, *others = chord.pitch_classes
        length = span.end_beat - span.start_beat
        pitches = (LOW_OCTAVE + root, *(LOW_OCTAVE + 12 + tone for tone in others))
        added += [
            Sounded(f"chord {index} {pitch}", pitch, pitch, span.start_beat, length, span.end_beat) for pitch in pitches
        ]
    return tuple(added)


def _joined(spans: Sequence[ChordSpan]) -> list[ChordSpan]:
    """Return the spans, neighbours with one symbol as one."""
    joined: list[ChordSpan] = []
    for span in spans:
        if joined and str(joined[-1]) == str(span):
            joined[-1] = ChordSpan(joined[-1].start_beat, span.end_beat, span.symbol, over=span.over)
        else:
            joined.append(span)
    return joined
