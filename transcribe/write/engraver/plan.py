"""Score to slots: everything that starts together, with accidentals, stems and beams decided. No places yet."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import groupby

from transcribe.rhythm.rhythm import Meter
from transcribe.score.octaves import STEPS_IN_OCTAVE, OctaveStretch, octave_stretches
from transcribe.score.score import Bar, Event, Score, ScoreNote, Spelled
from transcribe.write.beams import BeamMark, beam_marks
from transcribe.write.engraver.crossing import uncrossed

STEPS = "CDEFGAB"
MIDDLE_LINE = 4 * 7 + 6  # B4 as written, in steps from C0
SHARP_ORDER = "FCGDAEB"  # of key signatures; flats come in the opposite order
BEFORE, MAIN, AFTER = -1, 0, 1  # parts of a head: small heads before it, itself, small heads after it
ACCIDENTALS = {-2: "bb", -1: "b", 0: "n", 1: "#", 2: "##"}

Lowered = Mapping[Fraction, int]  # steps that notes under 8va are written lower, by beat
Signs = dict[tuple[str, Fraction, int], str]  # accidentals by note id, beat and part


@dataclass(frozen=True, slots=True)
class SmallHead:
    """A small head without a stem: a pitch that a bend leaves or reaches."""

    line: int
    sign: str | None


@dataclass(frozen=True, slots=True)
class Head:
    """One head: its note, how high it is written, and the accidental before it.

    It stands at the pitch that sounds as it begins. A bent string's other pitches are small heads beside it.
    """

    note: ScoreNote
    line: int  # steps above the middle line of the staff, as written (an octave over the sound, or under 8va at it)
    sign: str | None
    before: SmallHead | None = None  # the fretted pitch under a pre-bend
    after: tuple[SmallHead | None, ...] = ()  # where each bend made during it arrives; None: between semitones


@dataclass(frozen=True, slots=True)
class Cell:
    """One voice's event in a slot."""

    event: Event
    voice: int
    heads: tuple[Head, ...]  # lowest first
    stem: int  # 1 up, -1 down
    beams: tuple[BeamMark, ...]
    group: int | None  # cells of one beam share a number
    fills_bar: bool = False  # a rest for the whole bar, drawn in its middle


@dataclass(frozen=True, slots=True)
class Slot:
    """What starts at one beat of one bar."""

    bar: int  # index into Score.bars
    beat: Fraction
    length: Fraction  # quarters until the next slot or the end of the bar
    cells: tuple[Cell, ...]
    number: int  # counted through the whole score


@dataclass(frozen=True, slots=True)
class BarPlan:
    """One bar's slots in order."""

    bar: Bar
    slots: tuple[Slot, ...]


def plan_bars(score: Score) -> tuple[BarPlan, ...]:
    """Return every bar as slots."""
    plans = []
    count = 0
    stretches = octave_stretches(score.bars)
    for index, bar in enumerate(map(_uncrossed, score.bars)):
        marked = {mark.beat for mark in score.chords if mark.bar == bar.number and 0 <= mark.beat < bar.length}
        slots = _slots(bar, index, score, marked, count, stretches)
        count += len(slots)
        plans.append(BarPlan(bar, slots))
    return tuple(plans)


def _uncrossed(bar: Bar) -> Bar:
    return bar if len(bar.voices) == 1 else replace(bar, voices=uncrossed(*bar.voices))


def written_line(spelled: Spelled) -> int:
    """Return steps above the middle line; the octave clef writes notes an octave over their sound.

    >>> written_line(Spelled("B", 0, 3)), written_line(Spelled("E", 0, 2))
    (0, -11)
    """
    return (spelled.octave + 1) * 7 + STEPS.index(spelled.step) - MIDDLE_LINE


def _slots(
    bar: Bar, index: int, score: Score, marked: set[Fraction], count: int, stretches: Sequence[OctaveStretch]
) -> tuple[Slot, ...]:
    """The slots of a bar; a chord symbol where nothing starts gets one without cells."""
    shown = [voice for voice in bar.voices if any(not event.hidden for event in voice)] or [bar.voices[0]]
    cells: dict[Fraction, list[Cell]] = {beat: [] for beat in marked}
    lowered = {
        event.beat: STEPS_IN_OCTAVE
        for voice in shown for event in voice
        if any(stretch.holds(index, event.beat) for stretch in stretches)
    }  # fmt: skip
    signs = _accidentals(shown, score.fifths, lowered)
    for number, voice in enumerate(shown):
        direction = (1, -1)[number] if len(shown) > 1 else None
        for beat, cell in _cells(voice, number, direction, bar, score.meter, signs, lowered):
            cells.setdefault(beat, []).append(cell)
    starts = sorted(cells)
    ends = [*starts[1:], bar.length]
    return tuple(
        Slot(index, start, end - start, tuple(cells[start]), count + place)
        for place, (start, end) in enumerate(zip(starts, ends, strict=True))
    )


