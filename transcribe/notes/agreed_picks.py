"""Weak strikes of a line that the several-voices network heard as a pick of the string that was sounding.

Under distortion a string picked anew grows hardly louder, and what the onset map of a line shows is weak: such picks
pass for touches. Two hearings that were learned apart and agree on the moment and on the pitch are believed together.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from transcribe.notes.attack import Strike
from transcribe.notes.voices import Voice
from transcribe.notes.weigh import Voices
from transcribe.settings import NoteSettings

LEAST_SURE = 0.6  # of the other network's onset
WITHIN_S = 0.05  # of its moment a strike stands, the tolerance of mir_eval
SOUNDED_S = 0.1  # the pitch has begun at least so long before,
GAP_S = 0.06  # and was sounding until so shortly before
SAME_SEMITONES = 0.6


def with_picks_agreed(strikes: tuple[Strike, ...], second: Voices | None, settings: NoteSettings) -> tuple[Strike, ...]:
    """Return the strikes in time order, a weak one as strong and at the moment as the other network heard its pick.

    Only picks of a pitch that is sounding already: what begins a new pitch is told by the pitch. A strike that passes
    for a pick by itself stays as it is.
    """
    told = list(strikes)
    for voice in _picked_anew(second) if second is not None else ():
        near = [k for k, strike in enumerate(told) if abs(strike.time_s - voice.onset_s) < WITHIN_S]
        if not near:
            continue
        best = max(near, key=lambda k: told[k].pick_likelihood)
        if _is_weak(told[best], settings) and told[best].strength < voice.sure:
            told[best] = replace(told[best], time_s=voice.onset_s, strength=voice.sure)
    return tuple(sorted(told, key=lambda strike: strike.time_s))


def _is_weak(strike: Strike, settings: NoteSettings) -> bool:
    """True for a strike that is no pick of a sounding pitch by itself (``contacts.is_new_pick``)."""
    return strike.strength < settings.pick_least_strength or strike.pick_likelihood <= settings.pick_same_pitch


def _picked_anew(second: Voices) -> list[Voice]:
    """The voices that were surely picked while their pitch sounded."""
    onset = np.array([voice.onset_s for voice in second.voices])
    end = second.start_s + second.last * second.hop_s
    pitch = np.array([voice.midi[-1] for voice in second.voices])
    found = []
    for voice in second.voices:
        before = (onset < voice.onset_s - SOUNDED_S) & (end > voice.onset_s - GAP_S)
        same = np.abs(pitch - voice.midi[0]) < SAME_SEMITONES
        if voice.begin == "picked" and voice.sure >= LEAST_SURE and bool((before & same).any()):
            found.append(voice)
    return found
