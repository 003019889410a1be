"""What one pluck asks of a place on the neck, and the places that give it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

from fingering.bending import can_bend
from fingering.errors import LimitError, LockError
from fingering.fretboard import Fretboard, Position
from fingering.hand import FINGERS
from fingering.passage import Pluck

OUTSIDE = "it does not lie within the strings and frets asked for"


@dataclass(frozen=True, slots=True)
class Limits:
    """Where a passage may lie: strings, frets (from the capo) and hand positions allowed; None is no limit."""

    strings: frozenset[int] | None = None
    frets: tuple[int, int] | None = None
    positions: tuple[int, int] | None = None
    places: frozenset[tuple[int, int]] | None = None  # (string, fret) of a shape

    def __post_init__(self) -> None:
        for what, span in (("frets", self.frets), ("positions", self.positions)):
            if span is not None and span[0] > span[1]:
                raise LimitError(
                    f"the {what} asked for run from {span[0]} down to {span[1]}", f"Give the lower of the {what} first."
                )

    def allow(self, string: int, fret: int) -> bool:
        """Return whether this place may be used."""
        if self.strings is not None and string not in self.strings:
            return False
        if self.frets is not None and not self.frets[0] <= fret <= self.frets[1]:
            return False
        return self.places is None or (string, fret) in self.places


FREE = Limits()
NO_NODE = "no natural harmonic of this pitch lies under a fret"
OCTAVE = 12  # an artificial harmonic is touched at half the string that is left: twelve frets above the fretted note
OPEN_FAULT = "an open string cannot be bent, shaken, slid into or played as an artificial harmonic"


@dataclass(frozen=True, slots=True)
class Need:
    """The part of a pluck that decides where it can lie; equal needs share their work."""

    midi: int
    bend_semitones: float = 0.0
    fretted: bool = False  # slides into nowhere and shakes need a finger on the string
    harmonic: bool = False
    vibrato: bool = False
    string: int | None = None
    fret: int | None = None
    finger: int | None = None
    limits: Limits = FREE


@dataclass(frozen=True, slots=True)
class Place:
    """One way to play one note; ``fault`` says in words what is wrong with it, empty when nothing is."""

    string: int
    fret: int
    finger: int
    fault: str = ""


def need_of(pluck: Pluck, limits: Limits = FREE) -> Need:
    """Return what this pluck needs."""
    return Need(
        pluck.midi - OCTAVE if pluck.artificial else pluck.midi,
        pluck.bend_semitones,
        pluck.slid_in or pluck.vibrato or pluck.artificial or pluck.bend_semitones > 0,
        pluck.harmonic,
        pluck.vibrato,
        pluck.locked_string,
        pluck.locked_fret,
        pluck.locked_finger,
        limits,
    )


@lru_cache(maxsize=16384)
def places_for(need: Need, fretboard: Fretboard) -> tuple[Place, ...]:
    """Return the ways to play the note; empty when it is not on the neck.

    Faulty places (an open string that should shake, a bend too far for the place) say so. Raises LockError when locked
    values can never hold together.
    """
    _check_locks(need, fretboard)
    found = [place for spot in _spots(need, fretboard) for place in _fingered(need, spot, fretboard)]
    if not found and need.limits is not FREE:
        return _marked(replace(need, limits=FREE), fretboard, OUTSIDE)
    return tuple(found)


def _marked(need: Need, fretboard: Fretboard, fault: str) -> tuple[Place, ...]:
    return tuple(replace(place, fault=place.fault or fault) for place in places_for(need, fretboard))


def _spots(need: Need, fretboard: Fretboard) -> tuple[Position, ...]:
    spots = fretboard.harmonic_places(need.midi) if need.harmonic else ()
    spots = spots or fretboard.places(need.midi)
    return tuple(
        spot
        for spot in spots
        if need.string in (None, spot.string)
        and need.fret in (None, spot.fret)
        and need.limits.allow(spot.string, spot.fret)
    )


def _fingered(need: Need, spot: Position, fretboard: Fretboard) -> list[Place]:
    if spot.fret == 0:
        if need.finger not in (None, 0):
            return []
        fault = OPEN_FAULT if need.fretted else NO_NODE if need.harmonic else ""
        return [Place(spot.string, 0, 0, fault)]
    found = []
    for finger in FINGERS:
        if need.finger not in (None, finger):
            continue
        fault = ""
        if need.bend_semitones > 0 and not can_bend(fretboard, spot.string, spot.fret, finger, need.bend_semitones):
            fault = f"a bend of {need.bend_semitones:g} semitones is more than this place and finger usually give"
        if need.harmonic and not _is_node(need, spot, fretboard):
            fault = NO_NODE
        found.append(Place(spot.string, spot.fret, finger, fault))
    return found


def _is_node(need: Need, spot: Position, fretboard: Fretboard) -> bool:
    return spot in fretboard.harmonic_places(need.midi)


def _check_locks(need: Need, fretboard: Fretboard) -> None:
    if need.string is not None and not 1 <= need.string <= len(fretboard.open_midi):
        raise LockError(
            f"a note is locked to string {need.string} of a guitar with {len(fretboard.open_midi)}",
            f"Lock it to a string from 1 (highest) to {len(fretboard.open_midi)}.",
        )
    if need.finger is not None and not 0 <= need.finger <= 4:
        raise LockError(f"a note is locked to finger {need.finger}", "Fingers are 1 to 4, and 0 for an open string.")
    if need.string is None and need.fret is None and need.finger is None:
        return
    everywhere = fretboard.harmonic_places(need.midi) if need.harmonic else ()
    everywhere = everywhere or fretboard.places(need.midi)
    fitting = [spot for spot in everywhere if need.string in (None, spot.string) and need.fret in (None, spot.fret)]
    places = ", ".join(f"string {spot.string} fret {spot.fret}" for spot in everywhere) or "nowhere on this neck"
    if (need.string is not None or need.fret is not None) and not fitting:
        where = " ".join(
            f"{word} {value}" for word, value in (("string", need.string), ("fret", need.fret)) if value is not None
        )
        raise LockError(
            f"the lock to {where} contradicts the pitch (MIDI {need.midi}) of the note",
            f"That pitch lies on: {places}.",
        )
    if (need.string is not None or need.fret is not None) and not any(
        need.limits.allow(spot.string, spot.fret) for spot in fitting
    ):
        spot = fitting[0]
        raise LockError(
            f"the lock to string {spot.string} fret {spot.fret} contradicts the strings and frets of its span",
            "Free the note, or widen the limit.",
        )
    if need.finger is not None and fitting and not any((spot.fret == 0) == (need.finger == 0) for spot in fitting):
        raise _finger_error(need, fitting)


def _finger_error(need: Need, fitting: list[Position]) -> LockError:
    """Return the error of a finger that no place left to the note can take."""
    rule = "Finger 0 is an open string (fret 0); fingers 1 to 4 press a fret."
    finger = f"the lock to finger {need.finger}"
    if need.fret is not None:
        return LockError(f"{finger} contradicts the lock to fret {need.fret}", rule)
    if need.string is not None:
        spot = fitting[0]
        return LockError(f"{finger} contradicts the lock to string {spot.string}: there it is fret {spot.fret}", rule)
    places = ", ".join(f"string {spot.string} fret {spot.fret}" for spot in fitting)
    return LockError(f"{finger} contradicts the pitch of the note: it lies on {places}", rule)
