"""Score one take document against another."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from transcribe.document.model import TakeDocument, TakeNote
from transcribe.document.read import document_from_json
from transcribe.evaluate.doubts import attack_doubts, gesture_doubts, note_doubts
from transcribe.evaluate.gestures import is_curl, match_bends, same_slide, same_vibrato
from transcribe.evaluate.matching import Pairs, match_notes, match_onsets
from transcribe.evaluate.scores import Found, Scores, Share, Spread
from transcribe.evaluate.table import format_scores, scores_to_json

__all__ = ["format_scores", "score_takes", "scores_to_json"]

LEGATO = ("hammer-on", "pull-off", "slide")
TEMPO_WINDOW = 0.04  # of the reference tempo: F. Gouyon et al., IEEE Trans. Audio Speech Lang. Proc. 14(5), 2006
UNSURE_MARGIN_S = 0.03

Document = TakeDocument | Mapping[str, Any]
Couples = list[tuple[TakeNote, TakeNote]]  # reference, draft


@dataclass(frozen=True, slots=True)
class _Paired:
    """The notes with a pitch on both sides, and which of them are the same."""

    wanted: list[TakeNote]
    written: list[TakeNote]
    couples: Couples


def score_takes(draft: Document, reference: Document) -> Scores:
    """Return how far a draft agrees with a reference; either may be parsed JSON.

    Notes pair within 50 ms and the same semitone, as in the MIREX note tracking task; every other score looks at the
    notes so paired, and what stands on an unpaired note counts as missed or invented. A reference may carry
    ``unsure``: spans of ``start_s`` to ``end_s`` where a note of the draft that pairs with nothing is left out.

    Raises DocumentError for JSON that is no take document.
    """
    wanted_doc, written_doc = _document(reference), _document(draft)
    wanted = [take for take in wanted_doc.notes if take.note.mute != "dead"]
    written = [take for take in written_doc.notes if take.note.mute != "dead"]
    pairs = match_notes([take.note for take in wanted], [take.note for take in written])
    left_out = _unsure(wanted_doc, written, {there for _, there in pairs})
    written_kept = [take for take in written if take.id not in left_out]
    with_ends = match_notes([take.note for take in wanted], [take.note for take in written_kept], ends=True)
    found = _Paired(wanted, written_kept, [(wanted[here], written[there]) for here, there in pairs])
    bends, curls, sizes = _bends(found)
    return Scores(
        notes=Found(len(pairs), len(wanted), len(written_kept)),
        notes_with_ends=Found(len(with_ends), len(wanted), len(written_kept)),
        onset_error_ms=Spread(tuple(1000 * abs(b.note.onset_s - a.note.onset_s) for a, b in found.couples)),
        bends=bends,
        curls=curls,
        bend_size_error_cents=sizes,
        slides=_slides(found),
        legato=_legato(found),
        attacks=_attacks(found.couples),
        vibrato=_vibrato(found),
        palm_mutes=_palm_mutes(found),
        dead_notes=_dead_notes(wanted_doc, written_doc),
        strings=_strings(found.couples),
        fingers=_fingers(found.couples),
        rhythm=_rhythm(found.couples),
        tempo=_tempo(wanted_doc, written_doc),
        note_doubts=note_doubts(written_doc, written_kept, found.couples),
        attack_doubts=attack_doubts(written_doc, found.couples),
        gesture_doubts=gesture_doubts(written_doc, found.couples),
    )


def _document(given: Document) -> TakeDocument:
    return given if isinstance(given, TakeDocument) else document_from_json(given)


def _unsure(reference: TakeDocument, written: list[TakeNote], paired: set[int]) -> set[str]:
    """Return ids of draft notes that pair with nothing and start where the reference cannot tell."""
    spans = [(span["start_s"] - UNSURE_MARGIN_S, span["end_s"] + UNSURE_MARGIN_S) for span in _spans(reference)]
    return {
        take.id
        for index, take in enumerate(written)
        if index not in paired and any(start_s <= take.note.onset_s <= end_s for start_s, end_s in spans)
    }


def _spans(reference: TakeDocument) -> list[Mapping[str, float]]:
    return list(reference.unknown.get("unsure", ()))


def _bends(found: _Paired) -> tuple[Found, Found, Spread]:
    """Return bends, curls among them, and where the bends found stopped against where they should have."""
    right = curls_right = 0
    sizes: list[float] = []
    for a, b in found.couples:
        pairs: Pairs = match_bends(a.note.bends, b.note.bends)
        right += len(pairs)
        for here, there in pairs:
            wanted, heard = a.note.bends[here], b.note.bends[there]
            curls_right += is_curl(wanted)
            if wanted.kind != "release":
                sizes.append(abs(heard.reached_cents - wanted.reached_cents))
    wanted_bends = [bend for take in found.wanted for bend in take.note.bends]
    written_bends = [bend for take in found.written for bend in take.note.bends]
    curls = Found(curls_right, sum(map(is_curl, wanted_bends)), sum(map(is_curl, written_bends)))
    return Found(right, len(wanted_bends), len(written_bends)), curls, Spread(tuple(sizes))


def _slides(found: _Paired) -> Found:
    right = sum(
        a.note.slide is not None and b.note.slide is not None and same_slide(a.note.slide, b.note.slide)
        for a, b in found.couples
    )
    return Found(right, *(sum(take.note.slide is not None for take in side) for side in (found.wanted, found.written)))


def _legato(found: _Paired) -> Found:
    right = sum(a.note.attack in LEGATO and a.note.attack == b.note.attack for a, b in found.couples)
    return Found(right, *(sum(take.note.attack in LEGATO for take in side) for side in (found.wanted, found.written)))


def _attacks(couples: Couples) -> Share:
    judged = [(a.note.attack, b.note.attack) for a, b in couples if a.note.attack != "unknown"]
    return Share(sum(a == b for a, b in judged), len(judged))


def _vibrato(found: _Paired) -> Found:
    right = sum(
        a.note.vibrato is not None and b.note.vibrato is not None and same_vibrato(a.note.vibrato, b.note.vibrato)
        for a, b in found.couples
    )
    return Found(
        right, *(sum(take.note.vibrato is not None for take in side) for side in (found.wanted, found.written))
    )


def _palm_mutes(found: _Paired) -> Found:
    right = sum(a.note.mute == b.note.mute == "palm" for a, b in found.couples)
    return Found(right, *(sum(take.note.mute == "palm" for take in side) for side in (found.wanted, found.written)))


def _dead_notes(reference: TakeDocument, draft: TakeDocument) -> Found:
    wanted, written = (
        [take.note.onset_s for take in document.notes if take.note.mute == "dead"] for document in (reference, draft)
    )
    return Found(len(match_onsets(wanted, written)), len(wanted), len(written))


def _strings(couples: Couples) -> Share:
    judged = [(a.placement, b.placement) for a, b in couples if a.placement is not None]
    return Share(sum(b is not None and (a.string, a.fret) == (b.string, b.fret) for a, b in judged), len(judged))


def _fingers(couples: Couples) -> Share:
    judged = [
        (a.placement.finger, b.placement.finger)
        for a, b in couples
        if a.placement is not None
        and b.placement is not None
        and a.placement.finger is not None
        and (a.placement.string, a.placement.fret) == (b.placement.string, b.placement.fret)
    ]
    return Share(sum(a == b for a, b in judged), len(judged))


def _rhythm(couples: Couples) -> Share:
    judged = [(a.timing, b.timing) for a, b in couples if a.timing is not None]
    return Share(sum(a == b for a, b in judged), len(judged))


def _tempo(reference: TakeDocument, draft: TakeDocument) -> Share:
    if reference.rhythm is None or draft.rhythm is None:
        return Share(0, 0 if reference.rhythm is None else 1)
    away = abs(draft.rhythm.tempo_bpm - reference.rhythm.tempo_bpm)
    return Share(int(away <= TEMPO_WINDOW * reference.rhythm.tempo_bpm), 1)
