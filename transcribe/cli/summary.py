"""The few lines under a draft: tempo, key, tuning, and where to look first."""

from __future__ import annotations

from collections.abc import Iterable

from fingering.solution import Fingering
from transcribe.document.analyse import HARMONY
from transcribe.document.model import TakeDocument, TakeNote

MOST_DOUBTS = 8
IN_TUNE_CENTS = 1.0
SETTLED_BY = {HARMONY: "; --key settles it"}  # said in the terminal alone: a sheet of paper has no options
NOTE_NAMES = ("C", "C#", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")


def summary(document: TakeDocument) -> str:
    """Return the summary of a draft, several lines."""
    facts = [f"{len(document.notes)} note{'s' if len(document.notes) != 1 else ''}"]
    if document.rhythm is not None:
        facts.append(f"tempo {document.rhythm.tempo_bpm:.0f} ({document.rhythm.tempo_source})")
        facts.append(str(document.rhythm.meter))
    if document.key is not None:
        sure = document.key.confidence if document.key.source == "estimated" else None
        how = document.key.source if sure is None else f"{document.key.source}, {sure:.0%} sure"
        facts.append(f"key {document.key.tonic} {document.key.mode} ({how})")
    facts.append(_tuning(document))
    lines = [" · ".join(facts)]
    over = [span for span in document.chords if span.backing is not None]
    if over:
        told = dict.fromkeys(f"{span} over {span.backing}" + (f": {span.role}" if span.role else "") for span in over)
        lines.append("chords against the backing: " + ", ".join(told))
    if document.doubts:
        places = {take.id: _place(take) for take in document.notes}
        lines.append("look first at:")
        lines += [
            f"  {places.get(doubt.note or '', 'the take')}: {doubt.why}{SETTLED_BY.get(doubt.about or '', '')}"
            for doubt in document.doubts[:MOST_DOUBTS]
        ]
        left = len(document.doubts) - MOST_DOUBTS
        if left > 0:
            lines.append(f"  and {left} more in the take document")
    else:
        lines.append("nothing doubted")
    return "\n".join(lines)


def _tuning(document: TakeDocument) -> str:
    offset = document.instrument.tuning_offset_cents
    reference = f"A = {document.instrument.reference_hz:g} Hz"
    if offset is None:
        return f"tuning against {reference} unknown"
    if abs(offset) < IN_TUNE_CENTS:
        return f"guitar in tune with {reference}"
    size = f"{abs(offset):.0f}"
    return f"guitar {size} cent{'' if size == '1' else 's'} {'sharp' if offset > 0 else 'flat'} of {reference}"


def _place(take: TakeNote) -> str:
    name = f"{NOTE_NAMES[take.note.midi % 12]}{take.note.midi // 12 - 1}"
    if take.timing is not None:
        where = "pickup" if take.timing.bar == 0 else f"bar {take.timing.bar}"
        return f"{where}, beat {float(take.timing.beat) + 1:.3g} ({take.id}, {name})"
    return f"{take.note.onset_s:.2f} s ({take.id}, {name})"


def advice_for(fingerings: Iterable[Fingering]) -> list[str]:
    """Return, once each, the advice that goes with the cautions of some fingerings."""
    return list(dict.fromkeys(caution.advice for fingering in fingerings for caution in fingering.cautions))
