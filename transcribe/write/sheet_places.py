"""Where notes stand, in words; the score's doubts sorted into what to check and what to take care with."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

from fingering.cautions import ADVICE
from transcribe.rhythm.grid import pulse_beats
from transcribe.score.score import Score
from transcribe.write.sheet_text import plain

CARE = "take care: "  # how a document marks a caution for the hands among its doubts
OF_THE_COMMAND_LINE = re.compile(r"; --[a-z].*$")  # what drafts of earlier versions named there: no word for paper
PARTS_OF_BEAT = {
    Fraction(1, 2): "½",
    Fraction(1, 3): "⅓",
    Fraction(2, 3): "⅔",
    Fraction(1, 4): "¼",
    Fraction(3, 4): "¾",
}


@dataclass(frozen=True, slots=True)
class Remark:
    """What is said about one place of the music; ``where`` is empty for the whole take."""

    where: str
    why: str

    @property
    def words(self) -> str:
        """The remark as one sentence."""
        whole = f"{self.where}: {self.why}" if self.where else self.why[:1].upper() + self.why[1:]
        return whole if whole.endswith((".", "!", "?")) else whole + "."


def doubts_of(score: Score) -> tuple[Remark, ...]:
    """Return what to look at first: the take's own doubts, then places in the order of the music."""
    return _remarks(score, {k: doubt.why for k, doubt in enumerate(score.doubts) if not doubt.why.startswith(CARE)})


def cautions_of(score: Score) -> tuple[Remark, ...]:
    """Return where the hands should take care, without the advice that goes with all of them."""
    told = {k: doubt.why.removeprefix(CARE) for k, doubt in enumerate(score.doubts) if doubt.why.startswith(CARE)}
    return _remarks(score, {k: why.replace(ADVICE, "").rstrip(" .") for k, why in told.items()})


def without_cautions(score: Score) -> Score:
    """Return the score with its doubts alone: a caution is no reason to mark a note as doubtful."""
    return replace(score, doubts=tuple(doubt for doubt in score.doubts if not doubt.why.startswith(CARE)))


def place_words(score: Score) -> Mapping[str, tuple[tuple[int, Fraction], str]]:
    """Return for each note's id where it stands, to sort by, and in words: ``bar 2, beat 3½``."""
    found: dict[str, tuple[tuple[int, Fraction], str]] = {}
    for bar in score.bars:
        for voice in bar.voices:
            for event in voice:
                beat = event.beat + (score.meter.bar_beats - bar.length if bar.number == 0 else 0)
                words = f"{'Pickup' if bar.number == 0 else f'Bar {bar.number}'}, beat {beat_words(beat, score)}"
                for head in event.notes:
                    if not head.tied_from:
                        found[head.take.id] = ((bar.number, event.beat), words)
    return found


def beat_words(beat: Fraction, score: Score) -> str:
    """Return a beat as players count, from 1: ``2`` or ``2½``."""
    whole, part = divmod(beat / pulse_beats(score.meter), 1)
    if not part:
        return str(int(whole) + 1)
    sign = PARTS_OF_BEAT.get(part)
    return f"{int(whole) + 1}{sign}" if sign else f"{int(whole) + 1} and {part}"


def _remarks(score: Score, whys: Mapping[int, str]) -> tuple[Remark, ...]:
    places = place_words(score)
    told: dict[str, tuple[tuple[int, Fraction], list[str]]] = {}
    for k, why in whys.items():
        note = score.doubts[k].note
        order, where = places.get(note, ((-1, Fraction(0)), "")) if note is not None else ((-1, Fraction(0)), "")
        told.setdefault(where if where else f"\n{k}", (order, []))[1].append(OF_THE_COMMAND_LINE.sub("", plain(why)))
    found = sorted(told.items(), key=lambda item: item[1][0])
    return tuple(
        Remark(where if not where.startswith("\n") else "", "; ".join(reasons)) for where, (_, reasons) in found
    )
