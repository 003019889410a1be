"""Can a hand play it? Read from the finished document alone, without the solver's own rules."""

from __future__ import annotations

from transcribe.document.model import TakeDocument, TakeNote

WIDEST_MM = 130.0  # between the outermost fingers of a grown hand; common practice
LARGEST_BEND_CENTS = 430.0  # two whole steps and a little: the practical top on a light string; common practice
OVERLAP_S = 0.05  # sounding together for longer than a damping finger needs


def unplayable_places(document: TakeDocument) -> list[str]:
    """Return one line for each note or pair of notes that no hand could play as written."""
    found = [line for take in document.notes for line in _alone(take, document)]
    by_id = {take.id: take for take in document.notes}
    for index, here in enumerate(document.notes):
        earlier = document.notes[:index]
        for before in earlier:
            if before is earlier[-1] or before.note.offset_s - here.note.onset_s > OVERLAP_S:
                found += _together(before, here, document)
        if earlier and here.note.attack in ("hammer-on", "pull-off", "slide"):
            found += _joined(_left_for(here, earlier), here)
    for take in document.notes:
        slide = take.note.slide
        if slide is not None and slide.to is not None:
            found += _slid(take, by_id[slide.to])
    return found


def _alone(take: TakeNote, document: TakeDocument) -> list[str]:
    if take.placement is None:
        return [f"{take.id} has no place"]
    place, guitar = take.placement, document.instrument
    lines = []
    if not 0 <= place.fret <= guitar.frets - guitar.capo:
        lines.append(f"{take.id} is beyond the neck: fret {place.fret}")
    if (
        take.note.harmonic == "none"
        and guitar.open_strings_midi[place.string - 1] + guitar.capo + place.fret != take.note.midi
    ):
        lines.append(f"{take.id} does not sound there: string {place.string} fret {place.fret}")
    if take.note.bends and place.fret == 0:
        lines.append(f"{take.id} bends an open string")
    if take.note.highest_bend_cents > LARGEST_BEND_CENTS:
        lines.append(f"{take.id} is bent by {take.note.highest_bend_cents:.0f} cents")
    return lines


def _left_for(here: TakeNote, earlier: tuple[TakeNote, ...]) -> TakeNote:
    """Return the note a finger came from: the last on its string if it ran up to here, else the one before."""
    for before in reversed(earlier):
        same = before.placement and here.placement and before.placement.string == here.placement.string
        if same and here.note.onset_s - before.note.offset_s <= OVERLAP_S:
            return before
    return earlier[-1]


def _joined(before: TakeNote, here: TakeNote) -> list[str]:
    one, two = before.placement, here.placement
    if one is None or two is None:
        return []
    if one.string != two.string:
        return [f"{here.id} is a {here.note.attack} from another string"]
    rising = two.fret > one.fret
    if (here.note.attack == "hammer-on" and not rising) or (here.note.attack == "pull-off" and two.fret >= one.fret):
        return [f"{here.id} is a {here.note.attack} the wrong way: fret {one.fret} to {two.fret}"]
    same_finger = one.finger == two.finger and one.finger not in (None, 0)
    if here.note.attack in ("hammer-on", "pull-off") and same_finger:
        return [f"{here.id} is a {here.note.attack} with the finger that holds the note before"]
    return []


def _slid(take: TakeNote, arrival: TakeNote) -> list[str]:
    one, two = take.placement, arrival.placement
    if one is None or two is None:
        return []
    if one.string != two.string or 0 in (one.fret, two.fret):
        return [f"{take.id} slides to another string, or from or to an open one"]
    return [] if one.finger == two.finger else [f"{take.id} changes finger inside its slide"]


def _together(before: TakeNote, here: TakeNote, document: TakeDocument) -> list[str]:
    """Return what is wrong with two notes that must be held at once, or one right after the other by legato."""
    one, two = before.placement, here.placement
    held = before.note.offset_s - here.note.onset_s > OVERLAP_S or here.note.attack in ("hammer-on", "pull-off")
    if one is None or two is None or not held or 0 in (one.fret, two.fret):
        return []
    if one.string == two.string and before.note.offset_s - here.note.onset_s > OVERLAP_S:
        return [f"{before.id} and {here.id} sound together on string {one.string}"]
    apart_mm = abs(_from_nut_mm(one.fret, document) - _from_nut_mm(two.fret, document))
    if apart_mm > WIDEST_MM:
        return [f"{before.id} and {here.id} are {apart_mm:.0f} mm apart"]
    same_finger = one.finger == two.finger and one.finger is not None and one.fret != two.fret
    return [f"{before.id} and {here.id} need finger {one.finger} on two frets"] if same_finger else []


def _from_nut_mm(fret: int, document: TakeDocument) -> float:
    guitar = document.instrument
    return guitar.scale_length_mm * (1 - 2.0 ** (-(fret + guitar.capo) / 12))
