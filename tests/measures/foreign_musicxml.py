"""Read every MusicXML file of a folder, or of the corpus that the music21 package carries, and say what came of it.

    python -m tests.measures.foreign_musicxml [FOLDER]

Each file is read to a take document, written as a score and as MusicXML, and that is read again: the second reading
must hold the same pitches. A file may be refused in one clear line; anything else is a fault.
"""

from __future__ import annotations

import sys
import time
from collections import Counter
from importlib.util import find_spec
from pathlib import Path

from transcribe.document.from_musicxml import document_from_musicxml
from transcribe.errors import ReadError
from transcribe.score.build import build_score
from transcribe.write.musicxml import musicxml_bytes

ENDINGS = (".xml", ".musicxml", ".mxl")


def corpus_folder() -> Path:
    """Return the folder of music21's corpus; raises SystemExit when the package is not installed."""
    package = find_spec("music21")
    if package is None or not package.submodule_search_locations:
        raise SystemExit("music21 is not installed: give a folder of MusicXML files")
    return Path(package.submodule_search_locations[0]) / "corpus"


def outcome(path: Path) -> str:
    """Return what came of one file: read, refused, or the fault."""
    try:
        document = document_from_musicxml(path.read_bytes(), name=path.name)
    except ReadError as error:
        return f"refused: {error.found[:60]}"
    try:
        again = document_from_musicxml(musicxml_bytes(build_score(document)))
    except Exception as error:  # whatever breaks is a fault to be told, not the end of the count
        return f"FAULT {type(error).__name__}: {error}"[:100]
    before, after = (Counter(item.note.midi for item in each.notes) for each in (document, again))
    if before == after:
        return "read"
    return "FAULT notes out of nowhere" if after - before else "read; notes repeated within a 32nd are one"


def main(words: list[str]) -> None:
    """Print the outcomes, and the names of files with a fault."""
    folder = Path(words[0]) if words else corpus_folder()
    counts: Counter[str] = Counter()
    started_s = time.perf_counter()
    for path in sorted(path for path in folder.rglob("*") if path.suffix in ENDINGS):
        try:
            found = outcome(path)
        except Exception as error:
            found = f"FAULT {type(error).__name__}: {error}"[:100]
        counts[found] += 1
        if found.startswith("FAULT"):
            print(f"{path.relative_to(folder)}: {found}")
    for found, count in counts.most_common():
        print(f"{count:6} {found}")
    print(f"{sum(counts.values())} files in {time.perf_counter() - started_s:.0f} s")


if __name__ == "__main__":
    main(sys.argv[1:])
