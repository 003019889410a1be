"""Where the hand should take care: wide stretches, hard bends, many bends in a row."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from fingering.bending import BENDS, push_for
from fingering.fretboard import Fretboard
from fingering.hand import HAND
from fingering.moments import Moment
from fingering.passage import Passage, Placement
from fingering.solution import Caution

ADVICE = (
    "Warm up first and build it up slowly; stop if it hurts, and ask a teacher or a clinician about pain that stays."
)


@dataclass(frozen=True, slots=True)
class CautionSettings:
    """The comfortable range. What lies beyond it is flagged, never forbidden."""

    stretch_mm: float = HAND.comfortable_mm  # between the outer fingers; four frets at the nut: common practice
    push_n: float = BENDS.caution_push_n  # side force of one bend; from the elastic string (see ``bending``)
    bends_in_a_row: int = 8  # bends of a whole tone or more within the time below; a choice of ours
    in_a_row_s: float = 20.0


def cautions_for(
    passage: Passage,
    moments: Sequence[Moment],
    held: Sequence[Sequence[Placement]],
    fretboard: Fretboard,
    settings: CautionSettings | None = None,
) -> tuple[Caution, ...]:
    """Return what to take care with; ``held`` are the placements fingers hold down at each moment, new or ringing."""
    limits = settings or CautionSettings()
    found: list[Caution] = []
    bends_s: list[float] = []
    for moment, placements in zip(moments, held, strict=True):
        fretted = [fretboard.nut_to_fret_mm(placement.fret) for placement in placements]
        first = passage.plucks[moment.new[0]]
        if fretted and max(fretted) - min(fretted) > limits.stretch_mm:
            apart_mm = max(fretted) - min(fretted)
            found.append(Caution(first.id, f"a stretch of {apart_mm:.0f} mm between the outer fingers", ADVICE))
        by_id = {placement.id: placement for placement in placements}
        for pluck in (passage.plucks[index] for index in moment.new):
            place = by_id.get(pluck.id)
            if pluck.bend_semitones <= 0 or place is None:
                continue
            scale_mm = fretboard.scale_length_mm
            _, push_n = push_for(place.string, place.fret + fretboard.capo, pluck.bend_semitones, scale_mm)
            if push_n > limits.push_n:
                found.append(Caution(pluck.id, f"a bend that needs about {push_n:.0f} N of push", ADVICE))
            if pluck.bend_semitones >= 2:
                bends_s = [at_s for at_s in bends_s if pluck.onset_s - at_s < limits.in_a_row_s] + [pluck.onset_s]
                if len(bends_s) == limits.bends_in_a_row + 1:
                    why = f"more than {limits.bends_in_a_row} wide bends within {limits.in_a_row_s:.0f} seconds"
                    found.append(Caution(pluck.id, why, ADVICE))
    return tuple(found)
