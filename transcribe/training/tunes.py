"""Folk tunes of known metre for measuring and learning: ``python -m transcribe.training.tunes TUNES.json``.

The tunes lie in the package music21 (extra ``benchmark``): the Essen folk song collection, O'Neill's Music of Ireland
(1850 tunes), Ryan's Mammoth Collection, Aird's Airs and two small ones. Kept are tunes in 4/4, 3/4, 6/8 and 12/8 whose
bars are full, up to their first 64 notes, and tunes in 2/2 and 2/4, which only the judge of readings learns from;
graces are left out and tied notes joined. Reading them takes some minutes, so the commands that need them take the
file written here. Half of the tunes, by a hash of the title, are for tuning and learning, the others only measured.
"""

from __future__ import annotations

import hashlib
import json
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Any

from transcribe.rhythm.rhythm import Meter, meter_from_text

FOLDERS = ("essenFolksong", "oneills1850", "ryansMammoth", "airdsAirs", "miscFolk", "nottingham-dataset")
METERS = ("4/4", "3/4", "6/8", "12/8")
OTHERS = ("2/2", "2/4")  # read as well: cut time has the bar of 4/4, two bars of 2/4 make one
MOST_NOTES, FEWEST_NOTES = 64, 16
FINEST = Fraction(1, 12)  # a written place is a multiple of this, or the tune is left out
RANGE = (40, 86)  # E2 to D6: what a guitar can play


@dataclass(frozen=True, slots=True)
class Tune:
    """The opening of a tune; places in quarters from the first full bar."""

    name: str  # collection, file and number
    title: str
    meter: Meter
    places: tuple[Fraction, ...]
    lengths: tuple[Fraction, ...]
    midis: tuple[int, ...]
    whole: bool  # whether this is all of it

    @property
    def pickup(self) -> Fraction:
        """Quarters before the first full bar."""
        return max(Fraction(0), -self.places[0])

    def part(self, count: int, *, pickup: bool = True) -> Tune:
        """Return the first ``count`` notes, from the first full bar on without the pickup."""
        kept = [index for index, place in enumerate(self.places) if pickup or place >= 0][:count]
        return Tune(
            self.name,
            self.title,
            self.meter,
            tuple(self.places[index] for index in kept),
            tuple(self.lengths[index] for index in kept),
            tuple(self.midis[index] for index in kept),
            self.whole and count >= len(self.places),
        )

    @property
    def held_out(self) -> bool:
        """Whether the tune is only measured, never learned from; variants under one title go together."""
        return _hash(self.title.casefold() or self.name)[0] % 2 == 1


def read_tunes(path: Path) -> tuple[Tune, ...]:
    """Return the tunes in a file that ``main`` wrote."""
    return tuple(_tune(raw) for raw in json.loads(path.read_text(encoding="utf-8")))


def drawn(tunes: Sequence[Tune], count: int, *, held_out: bool) -> list[Tune]:
    """Return ``count`` tunes of one half, the metres as evenly as there are tunes; the same ones each time."""
    piles = {
        name: sorted(
            (tune for tune in tunes if tune.held_out == held_out and str(tune.meter) == name),
            key=lambda tune: _hash(tune.name + "*"),
        )
        for name in METERS
    }
    found: list[Tune] = []
    while len(found) < count and any(piles.values()):
        for name in METERS:
            if piles[name] and len(found) < count:
                found.append(piles[name].pop(0))
    return found


def _hash(text: str) -> bytes:
    return hashlib.sha256(text.encode()).digest()


def _tune(raw: dict[str, Any]) -> Tune:
    notes = raw["notes"]
    return Tune(
        raw["name"],
        raw["title"],
        meter_from_text(raw["meter"]),
        tuple(Fraction(note[0]) for note in notes),
        tuple(Fraction(note[1]) for note in notes),
        tuple(note[2] for note in notes),
        raw["whole"],
    )


def corpus_tunes() -> Iterator[dict[str, Any]]:
    """Yield every usable tune of the package music21 as plain values."""
    import music21

    base = Path(music21.__file__).parent / "corpus"
    for folder in FOLDERS:
        for path in sorted((base / folder).glob("*.abc")):
            read = music21.converter.parse(path, forceSource=True)
            scores = list(read.scores) if isinstance(read, music21.stream.Opus) else [read]
            print(f"{folder}/{path.name}: {len(scores)}", file=sys.stderr)
            for index, score in enumerate(scores):
                told = _opening(score)
                if told is not None:
                    title = (score.metadata.title if score.metadata else None) or ""
                    yield {"name": f"{folder}/{path.stem}/{index + 1}", "title": title, **told}


def _opening(score: Any) -> dict[str, Any] | None:
    part = score.parts[0] if len(score.parts) else score
    bars = list(part.getElementsByClass("Measure"))
    signs = {sign.ratioString for sign in part.recurse().getElementsByClass("TimeSignature")}
    if len(signs) != 1 or len(bars) < 4 or not signs <= {*METERS, *OTHERS}:
        return None
    length = meter_from_text(next(iter(signs))).bar_beats
    held = [_length(bar) for bar in bars]
    if held[0] > length or any(bar > length for bar in held):
        return None
    at = -held[0] if held[0] < length else Fraction(0)
    notes: list[list[Any]] = []
    tied = False
    for index, (bar, quarters) in enumerate(zip(bars, held, strict=True)):
        last = index == len(bars) - 1
        if index > 0 and quarters != length and not last:  # a repeat in mid-bar: the rest is not counted on
            return _told(notes, signs, whole=False)
        for item in bar.notesAndRests:
            if item.duration.isGrace:
                continue
            if not item.isNote and not item.isRest:
                return None
            start, value = at + Fraction(item.offset), Fraction(item.quarterLength)
            if item.isNote and tied and notes and notes[-1][2] == item.pitch.midi:
                notes[-1][1] += value
            elif item.isNote:
                notes.append([start, value, item.pitch.midi])
            tied = item.isNote and item.tie is not None and item.tie.type in ("start", "continue")
        at += quarters
    return _told(notes, signs, whole=True)


def _length(bar: Any) -> Fraction:
    return max(
        (Fraction(item.offset) + Fraction(item.quarterLength) for item in bar.notesAndRests), default=Fraction(0)
    )


def _told(notes: list[list[Any]], signs: set[str], *, whole: bool) -> dict[str, Any] | None:
    kept = notes[:MOST_NOTES]
    if len(kept) < FEWEST_NOTES or any(start % FINEST or value % FINEST for start, value, _ in kept):
        return None
    middle = sorted(midi for *_, midi in kept)[len(kept) // 2]
    shift = 12 * round((62 - middle) / 12)
    if not all(RANGE[0] <= midi + shift <= RANGE[1] for *_, midi in kept):
        return None
    return {
        "meter": next(iter(signs)),
        "whole": whole and len(kept) == len(notes),
        "notes": [[str(start), str(value), midi + shift] for start, value, midi in kept],
    }


def main(words: Sequence[str]) -> None:
    """Read the corpus and write the tunes to the file named."""
    tunes = list(corpus_tunes())
    Path(words[0]).write_text(json.dumps(tunes), encoding="utf-8")
    for name in (*METERS, *OTHERS):
        mine = [_tune(raw) for raw in tunes if raw["meter"] == name]
        pickups = sum(tune.pickup > 0 for tune in mine)
        print(f"{name}: {len(mine)} tunes, {pickups} with a pickup, {sum(tune.held_out for tune in mine)} held out")


if __name__ == "__main__":
    main(sys.argv[1:])