def _cells(
    voice: Sequence[Event],
    number: int,
    direction: int | None,
    bar: Bar,
    meter: Meter,
    signs: Signs,
    lowered: Lowered,
) -> list[tuple[Fraction, Cell]]:
    if all(event.is_rest for event in voice):
        if all(event.hidden for event in voice):
            return [(Fraction(0), Cell(voice[0], number, (), 1, (), None))]
        return [(Fraction(0), Cell(voice[0], number, (), direction or 1, (), None, fills_bar=True))]
    marks = beam_marks(voice, bar, meter)
    groups = _beam_groups(marks)
    found: list[tuple[Fraction, Cell]] = []
    heads = [
        tuple(
            sorted(
                (_head(note, event.beat, signs, lowered.get(event.beat, 0)) for note in event.notes),
                key=lambda head: head.line,
            )
        )
        for event in voice
    ]
    for group, members in groupby(range(len(voice)), key=lambda place: groups[place]):
        together = list(members)
        lines = [head.line for place in together for head in heads[place]]
        for place in together:
            own = [head.line for head in heads[place]] if group is None else lines
            stem = direction or stem_direction(own)
            cell = Cell(voice[place], number, heads[place], stem, marks[place], group)
            if not voice[place].hidden:
                found.append((voice[place].beat, cell))
    return found


def sounding(note: ScoreNote) -> Spelled:
    """Return the pitch that a head sounds as it begins: the fretted one, or where a bent string stands."""
    return note.sounding or note.spelled


def _head(note: ScoreNote, beat: Fraction, signs: Signs, down: int) -> Head:
    name = note.take.id
    before = None
    if _pre_bent(note):
        before = SmallHead(written_line(note.spelled) - down, signs.get((name, beat, BEFORE)))
    after = tuple(
        SmallHead(written_line(bent.spelled) - down, signs.get((name, beat, place))) if bent.spelled else None
        for place, bent in enumerate(note.bent, start=AFTER)
    )
    return Head(note, written_line(sounding(note)) - down, signs.get((name, beat, MAIN)), before, after)


def _pre_bent(note: ScoreNote) -> bool:
    return note.sounding is not None and not note.tied_from


def _pitches(note: ScoreNote) -> Iterator[tuple[int, Spelled]]:
    """The pitches of one head from left to right, each with its part; a tie brings its accidental with it."""
    if _pre_bent(note):
        yield BEFORE, note.spelled
    if not note.tied_from:
        yield MAIN, sounding(note)
    for part, bent in enumerate(note.bent, start=AFTER):
        if bent.spelled is not None:
            yield part, bent.spelled


def stem_direction(lines: Sequence[int]) -> int:
    """Return 1 for up, -1 for down: the head farthest from the middle line decides, down when even.

    >>> stem_direction([0]), stem_direction([-3, 2]), stem_direction([])
    (-1, 1, 1)
    """
    if not lines:
        return 1
    return 1 if -min(lines) > max(lines) else -1


def _beam_groups(marks: Sequence[tuple[BeamMark, ...]]) -> list[int | None]:
    groups: list[int | None] = []
    number = 0
    for mark in marks:
        if mark and mark[0] == "begin":
            number += 1
        groups.append(number if mark else None)
    return groups


def _accidentals(voices: Sequence[Sequence[Event]], fifths: int, under: Lowered) -> Signs:
    """Return the signs needed: an accidental holds for its line to the end of the bar, and for its pitch under 8va."""
    raised = set(SHARP_ORDER[: max(fifths, 0)])
    lowered = set(SHARP_ORDER[::-1][: max(-fifths, 0)])
    heard: dict[tuple[str, int], int] = {}
    seen: dict[tuple[str, int], int] = {}
    signs: Signs = {}
    for event in sorted((event for voice in voices for event in voice), key=lambda event: event.beat):
        pitches = ((note.take.id, part, spelled) for note in event.notes for part, spelled in _pitches(note))
        for name, part, spelled in pitches:
            place, line = (spelled.step, spelled.octave), (spelled.step, spelled.octave - bool(under.get(event.beat)))
            usual = (spelled.step in raised) - (spelled.step in lowered)
            if spelled.alter != heard.get(place, usual) or spelled.alter != seen.get(line, usual):
                signs[name, event.beat, part] = ACCIDENTALS[spelled.alter]
            heard[place] = seen[line] = spelled.alter
    return signs
