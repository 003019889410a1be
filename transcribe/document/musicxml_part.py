"""One part of a MusicXML score: every head, chord and word on the clock, before heads become notes.

Time goes by the standard's rules (MusicXML 4.0, tutorial "Notation Basics"): a note moves the cursor on by its duration
unless it has ``chord`` or ``grace``; ``backup`` and ``forward`` move it. A measure is as long as its longest voice.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from typing import TYPE_CHECKING

from transcribe.errors import ReadError

if TYPE_CHECKING:
    from lxml.etree import _Element

STEPS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
GRACE_QUARTERS = Fraction(1, 8)  # a grace note is read as a 32nd before its note
MOST_NOTES = 20_000  # an hour of sixteenths at 80 bpm


@dataclass(frozen=True, slots=True)
class Head:
    """One note element; places in quarters from the start of the part."""

    element: _Element
    start: Fraction
    length: Fraction  # 0 for a grace note that has not been given time yet
    staff: int
    midi: int  # as it sounds

    @property
    def end(self) -> Fraction:
        """Where it stops."""
        return self.start + self.length

    def has(self, path: str) -> bool:
        """True when the element holds something at a path."""
        return self.element.find(path) is not None

    def ties(self, kind: str) -> bool:
        """True for a head that is tied on (``start``) or from an earlier one (``stop``)."""
        return any(tie.get("type") == kind for tie in self.element.iterfind("tie"))


@dataclass(slots=True)
class PartMusic:
    """What a part holds, in reading order."""

    heads: list[Head] = field(default_factory=list)
    harmonies: list[tuple[Fraction, _Element]] = field(default_factory=list)
    directions: list[tuple[Fraction, _Element]] = field(default_factory=list)
    attributes: list[tuple[Fraction, _Element]] = field(default_factory=list)
    measures: list[tuple[Fraction, Fraction, _Element]] = field(default_factory=list)  # start, length
    meter: tuple[int, int] = (4, 4)  # the first one told
    tab_staves: set[int] = field(default_factory=set)

    @property
    def end(self) -> Fraction:
        """Where the last measure ends."""
        return self.measures[-1][0] + self.measures[-1][1] if self.measures else Fraction(0)


def read_part(measures: list[_Element]) -> PartMusic:
    """Return the music of one part. Unpitched notes, cue notes and rests are passed over."""
    reader = _PartReader()
    for measure in measures:
        reader.read(measure)
    return reader.music


class _PartReader:
    """Keeps the clock and what the attributes last said."""

    def __init__(self) -> None:
        self.music = PartMusic()
        self._divisions = Fraction(1)
        self._bar = Fraction(4)
        self._transpose = 0
        self._start = Fraction(0)
        self._metered = False

    def read(self, measure: _Element) -> None:
        """Take in one measure; the next begins where its longest voice ends."""
        self._cursor = self._last = self._furthest = self._start
        for element in measure:
            handler = getattr(self, f"_{str(element.tag).replace('-', '_')}", None)
            if handler is not None:
                handler(element)
        length = self._furthest - self._start
        if length <= 0:
            length = self._bar
        self.music.measures.append((self._start, length, measure))
        self._start += length

    def _attributes(self, element: _Element) -> None:
        self.music.attributes.append((self._cursor, element))
        divisions = element.findtext("divisions")
        if divisions:
            self._divisions = _number(divisions, "divisions")
            if self._divisions <= 0:
                raise ReadError("this MusicXML file divides a quarter into no parts", "Export it again.")
        time = element.find("time")
        if time is not None and time.findtext("beats") and time.findtext("beat-type"):
            self._set_meter(time)
        for transpose in element.iterfind("transpose"):
            octaves = _number(transpose.findtext("octave-change", "0"), "octave-change")
            self._transpose = int(_number(transpose.findtext("chromatic", "0"), "chromatic") + 12 * octaves)
        for clef in element.iterfind("clef"):
            if (clef.findtext("sign") or "").upper() == "TAB":
                self.music.tab_staves.add(int(clef.get("number", "1")))

    def _set_meter(self, time: _Element) -> None:
        try:
            beats = sum(int(part) for text in time.iterfind("beats") for part in (text.text or "").split("+"))
            unit = int(time.findtext("beat-type", "4"))
        except ValueError:
            return
        if beats < 1 or unit < 1:
            return
        self._bar = Fraction(4 * beats, unit)
        if not self._metered:
            self.music.meter, self._metered = (beats, unit), True

    def _backup(self, element: _Element) -> None:
        self._cursor = max(self._start, self._cursor - self._duration(element))

    def _forward(self, element: _Element) -> None:
        self._move(self._duration(element))

    def _move(self, length: Fraction) -> None:
        self._cursor += length
        self._furthest = max(self._furthest, self._cursor)

    def _duration(self, element: _Element) -> Fraction:
        return max(Fraction(0), _number(element.findtext("duration", "0"), "duration") / self._divisions)

    def _harmony(self, element: _Element) -> None:
        self.music.harmonies.append((self._cursor + self._offset(element), element))

    def _direction(self, element: _Element) -> None:
        self.music.directions.append((self._cursor + self._offset(element), element))

    def _sound(self, element: _Element) -> None:
        self.music.directions.append((self._cursor, element))

    def _offset(self, element: _Element) -> Fraction:
        return _number(element.findtext("offset", "0"), "offset") / self._divisions

    def _note(self, element: _Element) -> None:
        length = self._duration(element)
        if element.find("chord") is None:
            start = self._cursor
            self._last = start
            self._move(length)
        else:
            start = self._last
        midi = self._midi(element)
        if midi is None or element.find("cue") is not None:
            return
        self.music.heads.append(Head(element, start, length, int(element.findtext("staff") or 1), midi))
        if len(self.music.heads) > 2 * MOST_NOTES:
            raise ReadError(f"this part holds more than {MOST_NOTES} notes", "Export a shorter passage.")

    def _midi(self, element: _Element) -> int | None:
        pitch = element.find("pitch")
        if pitch is None:
            return None
        step = (pitch.findtext("step") or "").strip()
        if step not in STEPS:
            raise ReadError(f"this MusicXML file has a note of no known step: {step!r}", "Export it again.")
        alter = round(float(_number(pitch.findtext("alter", "0"), "alter")))
        octave = int(_number(pitch.findtext("octave", "4"), "octave"))
        midi = 12 * (octave + 1) + STEPS[step] + alter + self._transpose
        return midi if 0 <= midi <= 127 else None


def _number(text: str, what: str) -> Fraction:
    try:
        return Fraction(text.strip() or "0")
    except (ValueError, ZeroDivisionError) as error:
        raise ReadError(
            f"this MusicXML file has a {what} that is no number: {text[:40]!r}", "Export it again."
        ) from error


def with_grace_time(heads: list[Head]) -> list[Head]:
    """Return the heads with grace notes as 32nds before the note they lead to, or at its start when nothing is before.

    Several in a row follow one another.
    """
    from dataclasses import replace

    found: list[Head] = []
    waiting: list[Head] = []
    earliest = min((head.start for head in heads), default=Fraction(0))
    for head in heads:
        if head.has("grace"):
            waiting.append(head)
            continue
        if waiting and not head.has("chord"):
            room = GRACE_QUARTERS * len(waiting)
            first = head.start - room if head.start - room >= earliest else head.start
            found += [
                replace(grace, start=first + index * GRACE_QUARTERS, length=GRACE_QUARTERS)
                for index, grace in enumerate(waiting)
            ]
            if first == head.start and head.length > room:
                head = replace(head, start=head.start + room, length=head.length - room)
            waiting = []
        if head.length > 0:
            found.append(head)
    return found
