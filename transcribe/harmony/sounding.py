"""The notes of a take as harmony hears them: at the pitch that sounds, counted in quarters."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from transcribe.errors import HarmonyError
from transcribe.notes.note import Bend, Note
from transcribe.rhythm.quantize import place_of
from transcribe.rhythm.rhythm import Rhythm, Timing

CURL_CENTS = (20.0, 80.0)  # a bend of about a quarter tone colours the fretted note: common practice
UNTIMED_QUARTER_S = 0.5  # where nobody found a beat, quarters pass at 120 a minute
FINEST = 48  # parts of a quarter that such places are rounded to
HELD_PART = 0.6  # of a new note's length that an earlier one must sound on to be heard with it
SHORTEST_HELD_S = 0.12  # and at least so long: single lines overlap by less when fingers are slow to lift
# How strong a place of the bar is
FIRST_BEAT, HALF_BAR, BEAT, OFF_BEAT = 1.0, 0.85, 0.75, 0.5


@dataclass(frozen=True, slots=True)
class Sounded:
    """One note as it sounds. Quarters count from the first downbeat; a pickup lies below 0."""

    id: str
    pitch: int  # MIDI note number of what is heard: a bent note's is where the bend arrives
    fretted: int
    start: Fraction
    length: Fraction  # as written
    held_until: Fraction  # how far it rings beside later notes; at least to the end of its written length
    weight: float = BEAT  # of its place in the bar: 1 on the first beat, less on weaker ones
    curled: bool = False  # a quarter-tone bend: a blue note
    released: bool = False  # the bend comes back to the fretted pitch

    def __post_init__(self) -> None:
        if self.length <= 0 or self.held_until < self.start + self.length:
            raise HarmonyError(f"a note lasts, and rings as long as it is written; got {self}")

    @property
    def end(self) -> Fraction:
        """Where its written length ends."""
        return self.start + self.length


def sounded(notes: Sequence[Note], timings: Mapping[str, Timing], rhythm: Rhythm | None) -> tuple[Sounded, ...]:
    """Return the pitched notes in order of time, the lowest of a moment first; dead notes are left out."""
    pitched = [note for note in notes if note.mute != "dead"]
    told = [_sounded(note, timings.get(note.id), rhythm) for note in pitched]
    ordered = sorted(zip(told, pitched, strict=True), key=lambda pair: (pair[0].start, pair[0].pitch, pair[0].id))
    return tuple(_with_ringing(index, ordered) for index in range(len(ordered)))


def sounding_pitch(note: Note) -> int:
    """Return the MIDI note number that is heard: where the note's bends arrive, curls left out.

    >>> sounding_pitch(Note("n1", 0.0, 1.0, 62, bends=(Bend("bend", 0.1, 0.2, 1.0, 200.0, 195.0),)))
    64
    """
    if is_curled(note):
        return note.midi
    return note.midi + max((round(bend.target_cents / 100) for bend in _pushes(note)), default=0)


def is_curled(note: Note) -> bool:
    """Return whether a note is bent by about a quarter tone and no farther."""
    pushes = _pushes(note)
    return bool(pushes) and all(CURL_CENTS[0] <= bend.target_cents <= CURL_CENTS[1] for bend in pushes)


def strength(place: Fraction, rhythm: Rhythm | None) -> float:
    """Return how strong a place of the bar is, in quarters from the first downbeat: 1 on a first beat, 0.5 off beats.

    >>> from transcribe.rhythm.rhythm import Meter
    >>> [strength(Fraction(place), Rhythm(90.0, Meter(4, 4), 0.0)) for place in ("4", "2", "1", "1/2")]
    [1.0, 0.85, 0.75, 0.5]
    """
    if rhythm is None:
        return BEAT
    bar, meter = rhythm.meter.bar_beats, rhythm.meter
    at = place % bar
    if at == 0:
        return FIRST_BEAT
    beat = Fraction(3, 2) if meter.unit == 8 and meter.beats % 3 == 0 else Fraction(4, meter.unit)
    if at % beat:
        return OFF_BEAT
    return HALF_BAR if at * 2 == bar else BEAT


def _pushes(note: Note) -> list[Bend]:
    return [bend for bend in note.bends if bend.kind != "release" and bend.target_cents > 0]


def _sounded(note: Note, timing: Timing | None, rhythm: Rhythm | None) -> Sounded:
    if timing is not None and rhythm is not None:
        start, length = place_of(timing, rhythm), timing.value
    else:
        quarter_s = rhythm.beat_s if rhythm else UNTIMED_QUARTER_S
        zero_s = rhythm.first_downbeat_s if rhythm else 0.0
        start = Fraction(round(FINEST * (note.onset_s - zero_s) / quarter_s), FINEST)
        length = Fraction(max(1, round(FINEST * (note.offset_s - note.onset_s) / quarter_s)), FINEST)
    return Sounded(
        id=note.id,
        pitch=sounding_pitch(note),
        fretted=note.midi,
        start=start,
        length=length,
        held_until=start + length,
        weight=strength(start, rhythm),
        curled=is_curled(note),
        released=any(bend.kind == "release" for bend in note.bends),
    )


def _with_ringing(index: int, ordered: Sequence[tuple[Sounded, Note]]) -> Sounded:
    """Return the note with how far it is heard beside the notes that start while it sounds."""
    here, note = ordered[index]
    until = here.held_until
    for other, later in ordered[index + 1 :]:
        if later.onset_s >= note.offset_s:
            break
        together_s = min(note.offset_s, later.offset_s) - later.onset_s
        enough_s = max(SHORTEST_HELD_S, HELD_PART * (later.offset_s - later.onset_s))
        if later.onset_s > note.onset_s and other.start > here.start and together_s >= enough_s:
            until = max(until, other.end)
    return replace(here, held_until=until)
