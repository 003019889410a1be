"""Measure several voices: ``python -m tests.benchmark_voices [--bank DIR] [--soundfont FILE] [--real DIR]``.

Protocol: the licks of ``tests/voice_material.py`` that are for figures, played on recorded notes of guitars nothing was
trained on (or on the string model, without a bank): clean, driven, and as a telephone keeps it. Notes pair as in
mir_eval's transcription module: onset within 50 ms, pitch within 50 cents; "+end" asks for the offset within 20 % of
the note's length, 80 ms at least. Sums over all notes of a group. ``--choosing`` measures the other half of the licks,
on guitars of training: thresholds are chosen there.
"""

from __future__ import annotations

import argparse
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from tests.measures.real_phrases import score_folder
from tests.voice_material import CONDITIONS, STYLES, Part, Take, bank_of, maps_of, takes
from transcribe.evidence.crepe import crepe_evidence
from transcribe.notes.hear import Heard, hear_notes
from transcribe.notes.hear_voices import hear_voices, sounds_together
from transcribe.notes.note import Note
from transcribe.notes.surer import better
from transcribe.notes.voices import find_voices
from transcribe.notes.weigh import heard_voices
from transcribe.settings import Settings

ONSET_S, PITCH_CENTS, OFFSET_SHARE, OFFSET_S = 0.05, 50.0, 0.2, 0.08


@dataclass(frozen=True, slots=True)
class Count:
    """Notes played, written, and rightly written, without and with their ends."""

    wanted: int = 0
    written: int = 0
    right: int = 0
    right_ends: int = 0

    def __add__(self, other: Count) -> Count:
        return Count(
            self.wanted + other.wanted,
            self.written + other.written,
            self.right + other.right,
            self.right_ends + other.right_ends,
        )

    def f(self, *, ends: bool = False) -> float:
        """Harmonic mean of precision and recall."""
        return 2 * (self.right_ends if ends else self.right) / max(1, self.wanted + self.written)


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmark_voices", description=__doc__.split("\n")[0])
    parser.add_argument("--bank", type=Path, action="append", default=[], metavar="DIR", help="recorded notes")
    parser.add_argument("--soundfont", type=Path, metavar="FILE", help="a General MIDI soundfont: more guitars")
    parser.add_argument("--real", type=Path, metavar="DIR", help="also score a folder of real phrases")
    parser.add_argument("--cache", type=Path, metavar="DIR", help="keep sounds and maps here")
    parser.add_argument("--weights", type=Path, metavar="FILE", help="another network than the shipped one")
    parser.add_argument("--path", choices=("auto", "several", "one"), default="auto", help="which way of hearing")
    parser.add_argument("--style", choices=STYLES, action="append", help="only these licks; repeatable")
    parser.add_argument("--choosing", action="store_true", help="the licks and guitars that numbers are chosen on")
    parser.add_argument("--each", action="store_true", help="print a line a take")
    chosen = parser.parse_args()
    part: Part = "choosing" if chosen.choosing else "judging"
    bank = bank_of(tuple(chosen.bank), chosen.soundfont, cache=chosen.cache)
    counts: dict[tuple[str, str, str], Count] = defaultdict(Count)
    for take in takes(part, bank, styles=tuple(chosen.style or STYLES), cache=chosen.cache):
        count = compared(take.notes, heard(take, chosen.path, cache=chosen.cache, weights=chosen.weights))
        counts[take.guitar, take.style, take.condition] += count
        if chosen.each:
            print(f"{take.name:44} {words(count)}", flush=True)
    print_table(counts)
    if chosen.real is not None:
        from tests.benchmark import print_real

        print_real(score_folder(chosen.real))


def heard(
    take: Take, path: str = "auto", *, cache: Path | None = None, weights: Path | None = None
) -> tuple[Note, ...]:
    """Return the notes one way of hearing finds in a take, dead notes left out; "auto" chooses as a draft does."""
    settings = Settings()
    if path == "one":
        return _pitched(hear_notes(take.recording, crepe_evidence(take.recording, settings.evidence), settings))
    maps = maps_of(take, cache=cache, weights=weights)
    voices = find_voices(maps)
    if path == "several" or sounds_together(voices):
        return _pitched(hear_voices(take.recording, maps, settings))
    evidence = crepe_evidence(take.recording, settings.evidence)
    line = hear_notes(take.recording, evidence, settings, second=heard_voices(maps, voices))
    return _pitched(better(line, hear_voices(take.recording, maps, settings)))


def _pitched(told: Heard) -> tuple[Note, ...]:
    return tuple(note for note in told.notes if note.mute != "dead")


def compared(wanted: Iterable[Note], written: Iterable[Note]) -> Count:
    """Return how many notes pair, by mir_eval."""
    from mir_eval.transcription import match_notes

    (there, at), (here, told) = _spans(wanted), _spans(written)
    if there.size == 0 or here.size == 0:
        return Count(len(at), len(told))
    pairs = match_notes(there, at, here, told, ONSET_S, PITCH_CENTS, None)
    ends = match_notes(there, at, here, told, ONSET_S, PITCH_CENTS, OFFSET_SHARE, OFFSET_S)
    return Count(len(at), len(told), len(pairs), len(ends))


def _spans(notes: Iterable[Note]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    each = list(notes)
    spans = np.array([(note.onset_s, max(note.offset_s, note.onset_s + 0.01)) for note in each]).reshape(-1, 2)
    return spans, np.array([440.0 * 2 ** ((note.midi - 69) / 12) for note in each])


def print_table(counts: dict[tuple[str, str, str], Count]) -> None:
    """Print F of every style and condition, for each guitar and for all."""
    print(
        f"{'onset F':26}"
        + "".join(f"{style:>10}{'+end':>7}" for style in STYLES)
        + f"{'all':>10}{'+end':>7}{'inv/100':>9}"
    )
    guitars = list(dict.fromkeys(guitar for guitar, _, _ in counts))
    for guitar in (*guitars, "all"):
        for condition in CONDITIONS:
            mine = {
                style: total(
                    count
                    for (g, s, c), count in counts.items()
                    if (guitar in (g, "all")) and s == style and c == condition
                )
                for style in STYLES
            }
            cells = [*mine.values(), total(mine.values())]
            told = "".join(two_figures(cell) for cell in cells)
            invented = 100 * (cells[-1].written - cells[-1].right) / max(1, cells[-1].wanted)
            print(f"{guitar + ', ' + condition:26}{told}{invented:9.1f}")


def two_figures(count: Count) -> str:
    return f"{count.f():10.3f}{count.f(ends=True):7.3f}" if count.wanted else f"{'-':>10}{'-':>7}"


def total(counts: Iterable[Count]) -> Count:
    return sum(counts, Count())


def words(count: Count) -> str:
    missed, invented = count.wanted - count.right, count.written - count.right
    f = f"F {count.f():.3f}  with ends {count.f(ends=True):.3f}"
    return f"{f}: {count.wanted} notes, {missed} missed, {invented} invented"


if __name__ == "__main__":
    main()
