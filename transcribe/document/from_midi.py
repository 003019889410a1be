"""Standard MIDI Files to take documents: pitches, times, bends, tempo, meter and key, with no audio."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import numpy as np

from fingering.passage import Placement
from transcribe.document.midi_events import MidiMusic, Struck, Wheel, midi_music
from transcribe.document.model import Instrument, Source, TakeDocument, TakeNote
from transcribe.document.wheel import Gestures, wheel_gestures
from transcribe.errors import ReadError, SettingsError
from transcribe.harmony.key import Key, key_from_text
from transcribe.notes.note import Doubt, Note, Slide
from transcribe.rhythm import fit_rhythm, quantize
from transcribe.rhythm.quantize import timing_at
from transcribe.rhythm.rhythm import Meter, Rhythm, Timing

MOST_NOTES = 20_000  # an hour of sixteenths at 80 bpm
MOST_BARS = 5_000  # two hours and more of 4/4
GRIDS = (Fraction(1, 8), Fraction(1, 6))  # quarters: 32nds, and sixteenths in triplets
ON_GRID = 0.02  # quarters; a written note lies this near to a place of the grid
GATE = 0.34  # a note that stops short of the next by less than this share of the way is written up to it
STRING_TRACK = re.compile(r"String (\d+)")


def document_from_midi(data: bytes, *, name: str = "music.mid", instrument: Instrument | None = None) -> TakeDocument:
    """Return the take document of a Standard MIDI File, all tracks and channels but the drums together.

    Times follow the file's tempo map. Notes that lie on a grid of 32nds or triplets are written there; others were
    played freely and are put in bars as a take would be. The pitch wheel comes back as bends, slides and vibrato. What
    the format of a take cannot hold (a second meter or tempo) is told as a doubt.

    Raises ReadError for a file that is broken, holds no notes, drums alone, or too many notes.

    References
    ----------
    Standard MIDI Files 1.0; MIDI 1.0 Detailed Specification.
    """
    music = midi_music(data)
    _check_notes(music)
    guitar = instrument or Instrument()
    doubts: list[Doubt] = []
    notes, strings = _notes(music, doubts)
    meter = _meter(music, doubts)
    rhythm, timings = _rhythm(music, notes, meter, doubts)
    _doubt_the_file(music, doubts)
    return TakeDocument(
        notes=tuple(
            TakeNote(note, _placement(note, strings.get(note.id), guitar), timings.get(note.id)) for note in notes
        ),
        instrument=guitar,
        source=Source(name),
        rhythm=rhythm,
        key=_key(music, doubts),
        doubts=tuple(doubts),
    )


def _check_notes(music: MidiMusic) -> None:
    if not music.struck and music.drums:
        raise ReadError(
            "this MIDI file holds drums alone (channel 10)", "Export the guitar's track, on any other channel."
        )
    if not music.struck:
        raise ReadError("this MIDI file holds no notes", "Export the track with the guitar's notes.")
    if len(music.struck) > MOST_NOTES:
        raise ReadError(
            f"this MIDI file holds {len(music.struck)} notes, more than {MOST_NOTES}",
            "Export the guitar's track alone, or a shorter passage.",
        )


def _notes(music: MidiMusic, doubts: list[Doubt]) -> tuple[list[Note], dict[str, int]]:
    """Return the notes in order, and the string of those whose track is named after one."""
    onsets_s = music.clock.seconds([item.on for item in music.struck])
    ends_s = music.clock.seconds([item.off for item in music.struck])
    wheels = {channel: (music.clock.seconds(wheel.ticks), wheel) for channel, wheel in music.wheels.items()}
    following = _following(music.struck)
    named = {track: STRING_TRACK.fullmatch(name) for track, name in music.track_names.items()}
    notes: list[Note] = []
    strings: dict[str, int] = {}
    for index, struck in enumerate(music.struck):
        after = following.get(index)
        step = music.struck[after].key - struck.key if after is not None else None
        onset_s, end_s = float(onsets_s[index]), float(ends_s[index])
        end_s = end_s if end_s > onset_s else math.nextafter(onset_s, math.inf)
        done = _gestures(wheels.get(struck.channel), onset_s, end_s, step)
        slide = None
        if done.slide is not None:
            goes_on = done.slide[0] == "legato"
            slide = Slide(done.slide[0], done.slide[1], f"n{after + 1}" if goes_on and after is not None else None)
        name = f"n{index + 1}"
        notes.append(
            Note(
                id=name,
                onset_s=onset_s,
                offset_s=end_s,
                midi=struck.key,
                cents=done.rest_cents if done.contour is not None else None,
                level_db=round(40.0 * math.log10(struck.velocity / 127.0), 1),  # General MIDI's advice, from memory
                bends=done.bends,
                slide=slide,
                vibrato=done.vibrato,
                contour=done.contour,
            )
        )
        if done.dips:
            doubts.append(Doubt("the pitch wheel goes below the note: a finger cannot do that", name))
        if not struck.ended:
            doubts.append(Doubt("the file does not say where this note ends", name))
        match = named.get(struck.track)
        if match:
            strings[name] = int(match.group(1))
    slid_to = {note.slide.to for note in notes if note.slide is not None and note.slide.to is not None}
    return [replace(note, attack="slide") if note.id in slid_to else note for note in notes], strings


def _gestures(wheel: tuple[np.ndarray, Wheel] | None, onset_s: float, end_s: float, step: int | None) -> Gestures:
    if wheel is None:
        return Gestures(0.0)
    return wheel_gestures(
        wheel[0], wheel[1].semitones, onset_s=onset_s, end_s=end_s, next_semitones=None if step is None else float(step)
    )


def _following(struck: Sequence[Struck]) -> dict[int, int]:
    """Return, by number, the next note of the same channel where it starts about when this one ends."""
    found: dict[int, int] = {}
    last: dict[int, int] = {}
    for index, item in enumerate(struck):
        before = last.get(item.channel)
        if before is not None and struck[before].on < item.on:
            length = struck[before].off - struck[before].on
            if abs(item.on - struck[before].off) <= max(2, length // 16):
                found[before] = index
        last[item.channel] = index
    return found


def _meter(music: MidiMusic, doubts: list[Doubt]) -> Meter:
    plain = Meter(4, 4)
    if not music.meters:
        return plain
    _, beats, unit = music.meters[0]
    try:
        meter = Meter(beats, unit)
    except SettingsError:
        doubts.append(Doubt(f"the meter {beats}/{unit} is read as 4/4"))
        return plain
    others = [f"{later[1]}/{later[2]}" for later in music.meters[1:] if later[1:] != music.meters[0][1:]]
    if others:
        doubts.append(Doubt(f"the meter changes to {others[0]} in this file: bars are counted in {meter} throughout"))
    return meter


def _key(music: MidiMusic, doubts: list[Doubt]) -> Key | None:
    if not music.keys:
        return None
    try:
        key = key_from_text(music.keys[0][1])
    except SettingsError:
        return None
    if any(name != music.keys[0][1] for _, name in music.keys):
        doubts.append(Doubt(f"the key changes in this file: only the first, {key.tonic} {key.mode}, is kept"))
    return key


def _rhythm(
    music: MidiMusic, notes: Sequence[Note], meter: Meter, doubts: list[Doubt]
) -> tuple[Rhythm, Mapping[str, Timing]]:
    """Return the grid, and where each note is written. Empty bars before the first note are left out."""
    quarter = music.clock.ticks_per_quarter
    silent = int((music.struck[0].on / quarter + ON_GRID) // float(meter.bar_beats)) * meter.bar_beats
    if silent:
        doubts.append(Doubt(f"bar 1 here is bar {silent // meter.bar_beats + 1} of the file: nothing sounds before"))
    _check_length(max(item.off for item in music.struck) / quarter - float(silent), meter)
    tempos = music.clock.tempos
    bpm = 60e6 / max(1, tempos[0][1])
    first_s = float(music.clock.seconds([round(float(silent) * quarter)])[0])
    rhythm = Rhythm(tempo_bpm=bpm, meter=meter, first_downbeat_s=first_s, tempo_source="given")
    if len({quarter_us for _, quarter_us in tempos}) > 1:
        doubts.append(Doubt(f"the tempo changes {len(tempos) - 1} times in this file: the first, {bpm:.0f}, is named"))
    starts = None if music.clock.is_film else _written([item.on / quarter for item in music.struck])
    if starts is not None:
        lengths = _lengths(music, starts)
        return rhythm, {
            note.id: timing_at(start - silent, length, rhythm)
            for note, start, length in zip(notes, starts, lengths, strict=True)
        }
    if not music.clock.has_tempo:
        rhythm = fit_rhythm(notes, meter=meter)
        doubts.append(Doubt("the file tells no tempo and its notes lie on no grid: the tempo is estimated"))
    return rhythm, quantize(notes, rhythm)


def _check_length(quarters: float, meter: Meter) -> None:
    bars = quarters / float(meter.bar_beats)
    if bars > MOST_BARS:
        raise ReadError(
            f"this MIDI file goes on for {bars:.0f} bars, more than {MOST_BARS}", "Export a shorter passage."
        )


def _written(quarters: Sequence[float]) -> list[Fraction] | None:
    """Return the place of each note on the grid; None when some lie on none, because they were played freely."""
    places = []
    for at in quarters:
        place = min((Fraction(round(at / grid)) * grid for grid in GRIDS), key=lambda found: abs(float(found) - at))
        if abs(float(place) - at) > ON_GRID:
            return None
        places.append(place)
    return places


def _lengths(music: MidiMusic, starts: Sequence[Fraction]) -> list[Fraction]:
    """Return what to write for each note: up to the next one unless a rest or an overlap was meant."""
    moments = sorted(set(starts))
    following = dict(pairwise(moments))
    lengths = []
    for item, start in zip(music.struck, starts, strict=True):
        sounded = (item.off - item.on) / music.clock.ticks_per_quarter
        room = following.get(start, start + Fraction(math.ceil(sounded))) - start
        silence = float(room) - sounded
        if 0 <= silence < GATE * float(room):
            lengths.append(room)
            continue
        end = float(start) + sounded
        ends = [Fraction(round(end / grid)) * grid for grid in (*GRIDS, Fraction(1, 4))]
        nearest = min(ends, key=lambda found: abs(float(found) - end) + float(Fraction(1, 200) * found.denominator))
        lengths.append(max(nearest - start, min(room, GRIDS[0])))
    return lengths


def _placement(note: Note, string: int | None, guitar: Instrument) -> Placement | None:
    if string is None or string > len(guitar.open_strings_midi):
        return None
    fret = note.midi - guitar.open_strings_midi[string - 1] - guitar.capo
    return Placement(note.id, string, fret, None) if 0 <= fret <= guitar.frets - guitar.capo else None


def _doubt_the_file(music: MidiMusic, doubts: list[Doubt]) -> None:
    if music.drums:
        doubts.append(Doubt(f"{music.drums} drum strokes (channel 10) were left out"))
    tracks = sorted({item.track for item in music.struck})
    parts = [music.track_names.get(track) or f"track {track + 1}" for track in tracks]
    if len(parts) > 1 and not all(STRING_TRACK.fullmatch(name) or name.startswith("No string") for name in parts):
        some = ", ".join(parts if len(parts) <= 6 else [*parts[:5], "..."])
        doubts.append(Doubt(f"{len(parts)} tracks are read as one guitar: {some}"))
