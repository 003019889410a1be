"""The pitch of each bent note drawn against its target: did the bend reach pitch?"""

from __future__ import annotations

from collections.abc import Sequence

from transcribe.errors import ScoreError
from transcribe.write.bend_panel import BendPanel, BentNote
from transcribe.write.bend_style import (
    BAND,
    HELD,
    INK,
    MARGIN,
    PANEL_GAP,
    PITCH,
    SMALL_SIZE,
    SOFT_INK,
    TARGET,
    TITLE_SIZE,
    WIDTH,
    circle,
    diamond,
)  # fmt: skip
from transcribe.write.fonts import text_width
from transcribe.write.svg import document, element, text


def bend_picture(bent_notes: Sequence[BentNote], *, title: str) -> str:
    """Return an SVG: one panel a bent note, its pitch in cents above the fretted note against time in seconds.

    The dashed line is the target with its tolerance as a band; the thick stretch is the pitch held, as measured.
    Raises ScoreError when there is nothing to draw.
    """
    if not bent_notes:
        raise ScoreError("there is no bend to draw", "Choose a take with a bend in it.")
    y = MARGIN + TITLE_SIZE
    body = [text(title, MARGIN, y, size=TITLE_SIZE + 2, fill=INK)]
    y += 14
    body.append(_legend(y + 12))
    y += 12 + PANEL_GAP
    for index, bent in enumerate(bent_notes):
        panel = BendPanel(bent, y, f"plot{index + 1}")
        body.append(panel.drawn())
        y = panel.bottom + PANEL_GAP
    spoken = " ".join(f"{b.place}: {'; '.join(m.verdict for m in b.measures)}." for b in bent_notes)
    background = element("rect", x=0, y=0, width=WIDTH, height=y, fill="#ffffff")
    return document(WIDTH, y, title, spoken, background, *body)


def _legend(y: float) -> str:
    x, parts = MARGIN, []
    samples = [
        ("sounding pitch", element("line", x1=0, y1=0, x2=28, y2=0, stroke=PITCH, stroke_width=2)),
        ("target", element("line", x1=0, y1=0, x2=28, y2=0, stroke=TARGET, stroke_width=2, stroke_dasharray="7 4")),
        ("in tune", element("rect", x=0, y=-6, width=28, height=12, fill=BAND)),
        ("pitch held", element("line", x1=0, y1=0, x2=28, y2=0, stroke=HELD, stroke_width=6)),
        ("starts", circle(14, 0)),
        ("arrives", diamond(14, 0)),
    ]
    for words, sample in samples:
        parts.append(element("g", sample, transform=f"translate({x:g} {y - 4:g})"))
        parts.append(text(words, x + 36, y, size=SMALL_SIZE, fill=SOFT_INK))
        x += 36 + text_width(words, SMALL_SIZE) + 24
    return element("g", *parts)
