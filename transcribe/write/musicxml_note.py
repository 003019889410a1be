"""One event of a score as MusicXML notes, for the notation staff or the tab staff."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from transcribe.notes.note import Bend, Note
from transcribe.score.score import Event, ScoreNote
from transcribe.write.beams import BeamMark
from transcribe.write.musicxml_marks import NUMBERS, Spans
from transcribe.write.musicxml_play import XML_NAME, add_play
from transcribe.write.xml_text import NOT_XML

if TYPE_CHECKING:
    from lxml.etree import _Element

NOTATION, TAB = 1, 2  # staff numbers
DOUBTFUL = "to be checked"  # editorial level of a doubted note
DOUBT_JOINT = "\n"  # between the reasons in its footnote
ACCIDENTALS = {-2: "flat-flat", -1: "flat", 0: "natural", 1: "sharp", 2: "double-sharp"}


@dataclass(frozen=True, slots=True)
class Pen:
    """What every note of one voice on one staff shares."""

    staff: int
    voice: int
    divisions: int  # of a quarter
    beat_s: float
    stem: str | None  # "up" or "down" where two voices share the staff
    spans: Spans
    accidentals: Mapping[str, int]  # alterations to show in this bar, by note id


def add(parent: _Element, tag: str, text: str | int | None = None, /, **attributes: str) -> _Element:
    """Return a new child element; an underscore in an attribute's name stands for a hyphen."""
    from lxml.etree import SubElement

    told = {name.replace("_", "-"): NOT_XML.sub("", value) for name, value in attributes.items()}
    child = SubElement(parent, tag, told)
    if text is not None:
        child.text = NOT_XML.sub("", str(text))
    return child


def add_rest(measure: _Element, event: Event, pen: Pen, *, whole_bar: bool) -> None:
    """Add a rest; the tab staff leaves it blank, as tab under notation does (common practice)."""
    blank = pen.staff == TAB or event.hidden
    element = add(measure, "note", **({"print_object": "no"} if blank else {}))
    add(element, "rest", **({"measure": "yes"} if whole_bar else {}))
    add(element, "duration", int(event.value.quarters * pen.divisions))
    add(element, "voice", pen.voice)
    if not whole_bar:
        _add_value(element, event)
    add(element, "staff", pen.staff)
    _add_tuplet(element, event, pen)


def add_notes(measure: _Element, event: Event, pen: Pen, beams: tuple[BeamMark, ...]) -> None:
    """Add the heads of one event."""
    first = True
    for place, note in enumerate(event.notes, start=1):
        if pen.staff == TAB and note.take.placement is None:
            continue
        begins = pen.staff == NOTATION and not note.tied_from  # where the note is told that has no place on the staff
        element = add(measure, "note", **({"id": note.take.id} if begins and XML_NAME.fullmatch(note.take.id) else {}))
        if not first:
            add(element, "chord")
        _add_pitch(element, note)
        add(element, "duration", int(event.value.quarters * pen.divisions))
        for kind in _ties(note):
            add(element, "tie", type=kind)
        if begins and note.take.id in pen.spans.doubts:
            add(element, "footnote", DOUBT_JOINT.join(pen.spans.doubts[note.take.id]))
            add(element, "level", DOUBTFUL)
        add(element, "voice", pen.voice)
        _add_value(element, event, pen.accidentals.get(note.take.id) if begins else None)
        stem = "none" if pen.staff == TAB else pen.stem
        if stem:
            add(element, "stem", stem)
        head = _head(note.take.note)
        if head:
            add(element, "notehead", head)
        add(element, "staff", pen.staff)
        if first and pen.staff == NOTATION:
            for number, mark in enumerate(beams, start=1):
                add(element, "beam", mark, number=str(number))
        _add_notations(element, event, note, pen, tuplet=first)
        if begins and note.take.degree:
            lyric = add(
                element, "lyric", name="degree", number=str(place), placement="below"
            )  # a line for each of a chord
            add(lyric, "text", note.take.degree)
        add_play(element, note.take, played=begins)
        first = False
    if first:  # no head has a place on the neck: keep the time
        add_rest(measure, event, pen, whole_bar=False)


