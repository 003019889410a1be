"""Whole licks for the reviewed pages: every sign of the tab at least once, in music a player would meet."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from fingering.fretboard import STANDARD_OPEN_MIDI
from fingering.passage import Placement
from transcribe.document.model import Instrument, TakeDocument, TakeNote
from transcribe.harmony.key import Key
from transcribe.notes.note import Attack, Bend, Doubt, Note, Slide, Vibrato
from transcribe.rhythm.rhythm import Feel, Meter, Rhythm, Timing

WAVE = Vibrato(5.5, 25.0)
FOUR_FOUR = Meter(4, 4)


class Page:
    """A lick being written down, one note after another; ``value`` is in quarters."""

    def __init__(
        self,
        *,
        meter: Meter = FOUR_FOUR,
        bpm: float = 96.0,
        pickup: str = "0",
        feel: Feel = "straight",
        open_midi: tuple[int, ...] = STANDARD_OPEN_MIDI,
        capo: int = 0,
        given: bool = True,
    ) -> None:
        self.rhythm = Rhythm(bpm, meter, 1.0, Fraction(pickup), feel, "given" if given else "estimated")
        self.instrument = Instrument(open_strings_midi=open_midi, capo=capo)
        self.at = -Fraction(pickup)
        self.notes: list[TakeNote] = []

    def rest(self, value: str) -> None:
        """Leave a silence."""
        self.at += Fraction(value)

    def note(
        self,
        value: str,
        string: int,
        fret: int,
        *,
        attack: Attack = "picked",
        pushes: tuple[tuple[str, float], ...] = (),
        with_last: bool = False,
        placed: bool = True,
        **told: object,
    ) -> str:
        """Add a note and return its id; ``pushes`` are kinds of bend with their targets in cents."""
        name = f"n{len(self.notes) + 1}"
        if with_last:
            self.at -= Fraction(value)
        start_s = 1.0 + float(self.at) * self.rhythm.beat_s
        end_s = start_s + float(Fraction(value)) * self.rhythm.beat_s
        step = (end_s - start_s) / (2 * len(pushes) + 1)
        bends = tuple(
            Bend(kind, start_s + 2 * i * step, start_s + (2 * i + 1) * step, start_s + (2 * i + 2) * step, cents, cents)
            for i, (kind, cents) in enumerate(pushes)
        )
        midi = self.instrument.open_strings_midi[string - 1] + self.instrument.capo + fret
        note = Note(name, max(0.0, start_s), end_s, midi, attack=attack, bends=bends, **told)
        bar, beat = divmod(self.at, self.rhythm.meter.bar_beats)
        timing = (
            Timing(0, self.at + self.rhythm.pickup_beats, Fraction(value))
            if self.at < 0
            else Timing(int(bar) + 1, beat, Fraction(value))
        )
        place = Placement(name, string, fret, None) if placed else None
        self.notes.append(TakeNote(note, place, timing))
        self.at += Fraction(value)
        return name

    def slide(self, value: str, string: int, fret: int, to_fret: int, *, kind: str = "legato") -> None:
        """Add a note that slides to the next one."""
        self.note(value, string, fret)
        last = self.notes[-1]
        slide = Slide(kind, 100.0 * (to_fret - fret), f"n{len(self.notes) + 1}")
        self.notes[-1] = replace(last, note=replace(last.note, slide=slide))

    def document(self, *, key: Key | None = None, doubts: tuple[Doubt, ...] = ()) -> TakeDocument:
        """The lick as a take document."""
        return TakeDocument(tuple(self.notes), self.instrument, rhythm=self.rhythm, key=key, doubts=doubts)


def bends() -> TakeDocument:
    """Every kind of bend, with vibrato, in the first box."""
    page = Page(bpm=84.0, pickup="1")
    page.note("1/2", 3, 5)
    page.note("1/2", 3, 7, attack="hammer-on")
    page.note("1", 3, 7, pushes=(("bend", 200),), vibrato=WAVE)
    page.note("1/2", 2, 5)
    page.note("1/2", 2, 8, pushes=(("bend", 100), ("release", 0)))
    page.note("1", 3, 7, pushes=(("pre-bend", 200), ("release", 0)))
    page.note("1", 3, 5, pushes=(("bend", 50),))
    page.note("3/2", 2, 8, pushes=(("bend", 200), ("release", 0), ("bend", 200)))
    page.note("1/2", 2, 8, pushes=(("pre-bend", 300),))
    page.note("2", 2, 5, pushes=(("bend", 150),), vibrato=WAVE)
    return page.document(key=Key("A", "minor"))


def slides() -> TakeDocument:
    """Slides of every kind, hammer-ons and pull-offs, across a bar line, in triplets."""
    page = Page(bpm=112.0, given=False)
    page.slide("1/2", 3, 5, 7)
    page.note("1/2", 3, 7, attack="slide")
    page.slide("1/2", 2, 13, 10, kind="shift")
    page.note("1/2", 2, 10)
    page.note("1", 2, 12, slide=Slide("in", 300.0))
    page.note("1", 2, 12, slide=Slide("out", -400.0), vibrato=WAVE)
    for fret, attack in ((12, "picked"), (15, "hammer-on"), (12, "pull-off")):
        page.note("1/3", 1, fret, attack=attack)
    page.note("1/4", 2, 15)
    page.note("1/4", 2, 12, attack="pull-off")
    page.note("1/4", 3, 14)
    page.note("1/4", 3, 12, attack="pull-off")
    page.note("3/2", 3, 14)
    page.note("3/2", 3, 16, attack="hammer-on")
    page.note("1", 3, 14, attack="pull-off")
    page.note("2", 4, 14, slide=Slide("in", -200.0), vibrato=WAVE)
    return page.document(key=Key("E", "minor"))


def riff() -> TakeDocument:
    """Palm mutes, dead notes, two-note chords, a capo-less drop tuning, rests of many lengths."""
    page = Page(bpm=120.0, open_midi=(64, 59, 55, 50, 45, 38))
    for fret in (0, 0, 3):
        page.note("1/2", 6, fret, mute="palm")
    page.note("1/2", 6, 5)
    page.note("1/4", 5, 0, mute="dead")
    page.note("1/4", 5, 0, mute="dead")
    page.rest("1/2")
    page.note("1", 5, 5)
    page.note("1", 6, 5, with_last=True)
    page.rest("1")
    page.note("1/2", 6, 0, mute="palm")
    page.rest("1/2")
    page.note("3/4", 5, 3)
    page.note("1/4", 5, 2)
    page.note("1", 6, 0, vibrato=WAVE)
    return page.document(key=Key("D", "minor"))


def doubted() -> TakeDocument:
    """Doubts, a note without a place, harmonics, let ring, ties over a bar line; six-eight with a capo."""
    page = Page(meter=Meter(6, 8), bpm=108.0, capo=2, given=False)
    for string, fret in ((4, 2), (3, 0), (2, 0)):
        page.note("1/2", string, fret, let_ring=True)
    page.note("1", 1, 0, let_ring=True)
    page.note("1/2", 2, 3, let_ring=True)
    page.note("1", 1, 12, harmonic="natural")
    page.note("1/2", 1, 5, placed=False)
    page.note("3", 2, 3)
    page.note("3/2", 2, 1)
    doubts = (
        Doubt("the tempo could be double: 216 bpm fits nearly as well"),
        Doubt("two trackers disagree by an octave", "n8"),
        Doubt("played 70 ms after the place it is written in; its rhythm may differ", "n9"),
    )
    return page.document(key=Key("E", "minor"), doubts=doubts)


def narrow() -> TakeDocument:
    """Sixteenths wider than the page, syncopation, swing."""
    page = Page(bpm=90.0, feel="swing")
    for fret in (12, 10, 12, 10):
        for string in (1, 2, 3, 4):
            page.note("1/4", string, fret)
    page.note("1/2", 3, 9)
    page.note("1", 3, 11)
    page.note("1", 2, 10)
    page.note("1", 2, 12)
    page.note("5/2", 1, 10)
    page.rest("2")
    return page.document()


# Name of the page: the lick and the width it is printed to.
LICKS = {
    "bends": (bends(), 80),
    "slides": (slides(), 80),
    "riff": (riff(), 80),
    "doubted": (doubted(), 72),
    "narrow": (narrow(), 44),
}
