"""Measure the rhythm room: ``python -m tests.benchmark_rhythm TUNES.json``.

``python -m transcribe.training.tunes TUNES.json`` writes the tunes: openings of folk tunes in 4/4, 3/4, 6/8 and 12/8
as the package music21 carries them, up to 64 notes, half of them held out by a hash of the name. Three ways of playing:

- onsets: the tunes' written notes with 15 ms of jitter (one standard deviation), handed to the rhythm room directly;
- drift: the same, the tempo swinging by 4 % either way;
- heard: tunes fingered, played by the string model with the same jitter, rendered, and drafted from the audio.

The licks of ``fixtures/licks`` are played by the training room's player with 15 ms of jitter, three times each.
A note is on the right beat when its place is the written one, all places moved by the same number of whole beats;
"up to two" allows the tempo halved or doubled as well.
Metre and pickup are right when the metre is the written one and the first
note stands where it was written in its bar. Metre, pickup and feel are never told. A tune in 12/8 that is read as 6/8
counts as wrong, though its beats and every other bar line are right: the corpus has six of them, too few to learn from.
No tune in 2/4 or 2/2 is measured: 2/4, 2/2 and 4/4 differ in how they are written, not in how they sound.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import numpy as np

from fixtures.licks import LICKS
from tests.measures.played_tunes import heard_notes
from transcribe.notes.note import Note
from transcribe.rhythm import Meter, fit_rhythm, quantize, rhythm_doubts
from transcribe.rhythm.grid import pulse_beats
from transcribe.rhythm.quantize import place_of
from transcribe.training.hand import drawn_tempo_bpm, lick_notes, tune_notes
from transcribe.training.tunes import Tune, drawn, read_tunes

HELD_OUT_LICKS = ("rope-and-winch", "rain-on-tin", "early-boat", "tin-capstan")
SAME_TEMPO = 0.04  # share within which two tempos are one
FACTORS = (Fraction(1), Fraction(2), Fraction(1, 2))
DRIFT = 0.04
SHADES = np.arange(0.96, 1.0401, 0.001)  # a doubt tells the true tempo when the figure in it is this near


@dataclass(frozen=True, slots=True)
class Line:
    """Notes to read, and how they were written: places in quarters from the first full bar."""

    name: str
    notes: tuple[Note, ...]
    places: tuple[Fraction | None, ...]  # None: a note that was never written
    meter: Meter
    bpm: float
    missed: int = 0  # written notes that were not heard


@dataclass(frozen=True, slots=True)
class Result:
    """How one line was read."""

    notes: int
    right: int
    right_to_two: int
    tempo: bool
    tempo_to_two: bool
    meter: bool
    meter_and_pickup: bool
    factor_named: bool  # a doubt tells the true tempo
    tempo_doubted: bool
    seconds: float


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmark_rhythm", description=__doc__.split("\n")[0])
    parser.add_argument("tunes", type=Path, nargs="?", metavar="TUNES.json", help="without it, the licks alone")
    parser.add_argument("--count", type=int, default=400, help="tunes of each half; default 400")
    parser.add_argument("--heard", type=int, default=40, help="held-out tunes heard from rendered sound; default 40")
    parser.add_argument("--each", action="store_true", help="print the lines read wrong")
    chosen = parser.parse_args()
    print(HEADER)
    licks = [line for name in LICKS for line in lick_lines(name)]
    report("licks, tuned on", [one for one in licks if one.name.split("/")[0] not in HELD_OUT_LICKS], each=chosen.each)
    report("licks, held out", [one for one in licks if one.name.split("/")[0] in HELD_OUT_LICKS], each=chosen.each)
    if chosen.tunes is None:
        return
    tunes = read_tunes(chosen.tunes)
    for held_out, words in ((False, "learned from"), (True, "held out")):
        mine = drawn(tunes, chosen.count, held_out=held_out)
        report(f"tunes, onsets, {words}", [onset_line(tune) for tune in mine], each=chosen.each)
        report(f"tunes, drift, {words}", [onset_line(tune, drift=DRIFT) for tune in mine], each=False)
        for name in ("4/4", "3/4", "6/8", "12/8"):
            report(f"  onsets, {name}", [onset_line(tune) for tune in mine if str(tune.meter) == name], each=False)
    with tempfile.TemporaryDirectory() as folder:
        mine = drawn(tunes, chosen.heard, held_out=True)
        report("tunes, heard, held out", [heard_line(tune, Path(folder)) for tune in mine], each=chosen.each)


def onset_line(tune: Tune, *, drift: float = 0.0) -> Line:
    """Return a tune as its onsets, at a tempo drawn for it."""
    rng = np.random.default_rng([sum(tune.name.encode()), tune.midis[0]])
    bpm = drawn_tempo_bpm(tune, rng)
    return Line(tune.name, tune_notes(tune, bpm, rng, drift=drift), tune.places, tune.meter, bpm)


def heard_line(tune: Tune, folder: Path) -> Line:
    """Return a tune as our own ear hears it from the string model."""
    rng = np.random.default_rng([sum(tune.name.encode()), tune.midis[0]])
    bpm = drawn_tempo_bpm(tune, rng)
    notes, places = heard_notes(tune, bpm, folder)
    missed = len(tune.places) - sum(place is not None for place in places)
    return Line(tune.name, notes, places, tune.meter, bpm, missed)


def lick_lines(name: str) -> list[Line]:
    """Return a lick played three times."""
    lick = LICKS[name]
    return [Line(f"{name}/{seed}", *lick_notes(lick, seed), lick.meter, lick.tempo_bpm) for seed in range(3)]


HEADER = (
    "shares; of notes: on the right beat; of lines: tempo, metre, metre and pickup right; doubted: of lines with a\n"
    "wrong tempo those whose doubts tell the true one, of the others those with a doubt about the tempo\n"
    f"{'':32}{'':>6}{'tempo told':^30}{'nothing told':^62}\n"
    f"{'':32}{'lines':>6}{'notes':>10}{'metre':>10}{'+pickup':>10}{'notes':>8}{'to two':>8}{'tempo':>8}{'to two':>8}"
    f"{'metre':>8}{'+pickup':>8}{'named':>7}{'doubt':>7}{'ms':>5}"
)


def report(words: str, lines: Sequence[Line], *, each: bool) -> None:
    """Print one row."""
    if not lines:
        return
    told = [read(line, tempo_told=True) for line in lines]
    alone = [read(line, tempo_told=False) for line in lines]
    wrong = [one for one in alone if not one.tempo]
    fair = [one for one in alone if one.tempo]
    cells = [
        share(sum(one.right for one in told), sum(one.notes for one in told)),
        share(sum(one.meter for one in told), len(told)),
        share(sum(one.meter_and_pickup for one in told), len(told)),
    ]
    row = f"{words:32}{len(lines):>6}" + "".join(f"{cell:>10}" for cell in cells)
    cells = [
        share(sum(one.right for one in alone), sum(one.notes for one in alone)),
        share(sum(one.right_to_two for one in alone), sum(one.notes for one in alone)),
        share(sum(one.tempo for one in alone), len(alone)),
        share(sum(one.tempo_to_two for one in alone), len(alone)),
        share(sum(one.meter for one in alone), len(alone)),
        share(sum(one.meter_and_pickup for one in alone), len(alone)),
    ]
    row += "".join(f"{cell:>8}" for cell in cells)
    row += f"{share(sum(one.factor_named for one in wrong), len(wrong)):>7}"
    row += f"{share(sum(one.tempo_doubted for one in fair), len(fair)):>7}"
    print(row + f"{1000 * np.median([one.seconds for one in alone]):>5.0f}", flush=True)
    if each:
        for line, given, free in zip(lines, told, alone, strict=True):
            if not (given.meter_and_pickup and free.meter_and_pickup and free.tempo):
                print(
                    f"    {line.name:40} {line.meter} {line.bpm:.0f}  told {describe(line, given, line.bpm)};"
                    f" alone {describe(line, free, None)}"
                )


def describe(line: Line, result: Result, bpm: float | None) -> str:
    rhythm = fit_rhythm(line.notes, tempo_bpm=bpm)
    first = place_of(quantize(line.notes, rhythm)[line.notes[0].id], rhythm)
    return (
        f"{rhythm.tempo_bpm:.0f} {rhythm.meter} {rhythm.feel} first {first} for {line.places[0]},"
        f" {result.right}/{result.notes}"
    )


def share(part: int, whole: int) -> str:
    return f"{part / whole:.3f}" if whole else "-"


def read(line: Line, *, tempo_told: bool) -> Result:
    """Read one line and compare."""
    begun = time.process_time()
    rhythm = fit_rhythm(line.notes, tempo_bpm=line.bpm if tempo_told else None)
    timings = quantize(line.notes, rhythm)
    seconds = time.process_time() - begun
    found = [place_of(timings[note.id], rhythm) for note in line.notes]
    rights = [on_right_beat(found, line, factor) for factor in FACTORS]
    ratio = rhythm.tempo_bpm / line.bpm
    named = [doubt.why for doubt in rhythm_doubts(line.notes, rhythm) if "the tempo could be" in doubt.why]
    first = next((index for index, place in enumerate(line.places) if place is not None), 0)
    written = line.places[first]
    same_bar = written is not None and (found[first] - written) % line.meter.bar_beats == 0
    return Result(
        notes=sum(place is not None for place in line.places) + line.missed,
        right=rights[0],
        right_to_two=max(rights),
        tempo=abs(ratio - 1) < SAME_TEMPO,
        tempo_to_two=any(abs(ratio * float(factor) - 1) < SAME_TEMPO for factor in FACTORS),
        meter=rhythm.meter == line.meter,
        meter_and_pickup=rhythm.meter == line.meter and same_bar,
        factor_named=any(f" {line.bpm * shade:.0f} bpm" in why for why in named for shade in SHADES),
        tempo_doubted=bool(named),
        seconds=seconds,
    )


def on_right_beat(found: Sequence[Fraction], line: Line, factor: Fraction) -> int:
    """How many notes stand where they were written, all moved by the same whole number of beats.

    ``factor`` is how many times slower the tempo was read.
    """
    pulse = pulse_beats(line.meter)
    moved = Counter(
        place * factor - written
        for place, written in zip(found, line.places, strict=True)
        if written is not None and (place * factor - written) % pulse == 0
    )
    return max(moved.values(), default=0)


if __name__ == "__main__":
    main()
