"""What holds for a whole MusicXML part: guitar, tempo, meter, key, pickup, and the clock from places to seconds."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from transcribe.document.model import Instrument
from transcribe.document.musicxml_notes import Sounding
from transcribe.document.musicxml_part import STEPS, PartMusic
from transcribe.document.musicxml_signs import facts_of_note, numbers
from transcribe.harmony.key import MAJOR_FIFTHS, MINOR_FIFTHS
from transcribe.rhythm.rhythm import BEAT_UNITS
from transcribe.rhythm.swing import LATE, PLAIN

if TYPE_CHECKING:
    from lxml.etree import _Element

PLAIN_BPM = 120.0  # where a file tells no tempo; what a MIDI file without one means (Standard MIDI Files 1.0)
NOTE_QUARTERS = {"whole": 4.0, "half": 2.0, "quarter": 1.0, "eighth": 0.5, "16th": 0.25}
OUT_OF_ORDER_S = 0.05  # played times this far out of the written order belong to other music
FRETS_MOST = 36  # that the take format allows


@dataclass(frozen=True, slots=True)
class Frame:
    """A part's frame, as values of the take format."""

    instrument: dict[str, Any]
    rhythm: dict[str, Any]
    key: dict[str, Any] | None
    fields: Mapping[str, str]  # what our own files tell of the take
    lead: Fraction  # where bar 1 begins, in quarters from the start of the part: the pickup
    bar: Fraction  # quarters
    beat_s: float
    first_downbeat_s: float
    swings: bool
    played: bool  # the file tells when each note was played


def frame_of(
    root: _Element,
    music: PartMusic,
    notes: Sequence[Sounding],
    instrument: Instrument | None,
    doubts: list[dict[str, Any]],
) -> Frame:
    """Return the frame of a part; what a take cannot hold (a second meter, tempo or key, repeats) joins the doubts."""
    fields = {
        field.get("name", ""): (field.text or "").strip()
        for field in root.iterfind("identification/miscellaneous/miscellaneous-field")
    }
    beats, unit = music.meter
    if unit not in BEAT_UNITS or beats > 32:
        doubts.append({"why": f"the file's meter {beats}/{unit} cannot be written here; bars of 4/4 were counted"})
        beats, unit = 4, 4
    bar = Fraction(4 * beats, unit)
    lead = _pickup(music, bar)
    tempo_bpm, told = _tempo(music, doubts)
    beat_s = 60.0 / tempo_bpm
    first_downbeat_s = next(iter(numbers(fields.get("first downbeat s", ""))), float(lead) * beat_s)
    swings = any(_swings(direction) for _, direction in music.directions)
    _doubt_changes(music, doubts)
    rhythm = {
        "tempo_bpm": tempo_bpm,
        "meter": f"{beats}/{unit}",
        "first_downbeat_s": first_downbeat_s,
        "pickup_beats": str(lead),
        "feel": "swing" if swings else "straight",
        "tempo_source": "given" if told and fields.get("tempo source") != "estimated" else "estimated",
    }
    guitar = _guitar(music, notes, instrument or Instrument(), fields)
    played = _played_in_order(notes)
    return Frame(guitar, rhythm, _key(music, fields), fields, lead, bar, beat_s, first_downbeat_s, swings, played)


def seconds_of(note: Sounding, frame: Frame) -> tuple[float, float]:
    """Return onset and offset: as played where the file tells it, else by the tempo, eighths swung in a swing."""
    if frame.played:
        onset_s, offset_s = _played(note)
        return onset_s, offset_s
    onset_s, offset_s = (_second(place, frame) for place in (note.start, note.end))
    return max(0.0, onset_s), max(offset_s, max(0.0, onset_s) + 0.001)


def timing_of(note: Sounding, frame: Frame) -> dict[str, str | int]:
    """Return bar, beat and value; a note before bar 1 stands in the pickup bar, number 0."""
    place = note.start - frame.lead
    value = str(note.end - note.start)
    if place < 0:
        return {"bar": 0, "beat": str(note.start), "value": value}
    number, beat = divmod(place, frame.bar)
    return {"bar": int(number) + 1, "beat": str(beat), "value": value}


def _second(place: Fraction, frame: Frame) -> float:
    beat = place - frame.lead
    if frame.swings and beat % 1 == PLAIN:
        beat += LATE - PLAIN
    return frame.first_downbeat_s + float(beat) * frame.beat_s


def _pickup(music: PartMusic, bar: Fraction) -> Fraction:
    """A first measure that says it is none of the count, or is shorter than the meter, is the pickup."""
    _, length, measure = music.measures[0]
    named = measure.get("implicit") == "yes" or measure.get("number") == "0"
    return length if length < bar and (named or len(music.measures) > 1) else Fraction(0)


def _tempo(music: PartMusic, doubts: list[dict[str, Any]]) -> tuple[float, bool]:
    """Return the first tempo in quarters a minute, and whether the file told one."""
    found = [(at, bpm) for at, direction in music.directions if (bpm := _bpm(direction)) is not None]
    if not found:
        return PLAIN_BPM, False
    first = found[0][1]
    if any(abs(bpm - first) > 0.01 * first for _, bpm in found):
        doubts.append({"why": f"the file changes its tempo; all of it was read at {first:g} quarters a minute"})
    return first, True


