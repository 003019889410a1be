"""Whether the doubts of a draft stand where it is wrong."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from transcribe.document.model import TakeDocument, TakeNote
from transcribe.evaluate.gestures import match_bends, same_slide
from transcribe.evaluate.scores import Caught
from transcribe.notes.doubts import ATTACK, GESTURE, NOTE

Couples = Sequence[tuple[TakeNote, TakeNote]]  # reference, draft

# A doubt that does not say what it is about may be of another program: it is taken as one about the note.
ABOUT_NOTES = (NOTE, None)


def marked_notes(draft: TakeDocument, about: Collection[str | None]) -> set[str]:
    """Return ids of the notes that a doubt about one of these things names."""
    return {doubt.note for doubt in draft.doubts if doubt.note is not None and doubt.about in about}


def note_doubts(draft: TakeDocument, written: Sequence[TakeNote], couples: Couples) -> Caught:
    """Return how many of the notes that pair with nothing are doubted, and how many of those that pair."""
    marked, paired = marked_notes(draft, ABOUT_NOTES), {heard.id for _, heard in couples}
    return _caught([(take.id in paired, take.id in marked) for take in written])


def attack_doubts(draft: TakeDocument, couples: Couples) -> Caught:
    """Return the same for how the paired notes were begun, by doubts about the attack or the note."""
    marked = marked_notes(draft, (ATTACK, *ABOUT_NOTES))
    judged = [(a, b) for a, b in couples if a.note.attack != "unknown"]
    return _caught([(a.note.attack == b.note.attack, b.id in marked) for a, b in judged])


def gesture_doubts(draft: TakeDocument, couples: Couples) -> Caught:
    """Return the same for paired notes written with a bend or slide: right when all of them were played so."""
    marked = marked_notes(draft, (GESTURE, *ABOUT_NOTES))
    moving = [(a, b) for a, b in couples if b.note.bends or b.note.slide is not None]
    return _caught([(_as_played(a, b), b.id in marked) for a, b in moving])


def _as_played(wanted: TakeNote, heard: TakeNote) -> bool:
    bends = len(match_bends(wanted.note.bends, heard.note.bends)) == len(heard.note.bends)
    slide, played = heard.note.slide, wanted.note.slide
    return bends and (slide is None or (played is not None and same_slide(played, slide)))


def _caught(judged: Sequence[tuple[bool, bool]]) -> Caught:
    return Caught(
        wrong=sum(not right for right, _ in judged),
        caught=sum(marked and not right for right, marked in judged),
        right=sum(right for right, _ in judged),
        marked=sum(marked and right for right, marked in judged),
    )