def _add_pitch(element: _Element, note: ScoreNote) -> None:
    """The sounding pitch: the clef's octave sign, not the pitch, carries the octave (no transpose element)."""
    pitch = add(element, "pitch")
    add(pitch, "step", note.spelled.step)
    if note.spelled.alter:
        add(pitch, "alter", note.spelled.alter)
    add(pitch, "octave", note.spelled.octave)


def _add_value(element: _Element, event: Event, accidental: int | None = None) -> None:
    add(element, "type", event.value.type)
    for _ in range(event.value.dots):
        add(element, "dot")
    if accidental is not None:
        add(element, "accidental", ACCIDENTALS[accidental])
    if event.value.tuplet:
        actual, normal = event.value.tuplet
        ratio = add(element, "time-modification")
        add(ratio, "actual-notes", actual)
        add(ratio, "normal-notes", normal)


def _head(note: Note) -> str | None:
    if note.mute == "dead":
        return "x"
    return "diamond" if note.harmonic != "none" else None


def _ties(note: ScoreNote) -> Iterator[str]:
    if note.tied_from:
        yield "stop"
    if note.tied_to:
        yield "start"


def _add_tuplet(element: _Element, event: Event, pen: Pen) -> None:
    """On both staves, or readers space them apart; its number is shown on the notation staff alone."""
    if event.tuplet_starts or event.tuplet_stops:
        _tuplet_marks(add(element, "notations"), event, pen)


def _tuplet_marks(notations: _Element, event: Event, pen: Pen) -> None:
    if event.tuplet_starts:
        hidden = {"bracket": "no", "show_number": "none"} if pen.staff == TAB else {}
        add(notations, "tuplet", type="start", number=str(pen.staff), **hidden)
    if event.tuplet_stops:
        add(notations, "tuplet", type="stop", number=str(pen.staff))


def _add_notations(element: _Element, event: Event, note: ScoreNote, pen: Pen, *, tuplet: bool) -> None:
    notations = add(element, "notations")
    for kind in _ties(note):
        add(notations, "tied", type=kind)
    if note.take.id in pen.spans.ringing and not note.tied_to:
        add(notations, "tied", type="let-ring")
    if tuplet:
        _tuplet_marks(notations, event, pen)
    _add_slides_and_slurs(notations, note, pen)
    _add_vibrato(notations, note, pen)
    _add_technical(notations, event, note, pen)
    _add_slide_in_or_out(notations, note)
    if note.take.tone and not note.tied_from and pen.staff == NOTATION:
        add(notations, "other-notation", note.take.tone, type="single", print_object="no")
    if not len(notations):
        element.remove(notations)


def _number(number: int, pen: Pen) -> str:
    return str(number + NUMBERS * (pen.staff - 1))


def _add_slides_and_slurs(notations: _Element, note: ScoreNote, pen: Pen) -> None:
    """Slides on both staves; hammer-ons and pull-offs are slurs in notation, and named on the tab staff."""
    joins = [("stop", join) for join in pen.spans.stops.get(note.take.id, ()) if not note.tied_from]
    joins += [("start", join) for join in pen.spans.starts.get(note.take.id, ()) if not note.tied_to]
    for end, join in joins:
        if join.kind == "slide":
            add(notations, "slide", type=end, line_type="solid", number=_number(join.number, pen))
        elif pen.staff == NOTATION:
            add(notations, "slur", type=end, number=_number(join.number, pen))


def _add_vibrato(notations: _Element, note: ScoreNote, pen: Pen) -> None:
    if note.take.note.vibrato is None or (note.tied_from and note.tied_to):
        return
    ornaments = add(notations, "ornaments")
    if not note.tied_from:
        add(ornaments, "wavy-line", type="start", number=str(pen.staff))
    if not note.tied_to:
        add(ornaments, "wavy-line", type="stop", number=str(pen.staff))


