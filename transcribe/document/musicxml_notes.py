"""Heads of a MusicXML part to sounding notes: two staves of the same music and tied heads are read as one."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import TYPE_CHECKING

from transcribe.document.musicxml_part import Head, PartMusic, with_grace_time
from transcribe.document.musicxml_signs import facts_of_note, place_of_note

if TYPE_CHECKING:
    from lxml.etree import _Element


@dataclass(slots=True)
class Sounding:
    """One sounding note, with every element that tells of it: notation before tab, first head before tied ones."""

    start: Fraction
    end: Fraction
    head_length: Fraction  # of its first head
    midi: int
    elements: list[_Element] = field(default_factory=list)
    place: tuple[int, int] | None = None  # string, fret
    last_elements: list[_Element] = field(default_factory=list)  # of its last head

    @property
    def id_told(self) -> str | None:
        """The name its first element gives it."""
        for element in self.elements:
            name = element.get("id") or facts_of_note(element).get("name")
            if name:
                return str(name)
        return None


def soundings(music: PartMusic) -> list[Sounding]:
    """Return the notes of a part in order of start, the higher first.

    A tab staff below a staff of notation repeats its notes and adds their places. Two heads of one pitch at one time
    on no two strings are one note.
    """
    heads = with_grace_time(music.heads)
    tab = [head for head in heads if head.staff in music.tab_staves or _only_tab(head, music)]
    notation = [head for head in heads if head not in tab] if tab else heads
    single = list(_joined_ties(_merged(notation, tab)))
    return sorted(_without_doubles(single), key=lambda note: (note.start, -note.midi))


def _only_tab(head: Head, music: PartMusic) -> bool:
    return False if music.tab_staves else place_of_note(head.element) is not None and head.staff > 1


def _merged(notation: Sequence[Head], tab: Sequence[Head]) -> list[tuple[Head, ...]]:
    """Heads of both staves paired by time and pitch, or by time and pitch class where one staff is an octave off."""
    waiting: dict[Fraction, list[Head]] = {}
    for head in tab:
        waiting.setdefault(head.start, []).append(head)
    pairs: list[list[Head]] = [[head] for head in notation]
    for octave in (128, 12):
        for pair in pairs:
            if len(pair) == 1:
                here = waiting.get(pair[0].start, [])
                match = next((head for head in here if head.midi % octave == pair[0].midi % octave), None)
                if match is not None:
                    here.remove(match)
                    pair.append(match)
    left = [[head] for heads in waiting.values() for head in heads]
    return sorted((tuple(pair) for pair in (*pairs, *left)), key=lambda pair: pair[0].start)


def _joined_ties(pairs: Iterable[tuple[Head, ...]]) -> Iterator[Sounding]:
    open_ties: dict[tuple[int, Fraction], list[Sounding]] = {}  # by pitch and where they end
    for pair in pairs:
        first = pair[0]
        place = next((place for head in pair if (place := place_of_note(head.element)) is not None), None)
        elements = [head.element for head in pair]
        going_on = open_ties.get((first.midi, first.start), []) if any(head.ties("stop") for head in pair) else []
        note = next((note for note in going_on if note.place == place), going_on[0] if going_on else None)
        if note is None:
            note = Sounding(first.start, first.end, first.length, first.midi, elements, place)
            yield note
        else:
            going_on.remove(note)
            note.end = max(note.end, first.end)
        note.last_elements = elements
        if any(head.ties("start") for head in pair):
            open_ties.setdefault((first.midi, first.end), []).append(note)


def _without_doubles(notes: Sequence[Sounding]) -> Iterator[Sounding]:
    """Drop a note that another voice tells as well: same time and pitch, and no string of its own."""
    seen: dict[tuple[Fraction, int], list[Sounding]] = {}
    for note in sorted(notes, key=lambda note: (note.start, note.place is None, note.start - note.end)):
        here = seen.setdefault((note.start, note.midi), [])
        if here and (note.place is None or any(other.place == note.place for other in here)):
            continue
        here.append(note)
        yield note
