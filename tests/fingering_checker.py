"""An independent judge of fingerings: reads placements alone, shares no code with the search.

It knows the neck by arithmetic and the hand by four rules of its own, and returns what is wrong in words.
"""

from __future__ import annotations

from dataclasses import replace

# farthest apart two fingers can be down at once, mm, from the fret formula: common practice for an adult hand
WIDEST_MM = {(1, 2): 72, (1, 3): 101, (1, 4): 128, (2, 3): 46, (2, 4): 80, (3, 4): 52}
MOST_BARRED = {1: 8, 2: 2, 3: 3, 4: 3}


def faults(passage, fretboard, fingering) -> list[str]:
    """Return every rule the fingering breaks without a doubt that says so."""
    doubted = {doubt.id for doubt in fingering.doubts}
    placed = {placement.id: placement for placement in fingering.placements}
    found = []
    for pluck in passage.plucks:
        if pluck.id not in placed:
            if pluck.id not in doubted:
                found.append(f"{pluck.id} is not placed and nobody says why")
        elif pluck.id not in doubted:
            found += _one_note(pluck, placed[pluck.id], fretboard)
            if pluck.joined_to in placed and pluck.joined_to not in doubted:
                found += _join(pluck, placed[pluck.joined_to], placed[pluck.id])
    for time_s in sorted({pluck.onset_s for pluck in passage.plucks}):
        sounding = [p for p in passage.plucks if p.id in placed and p.id not in doubted and _sounds(p, time_s)]
        struck_again = {q.midi: q.onset_s for q in passage.plucks if q.onset_s <= time_s}
        sounding = [p for p in sounding if struck_again[p.midi] == p.onset_s]
        sounding = [p for p in sounding if not any(q.joined_to == p.id and q.onset_s <= time_s for q in passage.plucks)]
        held = [_as_it_rings(p, placed[p.id], time_s) for p in sounding]
        found += [f"at {time_s} s: {why}" for why in _hold(held, fretboard)]
        found += [f"at {time_s} s: {why}" for why in _drags(sounding, placed, len(fretboard.open_midi))]
    return found


def _sounds(pluck, time_s) -> bool:
    # the last third of a note, or 60 ms, may be given up for the next one without a word
    given_up = max(0.06, 0.3 * (pluck.end_s - pluck.onset_s))
    return pluck.onset_s <= time_s < pluck.end_s - given_up - 1e-9 or pluck.onset_s == time_s


def _as_it_rings(pluck, placement, time_s):
    # the finger that touches a harmonic's node leaves at once, and the string rings on open: common practice
    return replace(placement, fret=0, finger=0) if pluck.harmonic and pluck.onset_s < time_s else placement


def _one_note(pluck, placement, fretboard) -> list[str]:
    found = []
    sounds = fretboard.open_midi[placement.string - 1] + fretboard.capo + placement.fret
    if pluck.artificial:
        sounds += 12  # half the string that is left
        if placement.touch_fret != placement.fret + 12 or placement.fret == 0:
            found.append(f"{pluck.id} is touched at fret {placement.touch_fret}, fretted at {placement.fret}")
    if pluck.harmonic:
        open_midi = fretboard.open_midi[placement.string - 1] + fretboard.capo
        nodes = {12: (12,), 19: (7, 19), 24: (5, 24), 28: (4, 9, 16)}.get(pluck.midi - open_midi, ())
        if placement.fret not in nodes:
            found.append(f"{pluck.id} has no node at fret {placement.fret} of string {placement.string}")
    if not pluck.harmonic and sounds != pluck.midi:
        found.append(f"{pluck.id} sounds MIDI {sounds}, not {pluck.midi}")
    if not 0 <= placement.fret <= fretboard.frets - fretboard.capo:
        found.append(f"{pluck.id} lies off the neck")
    if (placement.fret == 0) != (placement.finger == 0):
        found.append(f"{pluck.id} has finger {placement.finger} on fret {placement.fret}")
    if placement.fret == 0 and (pluck.bend_semitones > 0 or pluck.vibrato or pluck.slid_in):
        found.append(f"{pluck.id} bends or shakes an open string")
    for name in ("string", "fret", "finger"):
        locked = getattr(pluck, f"locked_{name}")
        if locked is not None and locked != getattr(placement, name):
            found.append(f"{pluck.id} breaks its lock to {name} {locked}")
    return found


def _join(pluck, before, after) -> list[str]:
    if before.string != after.string:
        return [f"{pluck.id} is joined across strings"]
    if pluck.join == "slide":
        return [] if before.finger == after.finger > 0 else [f"{pluck.id} slides with another finger"]
    rises = after.fret > before.fret and (after.finger > before.finger)
    falls = after.fret < before.fret and (after.finger < before.finger)
    return [] if rises or falls else [f"{pluck.id} cannot be hammered or pulled with finger {after.finger}"]


def _hold(placements, fretboard) -> list[str]:
    found = []
    strings = [p.string for p in placements]
    if len(set(strings)) < len(strings):
        found.append("two notes on one string")
    fretted = [p for p in placements if p.fret > 0]
    for a in fretted:
        for b in fretted:
            if a.finger < b.finger:
                apart = _mm(b.fret, fretboard) - _mm(a.fret, fretboard)
                if apart < -1e-6:
                    found.append(f"finger {a.finger} above finger {b.finger}")
                elif apart > WIDEST_MM[a.finger, b.finger] + 1e-6:
                    found.append(f"fingers {a.finger} and {b.finger} are {apart:.0f} mm apart")
            elif a.finger == b.finger and a.fret != b.fret:
                found.append(f"finger {a.finger} on two frets")
    for finger in {p.finger for p in fretted}:
        barred = [p for p in fretted if p.finger == finger]
        low, high = min(p.string for p in barred), max(p.string for p in barred)
        if len(barred) > 1 and high - low + 1 > MOST_BARRED[finger]:
            found.append(f"finger {finger} bars strings {low} to {high}")
        for p in placements:
            if len(barred) > 1 and low <= p.string <= high and p.finger != finger and p.fret <= barred[0].fret:
                found.append(f"string {p.string} sounds under the barre of finger {finger}")
    return found


def _drags(sounding, placed, n_strings) -> list[str]:
    """A bend of a semitone or more takes the next string along: upward from strings 1 to 3, downward from the last
    two, either way between (common practice)."""
    still = {placed[p.id].string for p in sounding if p.bend_semitones <= 0}
    found = []
    for pluck in sounding:
        string = placed[pluck.id].string
        ways = {string + 1} if string <= 3 else {string - 1} if string >= n_strings - 1 else {string + 1, string - 1}
        if pluck.bend_semitones >= 1 and placed[pluck.id].fret > 0 and ways <= still:
            found.append(f"bending {pluck.id} drags a string that sounds")
    return found


def _mm(fret, fretboard) -> float:
    return fretboard.scale_length_mm * (1 - 2 ** (-(fret + fretboard.capo) / 12))
