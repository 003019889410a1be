"""Measure gestures: ``python -m tests.benchmark_gestures [--bank DIR] [--soundfont FILE] [--path one|several]``.

Protocol: the licks of ``tests/voice_material.py`` that are for figures, on recorded notes of guitars nothing was
trained on (or on the string model, without a bank): clean, driven, and as a telephone keeps it. A gesture counts when
it stands on a note found (50 ms, the same fretted semitone) and agrees with what was played: a bend in kind and within
50 cents of its target (a quarter-tone curl within 20), a slide in kind and within 50 cents of its way, an attack in
name, a vibrato within a quarter of its rate. What stands on a note that pairs with nothing is invented. ``--choosing``
measures the other half of the licks, on guitars of training: thresholds are chosen there.

Natural harmonics are open strings of the same guitars (recorded, or the string model) touched at a node: n copies, each
a share 1/n of the period late, leave every nth partial. They are played one by one among fretted notes of like pitch.
"""

from __future__ import annotations

import argparse
from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from tests.harmonic_material import harmonic_takes
from tests.muted_material import muted_takes
from tests.voice_material import CONDITIONS, STYLES, Part, Take, bank_of, maps_of, takes
from transcribe.document.model import TakeDocument, TakeNote
from transcribe.evaluate.gestures import same_vibrato
from transcribe.evaluate.matching import match_notes
from transcribe.evaluate.scores import Found, Scores, Spread
from transcribe.evaluate.takes import score_takes
from transcribe.evidence.crepe import crepe_evidence
from transcribe.evidence.evidence import Evidence
from transcribe.notes.hear import Heard, hear_notes
from transcribe.notes.hear_voices import hear_voices, sounds_together
from transcribe.notes.note import Note
from transcribe.notes.surer import better
from transcribe.notes.voices import find_voices
from transcribe.notes.weigh import heard_voices
from transcribe.settings import Settings

GROUPS = ("single", "several")


@dataclass(frozen=True, slots=True)
class Measured:
    """What one group of takes scores."""

    scores: Scores
    hammered: Found  # hammer-ons and pull-offs alone
    held_bends: Found  # bends while another string rings
    held_sizes: Spread
    rate_hz: Spread  # errors of the vibratos found
    extent_cents: Spread
    harmonics: Found

    def __add__(self, other: Measured) -> Measured:
        return Measured(**{name: getattr(self, name) + getattr(other, name) for name in self.__slots__})


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmark_gestures", description=__doc__.split("\n")[0])
    parser.add_argument("--bank", type=Path, action="append", default=[], metavar="DIR", help="recorded notes")
    parser.add_argument("--soundfont", type=Path, metavar="FILE", help="a General MIDI soundfont: more guitars")
    parser.add_argument("--cache", type=Path, metavar="DIR", help="keep sounds and maps here")
    parser.add_argument("--weights", type=Path, metavar="FILE", help="another network than the shipped one")
    parser.add_argument("--path", choices=("auto", "several", "one"), default="auto", help="which way of hearing")
    parser.add_argument("--style", choices=STYLES, action="append", help="only these licks; repeatable")
    parser.add_argument("--guitar", action="append", help="only these guitars; repeatable")
    parser.add_argument("--choosing", action="store_true", help="the licks and guitars that numbers are chosen on")
    parser.add_argument("--no-licks", action="store_true", help="leave the licks out")
    parser.add_argument("--no-harmonics", action="store_true", help="leave the harmonics out")
    parser.add_argument("--no-mutes", action="store_true", help="leave the muted riff out")
    parser.add_argument("--each", action="store_true", help="print a line a take")
    chosen = parser.parse_args()
    part: Part = "choosing" if chosen.choosing else "judging"
    bank = bank_of(tuple(chosen.bank), chosen.soundfont, cache=chosen.cache)
    guitars = None if chosen.guitar is None else tuple(chosen.guitar)
    played: list[Iterable[Take]] = []
    if not chosen.no_licks:
        played.append(takes(part, bank, styles=tuple(chosen.style or STYLES), guitars=guitars, cache=chosen.cache))
    if not chosen.no_harmonics:
        played.append(harmonic_takes(part, bank, guitars=guitars))
    if not chosen.no_mutes:
        played.append(muted_takes(part, bank, guitars=guitars))
    groups: dict[tuple[str, str, str], list[Measured]] = defaultdict(list)
    for take in (take for some in played for take in some):
        told = measured(take, heard(take, chosen.path, cache=chosen.cache, weights=chosen.weights))
        groups[take.guitar, "single" if take.style == "single" else "several", take.condition].append(told)
        if chosen.each:
            print(row(take.name, told), flush=True)
    print_tables({key: total(each) for key, each in groups.items()})


def heard(take: Take, path: str = "auto", *, cache: Path | None = None, weights: Path | None = None) -> Heard:
    """Return what one way of hearing finds in a take; ``auto`` is the tool's own choice."""
    settings = Settings()
    evidence = line_evidence_of(take, settings, cache=cache) if path != "several" else None
    if path == "one" and evidence is not None:
        return hear_notes(take.recording, evidence, settings)
    maps = maps_of(take, cache=cache, weights=weights)
    voices = find_voices(maps)
    if evidence is None or sounds_together(voices):
        return hear_voices(take.recording, maps, settings)
    line = hear_notes(take.recording, evidence, settings, second=heard_voices(maps, voices))
    return better(line, hear_voices(take.recording, maps, settings))


