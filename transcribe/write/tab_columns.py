"""Columns of text tab: what stands on each beat of a bar."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from transcribe.document.model import TakeNote
from transcribe.notes.note import Note
from transcribe.score.score import Bar, Event, Score, ScoreNote
from transcribe.score.spelling import name_text
from transcribe.write.tab_signs import Cell, cell, joint

LOOSE_NAMES = 3  # notes without a string that are named over one beat


@dataclass(frozen=True, slots=True)
class Column:
    """What stands on one beat: a cell a string, and what is said above it."""

    bar: int
    beat: Fraction
    room: Fraction  # quarters to the next column or the bar line
    event: Event | None  # the shortest that stands here: its rhythm is drawn
    cells: dict[int, Cell]  # by string
    joints: dict[int, str]  # sign on the way from the note before, by string
    loose: str  # names of notes without a string
    doubtful: bool
    palm: bool
    ring: bool
    struck: tuple[TakeNote, ...]  # notes that begin here, highest string first

    @property
    def left(self) -> int:
        """Characters needed before the beat."""
        return max((item.anchor for item in self.cells.values()), default=0)

    @property
    def right(self) -> int:
        """Characters needed from the beat on."""
        return max([1, *(item.right for item in self.cells.values())])


def bar_columns(score: Score, doubted: set[str]) -> Iterator[tuple[Column, ...]]:
    """Yield the columns of each bar; ``doubted`` holds the ids of the notes to mark."""
    last: dict[int, tuple[int, Note]] = {}  # string: which event, and the note that sounded there
    count = 0
    for bar in score.bars:
        columns = []
        beats = sorted({event.beat for voice in bar.voices for event in voice})
        for beat, following in zip(beats, [*beats[1:], bar.length], strict=True):
            count += 1
            heads = [head for voice in bar.voices for event in voice if event.beat == beat for head in event.notes]
            here = [event for voice in bar.voices for event in voice if event.beat == beat and not event.hidden]
            event = min(here, key=lambda event: (event.is_rest, event.value.quarters), default=None)
            columns.append(_column(bar, beat, following - beat, event, heads, doubted, last, count))
        yield tuple(columns)


def _column(
    bar: Bar,
    beat: Fraction,
    room: Fraction,
    event: Event | None,
    heads: Sequence[ScoreNote],
    doubted: set[str],
    last: dict[int, tuple[int, Note]],
    count: int,
) -> Column:
    cells: dict[int, Cell] = {}
    joints: dict[int, str] = {}
    for head in heads:
        placement, note = head.take.placement, head.take.note
        if placement is None:
            continue
        string = placement.string
        cells[string] = cell(head, starts_bar=beat == 0)
        before = last.get(string)
        if not head.tied_from:
            if before is not None and before[0] == count - 1:
                joints[string] = joint(before[1], note)
            elif note.attack in ("hammer-on", "pull-off"):
                joints[string] = joint(note, note)
        last[string] = (count, note)
    struck = [head.take.note for head in heads if not head.tied_from]
    return Column(
        bar=bar.number,
        beat=beat,
        room=room,
        event=event,
        cells=cells,
        joints={string: sign for string, sign in joints.items() if sign},
        loose=_loose_names([head for head in heads if head.take.placement is None and not head.tied_from]),
        doubtful=any(note.id in doubted for note in struck),
        palm=any(head.take.note.mute == "palm" for head in heads),
        ring=any(head.take.note.let_ring for head in heads),
        struck=tuple(
            head.take
            for head in sorted(heads, key=lambda head: head.take.placement.string if head.take.placement else 99)
            if not head.tied_from
        ),
    )


def _loose_names(heads: Sequence[ScoreNote]) -> str:
    """Names of notes without a string; of many only the first and how many more, so that a column fits any page."""
    names = [f"{name_text(head.spelled)}{head.spelled.octave}" for head in heads[:LOOSE_NAMES]]
    return " ".join([*names, *([f"+{len(heads) - LOOSE_NAMES}"] if len(heads) > LOOSE_NAMES else [])])
