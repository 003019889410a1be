"""Stretches played one way: palm mute and let ring, as words and a dashed line to where they end."""

from __future__ import annotations

from transcribe.score.octaves import octave_stretches
from transcribe.score.score import TechniqueSpan
from transcribe.write.engraver.canvas import Canvas, Words
from transcribe.write.engraver.curves import dashed
from transcribe.write.engraver.frame import Frame
from transcribe.write.engraver.measures import LABEL_SIZE, ROW_GAP
from transcribe.write.engraver.sheet import Sheet
from transcribe.write.fonts import SERIF, SERIF_ITALIC

WORDS = {"palm mute": Words("P.M.", LABEL_SIZE, SERIF), "let ring": Words("let ring", LABEL_SIZE, SERIF_ITALIC)}
HOOK = 5.0
LEAST_DASHES = 12.0
OCTAVE, OCTAVE_ON = Words("8va", LABEL_SIZE + 2.0, SERIF_ITALIC), Words("(8va)", LABEL_SIZE + 2.0, SERIF_ITALIC)
BEFORE_HEAD, AFTER_HEAD = 7.0, 9.0  # from the middle of the heads at its ends to the ends of an octave line


def draw_spans(canvas: Canvas, frame: Frame, sheet: Sheet) -> None:
    """Draw the spans that touch this system over the staff, each kind on one level."""
    for kind in WORDS:
        found = [span for span in sheet.score.spans if span.kind == kind]
        ranges = [ends for span in found if (ends := _range(span, frame, sheet)) is not None]
        if not ranges:
            continue
        baseline = min(
            min(-6.0, canvas.top_over(left - 3.0, max(right, left + WORDS[kind].width) + 3.0) - ROW_GAP)
            for left, right in ranges
        )
        for left, right in ranges:
            box = canvas.words(WORDS[kind], left, baseline, anchor="start", kind="span")
            if right - box.right >= LEAST_DASHES:
                y = baseline - LABEL_SIZE * 0.3
                dashed(canvas, "span", (box.right + 3.0, y), (right, y), hook=HOOK)


def draw_octaves(canvas: Canvas, frame: Frame, sheet: Sheet) -> None:
    """Draw 8va with its line over what is written an octave lower; on a line of music that goes on with it, again."""
    for stretch in octave_stretches(sheet.score.bars):
        under = [
            slot
            for slot in frame.slots
            if any(cell.heads for cell in slot.cells) and stretch.holds(slot.bar, slot.beat)
        ]
        if not under:
            continue
        goes_on = (under[0].bar, under[0].beat) != stretch.start
        words = OCTAVE_ON if goes_on else OCTAVE
        left, right = frame.x_of(under[0]) - BEFORE_HEAD, frame.x_of(under[-1]) + AFTER_HEAD
        baseline = min(-6.0, canvas.top_over(left - 3.0, max(right, left + words.width) + 3.0) - ROW_GAP)
        box = canvas.words(words, left, baseline, anchor="start", kind="span")
        if right - box.right >= LEAST_DASHES:
            ends_here = (under[-1].bar, under[-1].beat) == stretch.end
            y = baseline - LABEL_SIZE * 0.5
            dashed(canvas, "span", (box.right + 3.0, y), (right, y), hook=HOOK if ends_here else 0.0)


def _range(span: TechniqueSpan, frame: Frame, sheet: Sheet) -> tuple[float, float] | None:
    """Left and right end of a span in this system; None when it is elsewhere."""
    index_of = {plan.bar.number: place for place, plan in enumerate(sheet.plans)}
    if span.start_bar not in index_of or span.end_bar not in index_of:
        return None
    start, end = index_of[span.start_bar], index_of[span.end_bar]
    last = frame.first_index + len(frame.plans) - 1
    if end < frame.first_index or start > last or (end == frame.first_index and span.end_beat <= 0):
        return None
    left = frame.x_at(start, span.start_beat) - 5.0 if start >= frame.first_index else frame.edges[0] + 2.0
    right = frame.x_at(end, span.end_beat) if end <= last else frame.edges[-1]
    return left, right - 7.0
