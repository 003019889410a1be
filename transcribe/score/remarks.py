"""The doubts of a take as remarks to read: a reason once at a place, one that comes often once for all its bars.

Cautions for the hands stand among the doubts of a document; they are told apart, and their advice once.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from fingering.cautions import ADVICE
from transcribe.notes.note import Doubt
from transcribe.score.places import Place, bars_words

CARE = "take care: "  # how a document marks a caution for the hands among its doubts
OFTEN = 4  # bars from which a reason is told once for all of them; a choice of ours
MEASURED = re.compile(r"\d+(?= (?:ms|mm|cents|N)\b)")  # figures that may differ within one reason


@dataclass(frozen=True, slots=True)
class Remark:
    """What is said about a place of the music, or several; ``where`` is empty for the whole take."""

    where: str
    why: str
    notes: tuple[str, ...] = ()  # ids of the notes it is about

    @property
    def words(self) -> str:
        """The remark as one sentence."""
        whole = f"{self.where}: {self.why}" if self.where else self.why
        whole = whole[:1].upper() + whole[1:]
        return whole if whole.endswith((".", "!", "?")) else whole + "."


def is_caution(doubt: Doubt) -> bool:
    """Return whether a doubt of a document is a caution for the hands."""
    return doubt.why.startswith(CARE)


def doubt_remarks(doubts: Sequence[Doubt], places: Mapping[str, Place]) -> tuple[Remark, ...]:
    """Return what to look at first: the take's own doubts, then places in the order of the music."""
    return _remarks([doubt for doubt in doubts if not is_caution(doubt)], places)


def caution_remarks(doubts: Sequence[Doubt], places: Mapping[str, Place]) -> tuple[Remark, ...]:
    """Return where the hands should take care, without the advice that goes with all of them."""
    bare = [
        replace(doubt, why=doubt.why.removeprefix(CARE).replace(ADVICE, "").rstrip(" ."))
        for doubt in doubts
        if is_caution(doubt)
    ]
    return _remarks(bare, places)


def _remarks(doubts: Sequence[Doubt], places: Mapping[str, Place]) -> tuple[Remark, ...]:
    whole: dict[str, None] = {}
    by_reason: dict[str, list[tuple[Place, Doubt]]] = {}
    for doubt in doubts:
        place = places.get(doubt.note) if doubt.note is not None else None
        if place is None:
            whole[doubt.why] = None
        else:
            by_reason.setdefault(MEASURED.sub("#", doubt.why), []).append((place, doubt))
    found: list[tuple[Place, Remark]] = []
    seldom: dict[Place, list[list[Doubt]]] = {}
    for told in by_reason.values():
        at = sorted({place for place, _ in told})
        if len({place.bar for place in at}) >= OFTEN:
            about = tuple(dict.fromkeys(doubt.note or "" for _, doubt in told))
            found.append(
                (at[0], Remark(bars_words(place.bar for place in at), _one_reason([doubt for _, doubt in told]), about))
            )
            continue
        for here in at:
            seldom.setdefault(here, []).append([doubt for place, doubt in told if place == here])
    for place, reasons in seldom.items():
        about = tuple(dict.fromkeys(doubt.note or "" for reason in reasons for doubt in reason))
        found.append((place, Remark(place.words, "; ".join(_one_reason(reason) for reason in reasons), about)))
    found.sort(key=lambda item: item[0])
    return (*(Remark("", why) for why in whole), *(remark for _, remark in found))


def _one_reason(doubts: Sequence[Doubt]) -> str:
    """Return a reason once; figures that differ between its places become a range: "40 to 136 ms"."""
    figures = [[int(figure) for figure in MEASURED.findall(doubt.why)] for doubt in doubts]
    ranges = iter([(min(column), max(column)) for column in zip(*figures, strict=True)])

    def ranged(_: re.Match[str]) -> str:
        least, most = next(ranges)
        return str(least) if least == most else f"{least} to {most}"

    return MEASURED.sub(ranged, doubts[0].why)
