"""The shipped licks as the solver sees them: pitches and gestures, and the places a lead player would take."""

from __future__ import annotations

from fingering import Fretboard, Passage, Placement, Pluck
from fixtures.licks import LICKS


def ferry_lick(name: str) -> tuple[Passage, list[Placement], Fretboard]:
    """Return the passage without places, the places as written, and the neck."""
    lick = LICKS[name]
    plucks, places, now_s, before = [], [], 0.0, None
    for step in lick.steps:
        length_s = float(step.value) * 60.0 / lick.tempo_bpm
        if step.string is None:
            now_s, before = now_s + length_s, None
            continue
        slid_to = before is not None and before[1].slide in ("legato", "shift")
        join = step.attack if step.attack in ("hammer-on", "pull-off", "slide") else "slide" if slid_to else "none"
        pluck = Pluck(
            id=f"n{len(plucks)}",
            onset_s=now_s,
            end_s=now_s + length_s * step.held,
            midi=lick.midi(step),
            bend_semitones=max((p.cents for p in step.pushes if p.kind != "release"), default=0.0) / 100.0,
            join=join,
            joined_to=before[0] if join != "none" else None,
            slid_in=step.slide in ("in", "out"),
            vibrato=step.vibrato is not None,
            dead=step.mute == "dead",
        )
        plucks.append(pluck)
        places.append(Placement(pluck.id, step.string, step.fret, step.finger))
        before, now_s = (pluck.id, step), now_s + length_s
    return Passage(tuple(plucks)), places, Fretboard(lick.open_strings_midi, lick.frets, lick.capo)
