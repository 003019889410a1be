"""Picks inside a line told from the touches before them: a pick or finger that comes to rest on a sounding string."""

from __future__ import annotations

import numpy as np

from transcribe.notes.attack import Envelope, Strike
from transcribe.notes.moves import Line
from transcribe.settings import NoteSettings


def is_new_pick(strike: Strike, line: Line, settings: NoteSettings) -> bool:
    """True when a strike inside a line starts a note; surer where the pitch stays, for beating swells too."""
    before = _pitch_near(line, strike.time_s - 0.07, strike.time_s - 0.03)
    after = _pitch_near(line, strike.time_s + 0.04, strike.time_s + 0.09)
    if before is not None and after is not None and abs(after - before) >= 0.5:
        return strike.pick_likelihood > settings.pick_sure
    plain = strike.strength >= settings.pick_least_strength
    return plain and strike.pick_likelihood > settings.pick_same_pitch


def without_contacts(
    first: Strike | None, picks: list[Strike], loudness: Envelope, settings: NoteSettings
) -> tuple[Strike | None, list[Strike]]:
    """Return the strike that begins a line and the picks inside it, without touches of the string.

    A pick or finger comes to rest on the string 30 to 110 ms before most re-picks of real leads. Of two strikes nearer
    than any hand can pick, the stronger is the pick; a strike after which the sound drops, until a pick follows or for
    good, is a touch.
    """
    kept: list[Strike] = [] if first is None else [first]
    for pick in picks:
        if kept and pick.time_s - kept[-1].time_s < settings.repick_least_s:
            if pick.pick_likelihood * 1.02 >= kept[-1].pick_likelihood:
                kept[-1] = pick
            continue
        kept.append(pick)
    real = [
        each
        for k, each in enumerate(kept)
        if each is first or not is_contact(each, kept[k + 1] if k + 1 < len(kept) else None, loudness, settings)
    ]
    return (None, real) if first is None else (real[0], real[1:])


def is_contact(strike: Strike, following: Strike | None, loudness: Envelope, settings: NoteSettings) -> bool:
    """True when a strike is a pick or finger coming to rest on the string: the sound drops after it."""
    gap_s = 1.0 if following is None else following.time_s - strike.time_s
    before = np.median(loudness.span(loudness.all_db, strike.time_s - 0.06, strike.time_s - 0.02))
    until = min(0.09, gap_s - 0.012)
    after = np.median(loudness.span(loudness.all_db, strike.time_s + 0.6 * until, strike.time_s + until))
    dropped = float(before - after) > settings.contact_drop_db
    return dropped and (gap_s <= settings.contact_before_s or strike.rise_db < 6.0)


def _pitch_near(line: Line, from_s: float, to_s: float) -> float | None:
    times = line.times_s
    inside = line.midi[(times >= from_s) & (times <= to_s)]
    return float(np.median(inside)) if inside.size else None
