"""Lick and its steps: a written passage with string, fret, finger and gesture, before anybody plays it.

>>> box = Lick(
...     "three-notes",
...     (step("1/2", 3, 7, 3, pushes=(push(200),)), step("1/2", 2, 5, 1), rest("1")),
...     tempo_bpm=90.0,
... )
>>> box.beats
Fraction(2, 1)
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from fingering.fretboard import STANDARD_OPEN_MIDI
from transcribe.errors import NoteError, RhythmError
from transcribe.harmony.key import Key
from transcribe.notes.note import Attack, BendKind, Mute, SlideKind
from transcribe.rhythm.rhythm import Feel, Meter


@dataclass(frozen=True, slots=True)
class Push:
    """One movement of a bending finger, inside a note."""

    kind: BendKind
    cents: float  # where it is meant to arrive, above the fretted pitch
    at: float  # when it begins: 0 the onset, 1 the end of the note
    over_s: float  # how long the movement takes; a pre-bend has none
    miss_cents: float = 0.0  # how far from its target it stops

    def __post_init__(self) -> None:
        if not 0 <= self.at < 1 or self.over_s < 0 or (self.kind == "pre-bend" and (self.at, self.over_s) != (0, 0)):
            raise NoteError(f"a push begins inside its note, a pre-bend at its onset and at once; got {self}")


@dataclass(frozen=True, slots=True)
class Wave:
    """Vibrato of the fretting hand."""

    rate_hz: float
    extent_cents: float  # from the middle to the top of the wave
    at: float = 0.25  # when it begins, as for a push
    lean: float = 0.5  # 1: the finger only pushes up, 0: evenly around the pitch, -1: only lets down from a bend


@dataclass(frozen=True, slots=True)
class Step:
    """One written note, or a rest when ``string`` is None."""

    value: Fraction  # quarter notes
    string: int | None = None
    fret: int = 0  # from the nut or capo
    finger: int = 0  # 0 is the open string
    attack: Attack = "picked"
    pushes: tuple[Push, ...] = ()
    vibrato: Wave | None = None
    slide: SlideKind | None = None  # legato, shift: to the next step; in, out: of this one
    slide_frets: int = 0  # in, out: how far, signed as the pitch moves
    slide_s: float = 0.09  # how long the travel takes
    mute: Mute = "none"
    held: float = 1.0  # sounding part of the written length
    level_db: float = 0.0

    def __post_init__(self) -> None:
        if self.value <= 0 or not 0 < self.held <= 1:
            raise RhythmError(f"a step has a length above 0 and is held for some of it; got {self}")
        if (self.finger == 0) != (self.fret == 0):
            raise NoteError(f"finger 0 is the open string and no other; got {self}")
        if (self.slide in ("in", "out")) != (self.slide_frets != 0):
            raise NoteError(f"a slide in or out says over how many frets, others do not; got {self}")


def step(value: str, string: int, fret: int, finger: int, **gestures: object) -> Step:
    """Return a note of ``value`` quarters on a string and fret, with any of Step's gestures by name."""
    return Step(Fraction(value), string, fret, finger, **gestures)  # type: ignore[arg-type]


def rest(value: str) -> Step:
    """Return a silence of ``value`` quarters."""
    return Step(Fraction(value))


def push(cents: float, *, at: float = 0.08, over_s: float = 0.14, miss_cents: float = 0.0) -> Push:
    """Return a bend up to ``cents`` above the fretted pitch."""
    return Push("bend", cents, at, over_s, miss_cents)


def pushed_before(cents: float, *, miss_cents: float = 0.0) -> Push:
    """Return a bend made before the pick."""
    return Push("pre-bend", cents, 0.0, 0.0, miss_cents)


def let_down(*, to_cents: float = 0.0, at: float = 0.6, over_s: float = 0.14, miss_cents: float = 0.0) -> Push:
    """Return the release of a bend, to the fretted pitch unless told."""
    return Push("release", to_cents, at, over_s, miss_cents)


FOUR_FOUR = Meter(4, 4)


@dataclass(frozen=True, slots=True)
class Lick:
    """A passage on one guitar at a steady tempo. Its steps follow one another and do not overlap."""

    name: str
    steps: tuple[Step, ...]
    tempo_bpm: float
    meter: Meter = FOUR_FOUR
    pickup_beats: Fraction = Fraction(0)
    feel: Feel = "straight"
    key: Key | None = None
    open_strings_midi: tuple[int, ...] = STANDARD_OPEN_MIDI
    capo: int = 0
    frets: int = 22
    tuning_offset_cents: float = 0.0
    lead_in_s: float = 0.4  # silence before the first beat
    seed: int = 0  # of the player's small unevenness
    about: str = ""  # what it is there to show

    def __post_init__(self) -> None:
        if not 0 <= self.pickup_beats < self.meter.bar_beats:
            raise RhythmError(f"a pickup is shorter than a bar of {self.meter}; got {self.pickup_beats}")
        for here, after in zip(self.steps, (*self.steps[1:], None), strict=True):
            joined = here.slide in ("legato", "shift")
            if joined and (after is None or after.string != here.string):
                raise NoteError(f"a slide goes to a next step on its own string; got {here}, {after}")
        for before, here in zip((None, *self.steps[:-1]), self.steps, strict=True):
            legato = here.attack in ("hammer-on", "pull-off", "slide")
            if legato and (before is None or before.string != here.string):
                raise NoteError(f"a {here.attack} follows a note on its own string; got {before}, {here}")

    @property
    def beats(self) -> Fraction:
        """Written length in quarter notes, rests with it."""
        return sum((each.value for each in self.steps), Fraction(0))

    def midi(self, here: Step) -> int:
        """Fretted pitch of a step that is not a rest."""
        if here.string is None:
            raise NoteError("a rest has no pitch")
        return self.open_strings_midi[here.string - 1] + self.capo + here.fret
