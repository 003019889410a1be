"""The score's doubts in words for paper, sorted into what to check and what to take care with."""

from __future__ import annotations

import re
from dataclasses import replace

from transcribe.notes.note import Doubt
from transcribe.score.places import places_of
from transcribe.score.remarks import Remark, caution_remarks, doubt_remarks, is_caution
from transcribe.score.score import Score
from transcribe.write.sheet_text import plain

OF_THE_COMMAND_LINE = re.compile(r"; --[a-z].*$")  # what drafts of earlier versions named there: no word for paper


def doubts_of(score: Score) -> tuple[Remark, ...]:
    """Return what to look at first: the take's own doubts, then places in the order of the music."""
    return doubt_remarks(_for_paper(score), places_of(score))


def cautions_of(score: Score) -> tuple[Remark, ...]:
    """Return where the hands should take care, without the advice that goes with all of them."""
    return caution_remarks(_for_paper(score), places_of(score))


def without_cautions(score: Score) -> Score:
    """Return the score with its doubts alone: a caution is no reason to mark a note as doubtful."""
    return replace(score, doubts=tuple(doubt for doubt in score.doubts if not is_caution(doubt)))


def _for_paper(score: Score) -> list[Doubt]:
    return [replace(doubt, why=OF_THE_COMMAND_LINE.sub("", plain(doubt.why))) for doubt in score.doubts]
