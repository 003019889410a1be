"""How far palms and harmonics stand out: ``python -m tests.measures.touch_margins --bank DIR [--soundfont FILE]``.

Prints of picked notes on the guitars that numbers are chosen on, muted, touched as harmonics and plain, how likely
``notes/touch.py`` finds palm and harmonic: the lowest, the middle and the highest, and 2 % from either end. The cuts of
``notes/mutes.py`` and ``notes/touch.py`` lie between them.
"""

from __future__ import annotations

import argparse
from pathlib import Path

import numpy as np

from tests.harmonic_material import harmonic_takes
from tests.muted_material import muted_takes
from tests.voice_material import bank_of, maps_of, takes
from transcribe.notes.note import Note
from transcribe.notes.touch import harmonic_likelihood, palm_likelihood, touch_maps

SHARES = (0.0, 0.02, 0.5, 0.98, 1.0)
KINDS = ("muted", "harmonic", "plain")


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.measures.touch_margins", description=__doc__.split("\n")[0])
    parser.add_argument("--bank", type=Path, action="append", default=[], metavar="DIR", help="recorded notes")
    parser.add_argument("--soundfont", type=Path, metavar="FILE", help="a General MIDI soundfont: more guitars")
    parser.add_argument("--cache", type=Path, metavar="DIR", help="keep sounds and maps here")
    chosen = parser.parse_args()
    bank = bank_of(tuple(chosen.bank), chosen.soundfont, cache=chosen.cache)
    found: dict[str, list[tuple[float, float]]] = {kind: [] for kind in KINDS}
    lines = takes("choosing", bank, styles=("single",), cache=chosen.cache)
    for take in (*lines, *muted_takes("choosing", bank), *harmonic_takes("choosing", bank)):
        maps = touch_maps(maps_of(take, cache=chosen.cache))
        for note in take.notes:
            if (kind := touched(note)) is not None:
                at = maps, note.onset_s, float(note.midi)
                found[kind].append((palm_likelihood(*at), harmonic_likelihood(*at)))
    for kind, likely in found.items():
        for name, column in zip(("palm", "harmonic"), np.array(likely).T, strict=True):
            values = ", ".join(f"{value:.2f}" for value in np.quantile(column, SHARES))
            print(f"{len(likely)} {kind}: {name} {values}")


def touched(note: Note) -> str | None:
    """Return which of KINDS a picked note is; None for others, and for dead ones."""
    if note.attack != "picked" or note.mute == "dead":
        return None
    if note.harmonic != "none":
        return "harmonic"
    return "muted" if note.mute == "palm" else "plain"


if __name__ == "__main__":
    main()
