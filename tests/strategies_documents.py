"""Random take documents: everything the format can tell, on the grid of its rounding, with keys of other programs."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from hypothesis import strategies as st

from fingering.passage import Placement
from transcribe.document.model import Instrument, Source, TakeDocument, TakeNote
from transcribe.harmony.chord_span import ChordSpan
from transcribe.harmony.key import MAJOR_FIFTHS, MINOR_FIFTHS, Key
from transcribe.notes.note import Bend, Contour, Doubt, Note, Slide, Vibrato
from transcribe.rhythm.rhythm import Meter, Rhythm, RhythmReading, Timing

TUNINGS = ((64, 59, 55, 50, 45, 40), (64, 59, 55, 50, 45, 38), (62, 59, 55, 50, 43, 38), (63, 58, 54, 49, 44, 39))

HEARD_STRINGS = ((0.0, 0.9, 0.1, 0.0, 0.0, 0.0), (0.25, 0.25, 0.5, 0.0, 0.0, 0.0))

words = st.text(st.characters(exclude_categories=["Cs"]), max_size=12)
json_values = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**53), 2**53) | st.floats(-1e9, 1e9) | words,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(words, inner, max_size=3),
    max_leaves=5,
)
# A prefix keeps other programs' keys apart from those of the format.
unknowns = st.dictionaries(words.map(lambda word: f"x-{word}"), json_values, max_size=2)


def seconds(least: float = 0.0, most: float = 60.0) -> st.SearchStrategy[float]:
    """Seconds on the format's grid of 0.1 ms."""
    return st.integers(round(least * 10000), round(most * 10000)).map(lambda ticks: ticks / 10000)


def cents(least: float = -1200.0, most: float = 1200.0) -> st.SearchStrategy[float]:
    """Cents on the format's grid of a tenth."""
    return st.integers(round(least * 10), round(most * 10)).map(lambda tenths: tenths / 10)


shares = st.integers(0, 1000).map(lambda thousandths: thousandths / 1000)
beats = st.fractions(0, 8, max_denominator=48)


@st.composite
def bend_lists(draw: st.DrawFn, onset_s: float, offset_s: float) -> tuple[Bend, ...]:
    """Up to three bends in order of time inside a note."""
    count = draw(st.integers(0, 3))
    times = sorted(draw(st.lists(seconds(onset_s, offset_s), min_size=3 * count, max_size=3 * count)))
    return tuple(
        Bend(
            draw(st.sampled_from(("bend", "pre-bend", "release"))),
            *times[3 * index : 3 * index + 3],
            target_cents=draw(cents(0, 400)),
            reached_cents=draw(cents(0, 450)),
            unknown=draw(unknowns),
        )
        for index in range(count)
    )


@st.composite
def notes(draw: st.DrawFn, note_id: str, others: tuple[str, ...]) -> Note:
    """One heard note; a slide may reach any of ``others``."""
    onset_s = draw(seconds())
    offset_s = onset_s + draw(seconds(0.0002, 3.0))
    offset_s = round(offset_s, 4)
    slide_kind = draw(st.sampled_from(("none", "in", "out") + (("legato", "shift") if others else ())))
    slide = None
    if slide_kind != "none":
        to = draw(st.sampled_from(others)) if slide_kind in ("legato", "shift") else None
        slide = Slide(slide_kind, draw(cents()), to, unknown=draw(unknowns))
    contour = None
    if draw(st.booleans()):
        readings = draw(st.lists(st.none() | cents(-100, 400), max_size=6))
        hop_s = draw(st.sampled_from((0.01, 0.005)))
        contour = Contour(draw(seconds()), hop_s, tuple(readings), unknown=draw(unknowns))
    return Note(
        id=note_id,
        onset_s=onset_s,
        offset_s=offset_s,
        midi=draw(st.integers(0, 127)),
        cents=draw(st.none() | cents(-50, 50)),
        level_db=draw(st.none() | cents(-60, 0)),
        confidence=draw(st.none() | shares),
        attack=draw(st.sampled_from(("picked", "hammer-on", "pull-off", "slide", "unknown"))),
        bends=draw(bend_lists(onset_s, offset_s)),
        slide=slide,
        vibrato=draw(st.none() | st.builds(Vibrato, seconds(0.1, 12), cents(0.1, 100), unknown=unknowns)),
        mute=draw(st.sampled_from(("none", "palm", "dead"))),
        harmonic=draw(st.sampled_from(("none", "natural", "artificial"))),
        let_ring=draw(st.booleans()),
        contour=contour,
        string_weights=draw(
            st.none() | st.sampled_from(((0.0, 0.9, 0.1, 0.0, 0.0, 0.0), (0.25, 0.25, 0.5, 0.0, 0.0, 0.0)))
        ),
    )


@st.composite
def take_notes(draw: st.DrawFn, note_id: str, others: tuple[str, ...]) -> TakeNote:
    """One note with its place, its written value and what a person fixed."""
    placed = st.builds(
        Placement,
        st.just(note_id),
        st.integers(1, 6),
        st.integers(0, 22),
        st.none() | st.integers(0, 4),
        st.none() | st.sampled_from(("down", "up", "p", "i", "m", "a")),
    )
    written = st.builds(Timing, st.integers(0, 40), beats, beats.filter(bool))
    return TakeNote(
        note=draw(notes(note_id, others)),
        placement=draw(st.none() | placed),
        timing=draw(st.none() | written),
        degree=draw(st.none() | st.sampled_from(("1", "b3", "#4", "b5"))),
        chord_degree=draw(st.none() | st.sampled_from(("1", "3", "b7"))),
        tone=draw(st.none() | st.sampled_from(("chord tone", "passing tone"))),
        tie_to=draw(st.none() | st.sampled_from(others)) if others else None,
        locked=tuple(draw(st.lists(st.sampled_from(("string", "fret", "finger")), unique=True))),
        unknown=draw(unknowns),
    )


