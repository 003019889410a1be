"""Bends over the notation staff, where no tab staff carries them: the same arrows, from the head up."""

from __future__ import annotations

from transcribe.write.engraver.bends import AIR_OVER, LABEL_RISE, bend_label
from transcribe.write.engraver.canvas import Canvas
from transcribe.write.engraver.curves import arrow_head, bow_down, bow_up, dashed
from transcribe.write.engraver.frame import Frame
from transcribe.write.engraver.links import HeadAt
from transcribe.write.engraver.measures import BEND_BESIDE, BEND_RUN, BEND_STEP
from transcribe.write.engraver.sheet import Sheet

TIP = -14.0  # how high an arrow reaches over the staff at least
LET_DOWN = 20.0  # how far a release comes down from the tip at most
ABOVE_HEAD = 7.0


def notation_bend_room(head: HeadAt, half: float) -> float:
    """Return how far to the right of its slot a head with its bends reaches."""
    bends = head.take.note.bends
    if not bends or head.head.note.tied_from:
        return half
    label = max(bend_label(bend.target_cents).width for bend in bends) / 2
    start = 0.0 if bends[0].kind == "pre-bend" else half + 1.0 + BEND_RUN
    return max(half, start + BEND_STEP * (len(bends) - 1) + label)


def draw_notation_bends(canvas: Canvas, frame: Frame, sheet: Sheet) -> None:
    """Draw the bends of every note that starts in this system."""
    beside: dict[int, int] = {}
    for head in reversed(sheet.links.heads):
        if not frame.holds(head.slot) or head.head.note.tied_from or not head.take.note.bends:
            continue
        count = beside.get(head.slot.number, 0)
        beside[head.slot.number] = count + 1
        _draw(canvas, frame, sheet, head, BEND_BESIDE * count)


def _draw(canvas: Canvas, frame: Frame, sheet: Sheet, head: HeadAt, shift: float) -> None:
    art = sheet.art.cells[head.slot.number, head.cell.voice]
    middle = frame.x_of(head.slot)
    y = art.ys[head.index]
    x, raised = middle + art.right + 1.0, False
    tip = TIP
    for place, bend in enumerate(head.take.note.bends):
        if bend.kind == "release":
            start = (x + 2.0, tip)
            x += BEND_STEP
            down = min(start[1] + LET_DOWN, -2.0)
            bow_down(canvas, start, (x, down))
            raised = False
            if bend.target_cents >= 25:
                canvas.words(bend_label(bend.target_cents), x + 4.0, down, anchor="start")
            continue
        straight = bend.kind == "pre-bend" and place == 0
        left = middle if straight else x
        x = middle if straight else x + (BEND_STEP if place else BEND_RUN + shift)
        tip = min(TIP, canvas.top_over(x - 9.0, x + 9.0) - AIR_OVER)
        if straight:
            base = min(y - ABOVE_HEAD, canvas.top_over(x - 2.0, x + 2.0) - 1.5)
            tip = min(tip, base - 14.0)
            canvas.stroke("bend", f"M{x:.2f} {base:.2f}L{x:.2f} {tip + 6:.2f}", [(x, base), (x, tip + 6.0)])
            arrow_head(canvas, (x, tip), up=True)
        else:
            bow_up(canvas, (left, min(tip + 16.0, -2.0) if place else y), (x, tip))
        canvas.words(bend_label(bend.target_cents), x, tip - LABEL_RISE)
        raised = True
    _hold(canvas, frame, sheet, head, x, tip, raised)


def _hold(canvas: Canvas, frame: Frame, sheet: Sheet, head: HeadAt, x: float, tip: float, raised: bool) -> None:
    """A dashed line while the bend is held under later notes."""
    end = frame.x_at(*sheet.links.of_note[head.take.id][-1].end) - 6.0
    later = any(slot.number > head.slot.number and frame.x_of(slot) < end for slot in frame.slots)
    if raised and later and end - x > 16.0:
        dashed(canvas, "bend", (x + 6.0, tip), (end, tip), hook=4.0)