def _add_technical(notations: _Element, event: Event, note: ScoreNote, pen: Pen) -> None:
    technical = add(notations, "technical")
    placement = note.take.placement
    heard = note.take.note
    if not note.tied_from:
        if heard.harmonic != "none":
            harmonic = add(technical, "harmonic")
            add(harmonic, heard.harmonic)
            add(harmonic, "sounding-pitch")  # of the three that the standard names, the one the note element tells
            if note.touched_fret is not None and pen.staff == TAB:
                add(technical, "other-technical", f"touched over fret {note.touched_fret}")
        if placement is not None and pen.staff == TAB and placement.finger is not None:
            add(technical, "fingering", placement.finger)
        if placement is not None and placement.stroke and pen.staff == NOTATION and not _told_above(note, event):
            _add_stroke(technical, placement.stroke)
    if placement is not None and pen.staff == TAB:
        add(technical, "string", placement.string)
        add(technical, "fret", placement.fret)
        _add_joins(technical, note, pen)
        if not note.tied_from:
            _add_bends(technical, event, heard, pen)
    elif placement is None and not note.tied_from:  # it has no head on the tab staff
        _add_bends(technical, event, heard, pen)
    if not len(technical):
        notations.remove(technical)


def _told_above(note: ScoreNote, event: Event) -> bool:
    """Whether a higher note of a chord tells the same stroke of the pick already: one sign stands for all."""
    strokes = [each.take.placement.stroke for each in event.notes[: event.notes.index(note)] if each.take.placement]
    mine = note.take.placement.stroke if note.take.placement else None
    return mine in ("down", "up") and mine in strokes and strokes.count(mine) == len(strokes)


def _add_stroke(technical: _Element, stroke: str) -> None:
    if stroke in ("down", "up"):
        add(technical, f"{stroke}-bow")  # the standard's element for pick strokes as well
    elif stroke in ("p", "i", "m", "a", "c"):
        add(technical, "pluck", stroke)


def _add_joins(technical: _Element, note: ScoreNote, pen: Pen) -> None:
    letters = {"hammer-on": "H", "pull-off": "P"}
    for join in pen.spans.stops.get(note.take.id, ()):
        if join.kind in letters and not note.tied_from:
            add(technical, join.kind, type="stop", number=_number(join.number, pen))
    for join in pen.spans.starts.get(note.take.id, ()):
        if join.kind in letters and not note.tied_to:
            add(technical, join.kind, letters[join.kind], type="start", number=_number(join.number, pen))


def _add_bends(technical: _Element, event: Event, heard: Note, pen: Pen) -> None:
    """Each bend as the step it makes from where the string was: a release after a bend of 2 is -2.

    The standard lets a pre-bend have either sign and tells it by its element; a raised string is written above 0.
    """
    level_cents = 0.0
    for bend in heard.bends:
        step_cents = bend.target_cents - (0.0 if bend.kind == "pre-bend" else level_cents)
        level_cents = bend.target_cents
        element = add(technical, "bend", **_bend_times(bend, event, heard, pen))
        add(element, "bend-alter", f"{round(step_cents / 100.0, 2):g}")
        if bend.kind == "pre-bend":
            add(element, "pre-bend")
        elif bend.kind == "release":
            offset = max(0, round((bend.start_s - heard.onset_s) / pen.beat_s * pen.divisions))
            add(element, "release", offset=str(offset))


def _bend_times(bend: Bend, event: Event, heard: Note, pen: Pen) -> dict[str, str]:
    """Return where in the head the bend starts and arrives, in percent of the head's length."""
    head_s = float(event.value.quarters) * pen.beat_s
    first, last = (
        min(max(0.0, 100.0 * (time_s - heard.onset_s) / head_s), 100.0) for time_s in (bend.start_s, bend.reach_s)
    )
    return {"first_beat": f"{first:.1f}", "last_beat": f"{last:.1f}"}


def _add_slide_in_or_out(notations: _Element, note: ScoreNote) -> None:
    """The standard's marks for a slide from or to no clear fret: scoop, plop, doit, falloff."""
    slide = note.take.note.slide
    if slide is None or slide.kind not in ("in", "out"):
        return
    if slide.kind == "in" and not note.tied_from:
        add(add(notations, "articulations"), "scoop" if slide.cents >= 0 else "plop")
    if slide.kind == "out" and not note.tied_to:
        add(add(notations, "articulations"), "doit" if slide.cents >= 0 else "falloff")