def _bpm(direction: _Element) -> float | None:
    sound = direction if direction.tag == "sound" else direction.find("sound")
    told = numbers(sound.get("tempo", "")) if sound is not None else []
    metronome = direction.find("direction-type/metronome")
    if not told and metronome is not None:
        per_minute = numbers((metronome.findtext("per-minute") or "").removeprefix("ca. "))
        quarters = NOTE_QUARTERS.get((metronome.findtext("beat-unit") or "").strip())
        if per_minute and quarters:
            told = [per_minute[0] * quarters * (1.5 if metronome.find("beat-unit-dot") is not None else 1.0)]
    return told[0] if told and 1.0 <= told[0] <= 10_000.0 else None


def _swings(direction: _Element) -> bool:
    sound = direction if direction.tag == "sound" else direction.find("sound")
    if sound is not None and sound.find("swing/first") is not None:
        return sound.findtext("swing/first") != sound.findtext("swing/second")
    words = (text.text or "" for text in direction.iterfind("direction-type/words"))
    return any(word.strip().lower() in ("swing", "swung", "swing feel") for word in words)


def _doubt_changes(music: PartMusic, doubts: list[dict[str, Any]]) -> None:
    def told(path: str) -> set[tuple[str, ...]]:
        return {
            tuple((child.text or "").strip() for child in element)
            for _, attributes in music.attributes
            for element in attributes.iterfind(path)
        }

    if len(told("time")) > 1:
        doubts.append({"why": "the file changes its meter; bars were counted in the first one throughout"})
    if len(told("key")) > 1:
        doubts.append({"why": "the file changes its key; only the first was read"})
    marks = ("barline/repeat", "barline/ending", "direction/direction-type/coda", "direction/direction-type/segno")
    if any(measure.find(mark) is not None for _, _, measure in music.measures for mark in marks):
        doubts.append({"why": "the file has repeats; what they repeat is written once"})


def _key(music: PartMusic, fields: Mapping[str, str]) -> dict[str, Any] | None:
    """Return the first key; a signature of no sharps and flats that names no mode tells none."""
    key = next((key for _, attributes in music.attributes for key in attributes.iterfind("key")), None)
    told = numbers(key.findtext("fifths") or "") if key is not None else []
    if key is None or not told:
        return None
    mode = (key.findtext("mode") or "").strip()
    fifths = int(told[0])
    if mode not in ("major", "minor"):
        if fifths == 0 or mode not in ("", "none"):
            return None
        mode = "major"
    tonics = MAJOR_FIFTHS if mode == "major" else MINOR_FIFTHS
    tonic = next((name for name, count in tonics.items() if count == fifths), None)
    if tonic is None:
        return None
    confidence = numbers(fields.get("key confidence", ""))
    source = fields.get("key source")
    return {
        "tonic": tonic,
        "mode": mode,
        "confidence": confidence[0] if confidence and 0 <= confidence[0] <= 1 else None,
        "source": source if source in ("given", "estimated") else "given",
    }


def _guitar(
    music: PartMusic, notes: Sequence[Sounding], instrument: Instrument, fields: Mapping[str, str]
) -> dict[str, Any]:
    details = next(
        (
            details
            for _, attributes in music.attributes
            for details in attributes.iterfind("staff-details")
            if details.find("staff-tuning") is not None
        ),
        None,
    )
    strings, capo = list(instrument.open_strings_midi), instrument.capo
    if details is not None:
        by_line = {int(tuning.get("line", "0")): _open_midi(tuning) for tuning in details.iterfind("staff-tuning")}
        told = [midi for _, midi in sorted(by_line.items(), reverse=True) if midi is not None]
        if 1 <= len(told) <= 12:
            strings = told
            capo = int(next(iter(numbers(details.findtext("capo") or "")), 0))
    highest = max((note.place[1] for note in notes if note.place), default=0)

    def measured(name: str, otherwise: float) -> float:
        found = numbers(fields.get(name, ""))
        return found[0] if found and found[0] > 0 else otherwise

    frets = int(measured("frets", instrument.frets))
    return {
        "open_strings_midi": strings,
        "frets": min(FRETS_MOST, max(frets, highest + capo, capo + 1)),
        "capo": max(0, min(capo, FRETS_MOST - 1)),
        "scale_length_mm": measured("scale length mm", instrument.scale_length_mm),
        "reference_hz": measured("reference hz", instrument.reference_hz),
        "tuning_offset_cents": next(iter(numbers(fields.get("tuning offset cents", ""))), None),
    }


def _open_midi(tuning: _Element) -> int | None:
    step = (tuning.findtext("tuning-step") or "").strip()
    octave, alter = numbers(tuning.findtext("tuning-octave") or ""), numbers(tuning.findtext("tuning-alter") or "0")
    if step not in STEPS or not octave:
        return None
    midi = 12 * (int(octave[0]) + 1) + STEPS[step] + round(alter[0] if alter else 0)
    return midi if 0 <= midi <= 127 else None


def _played(note: Sounding) -> tuple[float, float]:
    for element in note.elements:
        told = numbers(facts_of_note(element).get("sounds s", ""))
        if len(told) == 2 and 0 <= told[0] < told[1]:
            return told[0], told[1]
    return 0.0, 0.0


def _played_in_order(notes: Sequence[Sounding]) -> bool:
    """Whether every note tells when it was played, in the order of the page: else the file was changed since."""
    latest_s, start = 0.0, None
    group_s = 0.0
    for note in notes:
        onset_s, offset_s = _played(note)
        if offset_s <= onset_s:
            return False
        if start is not None and note.start != start:
            latest_s = max(latest_s, group_s)
            group_s = 0.0
        if onset_s < latest_s - OUT_OF_ORDER_S:
            return False
        start, group_s = note.start, max(group_s, onset_s)
    return True
