"""Let ring and palm mute as stretches from a first note to a last one, found once for every writer."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from transcribe.notes.note import Note
from transcribe.score.score import Bar, Event, SpanKind, TechniqueSpan


@dataclass(frozen=True, slots=True)
class _Moment:
    """All notes struck on one beat."""

    bar: int
    beat: Fraction
    notes: tuple[Note, ...]


def technique_spans(bars: Sequence[Bar], cut: frozenset[str]) -> tuple[TechniqueSpan, ...]:
    """Return the stretches of a score, in order; rests do not end one, other notes do.

    A note belongs to a let-ring stretch when the take says so, or when it is in ``cut``: those that sound longer than
    they are written. A moment is palm-muted when all its notes are.
    """
    moments = list(_moments(bars))
    ends = _written_ends(bars)

    def ringing(moment: _Moment) -> tuple[str, ...]:
        return tuple(note.id for note in moment.notes if note.let_ring or note.id in cut)

    def damped(moment: _Moment) -> tuple[str, ...]:
        palm = all(note.mute == "palm" for note in moment.notes)
        return tuple(note.id for note in moment.notes) if palm else ()

    found = [*_runs("let ring", moments, ringing, ends), *_runs("palm mute", moments, damped, ends)]
    return tuple(sorted(found, key=lambda span: (span.start_bar, span.start_beat, span.kind)))


def _moments(bars: Sequence[Bar]) -> Iterator[_Moment]:
    for bar in bars:
        by_beat: dict[Fraction, list[Event]] = {}
        for voice in bar.voices:
            for event in voice:
                if any(not head.tied_from for head in event.notes):
                    by_beat.setdefault(event.beat, []).append(event)
        for beat in sorted(by_beat):
            heads = [head for event in by_beat[beat] for head in event.notes if not head.tied_from]
            yield _Moment(bar.number, beat, tuple(head.take.note for head in heads))


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
    of: Callable[[_Moment], tuple[str, ...]],
    ends: dict[str, tuple[int, Fraction]],
) -> Iterator[TechniqueSpan]:
    """Stretches of moments in which ``of`` finds a note."""
    run: list[tuple[_Moment, tuple[str, ...]]] = []
    for moment in [*moments, None]:
        ids = of(moment) if moment is not None else ()
        if moment is not None and ids:
            run.append((moment, ids))
            continue
        if run:
            names = tuple(name for _, each in run for name in each)
            end_bar, end_beat = max(ends[name] for name in names)
            yield TechniqueSpan(kind, run[0][0].bar, run[0][0].beat, end_bar, end_beat, names)
        run = []
