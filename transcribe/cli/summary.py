"""The few lines under a draft: tempo, key, tuning, and where to look first."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from fingering.cautions import ADVICE
from fingering.solution import Fingering
from transcribe.document.analyse import HARMONY
from transcribe.document.model import TakeDocument
from transcribe.score.build import build_score
from transcribe.score.places import places_of
from transcribe.score.remarks import Remark, caution_remarks, doubt_remarks
from transcribe.score.score import Score
from transcribe.score.spelling import name_text

MOST_REMARKS = 8  # of each kind
MOST_NOTES = 3  # named in one remark
IN_TUNE_CENTS = 1.0
SETTLED_BY = {HARMONY: "; --key settles it"}  # said in the terminal alone: a sheet of paper has no options


def summary(document: TakeDocument, score: Score | None = None) -> str:
    """Return the summary of a draft, several lines; ``score`` is its score where it is written already."""
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
    lines += _looked_at(document, score or build_score(document)) if document.doubts else ["nothing doubted"]
    return "\n".join(lines)


def _looked_at(document: TakeDocument, score: Score) -> list[str]:
    """What to look at first, then where the hands should take care, with the advice for it once."""
    places, names = places_of(score), _names(score)
    said = [replace(doubt, why=doubt.why + SETTLED_BY.get(doubt.about or "", "")) for doubt in document.doubts]
    doubts, care = doubt_remarks(said, places), caution_remarks(said, places)
    lines = ["look first at:", *_most(doubts, names)] if doubts else ["nothing doubted"]
    return lines + (["take care of your hands:", *_most(care, names), f"  {ADVICE}"] if care else [])


def _most(remarks: Sequence[Remark], names: Mapping[str, str]) -> list[str]:
    told = [f"  {_place(remark, names)}: {remark.why}" for remark in remarks[:MOST_REMARKS]]
    left = len(remarks) - MOST_REMARKS
    return told + ([f"  and {left} more in the tab and the take document"] if left > 0 else [])


def _place(remark: Remark, names: Mapping[str, str]) -> str:
    """Where a remark belongs, with the notes by the names that corrections are typed with."""
    if not remark.where:
        return "the take"
    notes = [names[note] for note in remark.notes[:MOST_NOTES]]
    left = len(remark.notes) - MOST_NOTES
    return f"{remark.where} ({'; '.join(notes)}{f'; and {left} more' if left > 0 else ''})"


def _names(score: Score) -> dict[str, str]:
    """Each note's id and its pitch, spelled as on the sheet."""
    return {
        head.take.id: f"{head.take.id}, {name_text(head.spelled)}{head.spelled.octave}"
        for bar in score.bars
        for voice in bar.voices
        for event in voice
        for head in event.notes
        if not head.tied_from
    }


def _tuning(document: TakeDocument) -> str:
    offset = document.instrument.tuning_offset_cents
    reference = f"A = {document.instrument.reference_hz:g} Hz"
    if offset is None:
        return f"tuning against {reference} unknown"
    if abs(offset) < IN_TUNE_CENTS:
        return f"guitar in tune with {reference}"
    size = f"{abs(offset):.0f}"
    return f"guitar {size} cent{'' if size == '1' else 's'} {'sharp' if offset > 0 else 'flat'} of {reference}"


def advice_for(fingerings: Iterable[Fingering]) -> list[str]:
    """Return, once each, the advice that goes with the cautions of some fingerings."""
    return list(dict.fromkeys(caution.advice for fingering in fingerings for caution in fingering.cautions))
