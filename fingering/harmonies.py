"""What the pitches of neighbouring moments have in common: a chord, a scale, or the same double stop in a row.

Only pitches are read, so this is known before any note is placed; ``regions`` says where on the neck each lies.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

CHORD_TONES = {
    "major": (0, 4, 7),
    "minor": (0, 3, 7),
    "seventh": (0, 4, 7, 10),
    "minor seventh": (0, 3, 7, 10),
    "major seventh": (0, 4, 7, 11),
    "diminished": (0, 3, 6),
    "augmented": (0, 4, 8),
}
SCALES = {
    "major": (0, 2, 4, 5, 7, 9, 11),
    "minor": (0, 2, 3, 5, 7, 8, 10),
    "minor pentatonic": (0, 3, 5, 7, 10),
    "major pentatonic": (0, 2, 4, 7, 9),
    "blues": (0, 3, 5, 6, 7, 10),
}
# What a run of notes is read as; the rank says how plain it is, 0 the plainest.
LINE_CHORDS = {"major": 0, "minor": 0, "seventh": 1, "minor seventh": 1, "major seventh": 1}
LINE_SCALES = {"minor pentatonic": 0, "major pentatonic": 0, "blues": 1, "major scale": 2, "minor scale": 2}
# How much must be heard before a run is read as a scale: notes, different pitch classes; choices of ours. A chord is
# read where all its tones are heard.
SCALE_HEARD = {0: (5, 4), 1: (6, 5), 2: (5, 5)}
PLAINER = 1.5  # a richer reading must explain a run this much longer; a choice of ours
IN_A_ROW = ("thirds", "sixths", "octaves", "triads")


@dataclass(frozen=True, slots=True)
class Harmony:
    """A chord or scale with its root (pitch class, 0 is C)."""

    root: int
    kind: str  # one of LINE_CHORDS or LINE_SCALES


@dataclass(frozen=True, slots=True)
class Link:
    """What two neighbouring moments share by their pitches."""

    harmonies: tuple[Harmony, ...] = ()
    row: str = ""  # one of IN_A_ROW when both are such double stops or triads


NO_LINK = Link()


def links_of(midis: Sequence[Sequence[int]]) -> tuple[Link, ...]:
    """Return, for each moment's pitches, what it shares with the moment before; the first shares nothing.

    >>> links_of([[60], [64], [67], [72]])[2].harmonies[0]
    Harmony(root=0, kind='major')
    """
    classes = [_mask(set_of) for set_of in midis]
    rows = [row_kind(set_of) for set_of in midis]
    chords = _best(classes, midis, LINE_CHORDS)
    scales = _best(classes, midis, LINE_SCALES)
    links = [NO_LINK]
    for at in range(1, len(classes)):
        found = tuple(harmony for harmony in (chords[at], scales[at]) if harmony is not None)
        row = rows[at] if rows[at] == rows[at - 1] else ""
        links.append(Link(found, row) if found or row else NO_LINK)
    return tuple(links[: len(classes)])


def row_kind(midis: Iterable[int]) -> str:
    """Return what notes struck together are: thirds, sixths, octaves or (closed) triads; "" for anything else."""
    held = sorted(midis)
    if len(held) == 2:
        return {3: "thirds", 4: "thirds", 8: "sixths", 9: "sixths", 12: "octaves"}.get(held[1] - held[0], "")
    if len(held) == 3 and held[2] - held[0] < 12 and triad_of(held) is not None:
        return "triads"
    return ""


def triad_of(midis: Iterable[int]) -> tuple[int, str, int] | None:
    """Return root, quality and inversion of three pitches that form a triad; None when they do not.

    >>> triad_of([52, 55, 60])
    (0, 'major', 1)
    """
    held = sorted(midis)
    classes = {midi % 12 for midi in held}
    for quality in ("major", "minor", "diminished", "augmented"):
        tones = CHORD_TONES[quality]
        for inversion in range(3):
            root = (held[0] - tones[inversion]) % 12
            if classes == {(root + tone) % 12 for tone in tones}:
                return root, quality, inversion
    return None


def tones_of(kind: str) -> tuple[int, ...]:
    """Return the steps above the root, in semitones, of a kind of harmony."""
    return CHORD_TONES[kind] if kind in CHORD_TONES else SCALES[kind.removesuffix(" scale")]


def _mask(midis: Iterable[int]) -> int:
    mask = 0
    for midi in midis:
        mask |= 1 << midi % 12
    return mask


@lru_cache(maxsize=32)
def _masks(kinds: tuple[str, ...], lowest: int) -> tuple[tuple[Harmony, int], ...]:
    """Return every harmony with its pitch classes, roots upwards from ``lowest``."""
    return tuple(
        (Harmony(root % 12, kind), _mask(root + tone for tone in tones_of(kind)))
        for kind in kinds
        for root in range(lowest, lowest + 12)
    )


def _best(classes: Sequence[int], midis: Sequence[Sequence[int]], kinds: Mapping[str, int]) -> list[Harmony | None]:
    """Return, per step into a moment, the plainest harmony with the longest run of notes around it.

    Of two with the same run the one wins whose root is heard more, most of all at the end of the run; of two still
    alike the one whose root lies nearest above the lowest note, so that another key changes nothing.
    """
    lowest = min((midi for heard in midis for midi in heard), default=0)
    best: list[Harmony | None] = [None] * len(classes)
    score = [0.0] * len(classes)
    for harmony, mask in _masks(tuple(kinds), lowest % 12):
        rank = kinds[harmony.kind]
        tones = mask.bit_count()
        notes_needed, classes_needed = (tones, tones) if harmony.kind in CHORD_TONES else SCALE_HEARD[rank]
        for start, end in _runs(classes, mask):
            heard = 0
            for at in range(start, end):
                heard |= classes[at]
            notes = sum(len(midis[at]) for at in range(start, end))
            if notes < notes_needed or heard.bit_count() < classes_needed:
                continue
            value = notes * PLAINER**-rank + _rooted(harmony, midis[start:end], notes)
            for at in range(start + 1, end):
                if value > score[at]:
                    best[at], score[at] = harmony, value
    return best


def _rooted(harmony: Harmony, run: Sequence[Sequence[int]], notes: int) -> float:
    """Return how much a run speaks for this root among those with the same tones; less than a note's worth."""
    roots = sum(midi % 12 == harmony.root for heard in run for midi in heard)
    first, last = (any(midi % 12 == harmony.root for midi in run[at]) for at in (0, -1))
    # of the two pentatonic scales a lead player thinks of the minor one first: common practice
    return 0.1 * roots / notes + 0.05 * last + 0.03 * first + 0.1 * (harmony.kind == "minor pentatonic")


def _runs(classes: Sequence[int], mask: int) -> Iterator[tuple[int, int]]:
    """Yield start and end of each run of two moments or more that lie in the mask."""
    start = 0
    for at in range(len(classes) + 1):
        if at < len(classes) and not classes[at] & ~mask:
            continue
        if at - start > 1:
            yield start, at
        start = at + 1
