"""The hands behind the notes of a single line, when the several-voices network has been asked as well."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

from transcribe.notes.attack import Envelope
from transcribe.notes.naming import Sounded
from transcribe.notes.note import Attack
from transcribe.notes.part import Part
from transcribe.notes.touch import FINGER_NAMED, TOGETHER_S, TouchMaps, finger_likelihood, may_pass_on

PICKED_FOR_CERTAIN = 0.3  # likelihood of a finger: played slides .87 and above, blurs .07 and below, choosing takes


def with_hands_told(
    sounded: tuple[Sounded, ...], maps: TouchMaps, loudness: Envelope, *, offset_semitones: float
) -> tuple[Sounded, ...]:
    """Return the notes, each that may go on from the one before called picked, hammered or pulled off by all it shows.

    Notes with nothing before them keep their name. So do slides, but for those that were picked for certain on their
    arrival: the blur of a room or of distortion between two picks passes frets as well.
    """
    order = sorted(range(len(sounded)), key=lambda k: sounded[k].part.onset_s)
    told = list(sounded)
    for before, k in pairwise(order):
        left, part = told[before].part, told[k].part
        if part.attack != "slide" and not may_pass_on(_ends_at(left), left.end_s, _begins_at(part), part.onset_s):
            continue
        together = abs(part.onset_s - left.onset_s) <= TOGETHER_S
        finger = finger_likelihood(maps, loudness, part.onset_s, _begins_at(part) + offset_semitones, together=together)
        if part.attack == "slide":
            if finger < PICKED_FOR_CERTAIN:
                told[before] = replace(told[before], part=replace(left, slide=None))
                told[k] = replace(told[k], part=replace(part, attack="picked", finger=finger, sure=1.0 - finger))
            continue
        attack: Attack = "picked"
        if finger >= FINGER_NAMED:
            attack = "hammer-on" if _begins_at(part) > _ends_at(left) else "pull-off"
        sure = part.sure if attack == part.attack else 1.0 - finger if attack == "picked" else finger
        told[k] = replace(told[k], part=replace(part, attack=attack, finger=finger, sure=sure))
    return tuple(told)


def _begins_at(part: Part) -> float:
    """The pitch a note begins at: its fret, or above it when the string was bent before."""
    bent = part.bends[0].reached_cents if part.bends and part.bends[0].kind == "pre-bend" else 0.0
    return part.midi + bent / 100.0


def _ends_at(part: Part) -> float:
    """The pitch a note ends at: its fret, or where the last push left it."""
    return part.midi + (part.bends[-1].reached_cents if part.bends else 0.0) / 100.0