@st.composite
def rhythm_readings(draw: st.DrawFn) -> RhythmReading:
    """One way to read a grid."""
    meter = draw(st.sampled_from((Meter(4, 4), Meter(6, 8))))
    pickup = draw(st.sampled_from((Fraction(0), Fraction(1, 2), Fraction(5, 2))))
    feel = draw(st.sampled_from(("straight", "swing")))
    tempo_bpm, likely = draw(seconds(20, 300)), draw(shares)
    return RhythmReading(tempo_bpm, meter, draw(seconds(-2, 10)), pickup, feel, likely, draw(unknowns))


@st.composite
def rhythms(draw: st.DrawFn) -> Rhythm:
    """A grid with a pickup shorter than its bar."""
    meter = draw(st.builds(Meter, st.integers(1, 12), st.sampled_from((2, 4, 8))))
    return Rhythm(
        tempo_bpm=draw(seconds(20, 300)),
        meter=meter,
        first_downbeat_s=draw(seconds(-2, 10)),
        pickup_beats=draw(st.fractions(0, 1, max_denominator=12).filter(lambda beat: beat < 1)) * meter.bar_beats,
        feel=draw(st.sampled_from(("straight", "swing"))),
        tempo_source=draw(st.sampled_from(("given", "click", "estimated"))),
        beats_s=tuple(sorted(draw(st.sampled_from(((), (0.5, 1.0), (0.25, 0.75, 1.5)))))),
        readings=tuple(draw(st.lists(rhythm_readings(), max_size=2))),
        unknown=draw(unknowns),
    )


@st.composite
def keys(draw: st.DrawFn) -> Key:
    """Any key that has a signature."""
    mode = draw(st.sampled_from(("major", "minor")))
    tonic = draw(st.sampled_from(sorted(MAJOR_FIFTHS if mode == "major" else MINOR_FIFTHS)))
    return Key(tonic, mode, draw(st.none() | shares), draw(st.sampled_from(("given", "estimated"))), draw(unknowns))


instruments = st.builds(
    Instrument,
    open_strings_midi=st.sampled_from(TUNINGS),
    frets=st.integers(12, 24),
    capo=st.integers(0, 9),
    scale_length_mm=cents(500, 700),
    reference_hz=cents(415, 466),
    tuning_offset_cents=st.none() | cents(-50, 50),
    unknown=unknowns,
)
sources = st.builds(
    Source,
    file=words,
    sha256=st.none() | st.just("0" * 64),
    start_s=seconds(),
    duration_s=st.none() | seconds(),
    sample_rate_hz=st.none() | st.sampled_from((44100, 48000)),
    unknown=unknowns,
)


@st.composite
def chords(draw: st.DrawFn) -> ChordSpan:
    """A chord at any place, heard or given."""
    start = draw(beats) - 4
    return ChordSpan(
        start_beat=start,
        end_beat=start + draw(beats.filter(bool)),
        symbol=draw(st.sampled_from(("A", "D7", "E7#9"))),
        role=draw(st.none() | st.sampled_from(("I", "IV7", "IV over I"))),
        over=draw(st.none() | st.sampled_from(("C#", "Bb"))),
        shape=draw(st.none() | st.sampled_from(("E", "A"))),
        fret=draw(st.none() | st.integers(0, 12)),
        source=draw(st.sampled_from(("given", "heard"))),
        backing=draw(st.none() | st.just("G")),
        cadence=draw(st.none() | st.just("plagal")),
        locked=tuple(draw(st.lists(st.sampled_from(("symbol", "role")), unique=True))),
        unknown=draw(unknowns),
    )


@st.composite
def documents(draw: st.DrawFn, most: int = 5) -> TakeDocument:
    """A take document of up to ``most`` notes, in any order of time; values lie on the format's rounding grid."""
    ids = tuple(draw(st.lists(words.filter(bool), max_size=most, unique=True)))
    found = tuple(draw(take_notes(name, tuple(other for other in ids if other != name))) for name in ids)
    onsets_s = {take.id: take.note.onset_s for take in found}
    found = tuple(
        take if take.tie_to and onsets_s[take.tie_to] > take.note.onset_s else replace(take, tie_to=None)
        for take in found
    )
    about = st.none() | st.just("fingering")
    named = st.none() | st.sampled_from(ids) if ids else st.none()
    doubts = st.builds(Doubt, words.filter(bool), named, about=about, unknown=unknowns)
    return TakeDocument(
        notes=found,
        instrument=draw(instruments),
        source=draw(st.none() | sources),
        rhythm=draw(st.none() | rhythms()),
        key=draw(st.none() | keys()),
        vamp=draw(st.none() | st.sampled_from(("G", "A7"))),
        chords=tuple(draw(st.lists(chords(), max_size=2))),
        about=draw(st.none() | words),
        about_sha256=draw(st.none() | st.just("1" * 64)),
        locked=tuple(draw(st.lists(st.sampled_from(("about", "key", "chords")), unique=True))),
        doubts=tuple(draw(st.lists(doubts, max_size=2))),
        tool=draw(st.just({}) | st.just({"name": "takesheet", "version": "0.1.0", "settings": {}})),
        unknown=draw(unknowns),
    )
