"""Print what a sheet of 32 bars costs a fresh process: ``python -m tests.measures.sheet_speed``."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from tests.golden.licks import WAVE, Page
from transcribe.document.model import TakeDocument
from transcribe.document.text import document_bytes
from transcribe.harmony.key import Key
from transcribe.notes.note import Doubt, Slide

ROOT = Path(__file__).parents[2]
BARS, RUNS = 32, 5


def long_lick(bars: int = BARS) -> TakeDocument:
    """A solo of eighths, triplets, sixteenths, double stops, bends, slides and vibrato, four bars over and over."""
    page = Page(bpm=96.0)
    for _ in range(bars // 4):
        for string, fret in ((3, 5), (3, 7), (2, 5), (2, 8), (1, 5), (1, 8), (2, 8), (2, 5)):
            page.note("1/2", string, fret, attack="hammer-on" if fret == 7 else "picked")
        page.note("1", 2, 8, pushes=(("bend", 200),))
        page.note("1", 2, 8, pushes=(("pre-bend", 200), ("release", 0)))
        for fret, attack in ((8, "picked"), (5, "pull-off"), (8, "hammer-on")):
            page.note("1/3", 1, fret, attack=attack)
        page.note("1", 2, 5, vibrato=WAVE)
        for string, fret in ((4, 7), (4, 5), (5, 7), (5, 5)) * 4:
            page.note("1/4", string, fret, mute="palm" if string == 5 else "none")
        page.slide("1/2", 3, 5, 7)
        page.note("1/2", 3, 7, attack="slide")
        page.note("1", 2, 5)
        page.note("1", 1, 5, with_last=True)
        page.note("1", 1, 12, harmonic="natural")
        page.note("1", 3, 7, slide=Slide("out", -300.0))
    return page.document(key=Key("A", "minor"), doubts=(Doubt("two trackers disagree by an octave", "n9"),))


def cold_seconds(document: TakeDocument, formats: str, folder: Path) -> float:
    """Return how long a fresh process takes to write the sheet of a document, start-up and files included."""
    path = folder / "solo.take.json"
    path.write_bytes(document_bytes(document))
    words = ["sheet", str(path), "--formats", formats, "--out", str(folder / "out")]
    started = time.perf_counter()
    subprocess.run([sys.executable, "-m", "transcribe", *words], cwd=ROOT, check=True, capture_output=True)
    return time.perf_counter() - started


def main() -> None:
    """Print the middle and worst of a few runs, and what was written."""
    lick = long_lick()
    print(f"{BARS} bars, {len(lick.notes)} notes, {os.cpu_count()} cores, {RUNS} runs, start-up included")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for formats in ("pdf,svg", "pdf,svg,png"):
            times = sorted(cold_seconds(lick, formats, folder) for _ in range(RUNS))
            print(f"{formats:12} {times[RUNS // 2]:.2f} s in the middle, {times[-1]:.2f} s at worst")
        sizes = ", ".join(
            f"{path.name} {path.stat().st_size / 1e3:.0f} kB" for path in sorted((folder / "out").iterdir())
        )
        print(sizes)


if __name__ == "__main__":
    main()