def line_evidence_of(take: Take, settings: Settings, *, cache: Path | None = None) -> Evidence:
    """Return what the network of single lines hears in a take; kept in ``cache``."""
    if cache is None:
        return crepe_evidence(take.recording, settings.evidence)
    from hashlib import sha256

    kept = cache / "lines" / f"{take.name}.{sha256(take.recording.samples.tobytes()).hexdigest()[:12]}.npz"
    names = ("bin_midi", "salience", "onset", "level_db")
    if kept.is_file():
        with np.load(kept) as file:
            return Evidence(float(file["start_s"]), float(file["hop_s"]), *(file[name] for name in names))
    evidence = crepe_evidence(take.recording, settings.evidence)
    kept.parent.mkdir(parents=True, exist_ok=True)
    np.savez_compressed(kept, **{name: getattr(evidence, name) for name in ("start_s", "hop_s", *names)})
    return evidence


def measured(take: Take, heard: Heard) -> Measured:
    """Return the scores of what was heard."""
    draft: TakeDocument = replace(
        take.reference, notes=tuple(TakeNote(note) for note in heard.notes), doubts=heard.doubts
    )
    wanted = take.notes
    written = tuple(note for note in heard.notes if note.mute != "dead")
    pairs = [(wanted[a], written[b]) for a, b in match_notes(wanted, written)]
    waves = [
        (a.vibrato, b.vibrato)
        for a, b in pairs
        if a.vibrato is not None and b.vibrato is not None and same_vibrato(a.vibrato, b.vibrato)
    ]
    under = {note.id for note in wanted if note.bends and _rings_beside(note, wanted)}
    held = replace(take.reference, notes=tuple(each for each in take.reference.notes if each.id in under))
    beside = {b.id for a, b in pairs if a.id in under}
    bent = score_takes(replace(draft, notes=tuple(each for each in draft.notes if each.id in beside)), held)
    return Measured(
        scores=score_takes(draft, take.reference),
        hammered=_found(pairs, wanted, written, lambda note: note.attack if note.attack in HAMMERED else None),
        held_bends=bent.bends,
        held_sizes=bent.bend_size_error_cents,
        rate_hz=Spread(tuple(abs(a.rate_hz - b.rate_hz) for a, b in waves)),
        extent_cents=Spread(tuple(abs(a.extent_cents - b.extent_cents) for a, b in waves)),
        harmonics=_found(pairs, wanted, written, lambda note: note.harmonic if note.harmonic != "none" else None),
    )


HAMMERED = ("hammer-on", "pull-off")


def _rings_beside(bent: Note, notes: Iterable[Note]) -> bool:
    """True when another note sounds where a note is first bent."""
    at_s = bent.bends[0].reach_s
    return any(note is not bent and note.onset_s < at_s < note.offset_s for note in notes)


def _found(
    pairs: list[tuple[Note, Note]],
    wanted: Iterable[Note],
    written: Iterable[Note],
    of: Callable[[Note], str | None],
) -> Found:
    right = sum(of(a) is not None and of(a) == of(b) for a, b in pairs)
    return Found(right, *(sum(of(note) is not None for note in side) for side in (wanted, written)))


def total(each: Iterable[Measured]) -> Measured:
    first, *others = each
    for other in others:
        first = first + other
    return first


COUNTED = ("bends", "curls", "slides", "legato", "vibrato", "palm_mutes", "dead_notes")
HEADER = f"{'':30}" + "".join(
    f"{name:>8}"
    for name in (
        *("onset", "bends", "curls", "slides", "legato", "vibr.", "palm", "dead"),
        *("h-p", "held b.", "harm."),
        *("size", "90 %", "held", "90 %", "Hz", "extent"),
    )
)


def print_tables(groups: dict[tuple[str, str, str], Measured]) -> None:
    """Print F and errors of each guitar and condition, of single lines and of several strings."""
    print(HEADER)
    for group in GROUPS:
        guitars = list(dict.fromkeys(guitar for guitar, g, _ in groups if g == group))
        for guitar in (*guitars, "all"):
            for condition in CONDITIONS:
                mine = [
                    each
                    for (name, g, c), each in groups.items()
                    if g == group and c == condition and guitar in (name, "all")
                ]
                if mine:
                    print(row(f"{group}: {guitar}, {condition}", total(mine)))


def row(name: str, told: Measured) -> str:
    scores = told.scores
    found = [scores.notes, *(getattr(scores, field) for field in COUNTED), told.hammered, told.held_bends]
    sizes = [(spread.part(0.5), spread.part(0.9)) for spread in (scores.bend_size_error_cents, told.held_sizes)]
    errors = [*(size for pair in sizes for size in pair), told.rate_hz.part(0.5), told.extent_cents.part(0.5)]
    cells = ["-" if each.f is None else f"{each.f:.3f}" for each in (*found, told.harmonics)]
    cells += ["-" if error is None else f"{error:.1f}" for error in errors]
    return f"{name:30}" + "".join(f"{cell:>8}" for cell in cells)


if __name__ == "__main__":
    main()
