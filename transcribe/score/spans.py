"""Let ring and palm mute as stretches from a first note to a last one, found once for every writer."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from transcribe.score.score import Bar, Event, SpanKind, TechniqueSpan


@dataclass(frozen=True, slots=True)
class _Moment:
    """All notes struck on one beat."""

    bar: int
    beat: Fraction
    ids: tuple[str, ...]
    events: tuple[Event, ...]


def technique_spans(bars: Sequence[Bar], cut: frozenset[str]) -> tuple[TechniqueSpan, ...]:
    """Return the stretches of a score, in order; rests do not end one, other notes do.

    A note belongs to a let-ring stretch when the take says so, or when it is in ``cut``: those that sound longer than
    they are written. A moment is palm-muted when all its notes are.
    """
    moments = list(_moments(bars))
    ends = _written_ends(bars)

    def rings(moment: _Moment) -> bool:
        notes = (head.take.note for event in moment.events for head in event.notes if not head.tied_from)
        return any(note.let_ring or note.id in cut for note in notes)

    def damped(moment: _Moment) -> bool:
        notes = [head.take.note for event in moment.events for head in event.notes if not head.tied_from]
        return all(note.mute == "palm" for note in notes)

    found = [*_runs("let ring", moments, rings, ends), *_runs("palm mute", moments, damped, ends)]
    return tuple(sorted(found, key=lambda span: (span.start_bar, span.start_beat, span.kind)))


def _moments(bars: Sequence[Bar]) -> Iterator[_Moment]:
    for bar in bars:
        by_beat: dict[Fraction, list[Event]] = {}
        for voice in bar.voices:
            for event in voice:
                if any(not head.tied_from for head in event.notes):
                    by_beat.setdefault(event.beat, []).append(event)
        for beat in sorted(by_beat):
            events = tuple(by_beat[beat])
            ids = tuple(head.take.id for event in events for head in event.notes if not head.tied_from)
            yield _Moment(bar.number, beat, ids, events)


def _written_ends(bars: Sequence[Bar]) -> dict[str, tuple[int, Fraction]]:
    """Bar and beat where the last head of each note ends."""
    return {
        head.take.id: (bar.number, event.beat + event.value.quarters)
        for bar in bars
        for voice in bar.voices
        for event in voice
        for head in event.notes
        if not head.tied_to
    }


def _runs(
    kind: SpanKind,
    moments: Sequence[_Moment],
    belongs: Callable[[_Moment], bool],
    ends: dict[str, tuple[int, Fraction]],
) -> Iterator[TechniqueSpan]:
    run: list[_Moment] = []
    for moment in [*moments, None]:
        if moment is not None and belongs(moment):
            run.append(moment)
            continue
        if run:
            ids = tuple(name for each in run for name in each.ids)
            end_bar, end_beat = max(ends[name] for name in ids)
            yield TechniqueSpan(kind, run[0].bar, run[0].beat, end_bar, end_beat, ids)
        run = []
