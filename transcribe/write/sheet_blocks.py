"""Block: one thing that stands on a page and is never split, and the few ways to make blocks of words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from transcribe.write.fonts import Face
from transcribe.write.sheet_text import SERIF, line, wrapped
from transcribe.write.svg import element

BlockKind = Literal["words", "diagrams", "system", "sign", "heading", "title"]

ASCENT, LEADING = 0.98, 1.36  # of the size of the type: first baseline under the top, one baseline to the next
BAR = 1.6  # points


@dataclass(frozen=True, slots=True)
class Block:
    """SVG with its top left corner at 0, 0, as wide as the space between the margins; lengths in points."""

    body: str
    height: float
    kind: BlockKind = "words"
    gap: float = 0.0  # white above it, left out at the top of a page
    continues: bool = False  # the paragraph of the block before it
    stays_with_next: bool = False  # no page ends between this and the next block


def words_blocks(
    words: str,
    room: float,
    *,
    size: float,
    fill: str,
    gap: float = 0.0,
    face: Face = SERIF,
    indent: float = 0.0,
    bar: str | None = None,
) -> list[Block]:
    """Return a paragraph as one block a line, so that it may go over to the next page, but never a line of it alone.

    ``bar`` is the colour of an upright bar along its left side, which sets words apart from the rest.
    """
    lines = wrapped(words, size, room - indent, face)
    side = element("rect", x=0, y=0, width=BAR, height=size * LEADING, fill=bar) if bar else ""
    blocks = [
        Block(
            side + line(text, indent, size * ASCENT, size=size, fill=fill, face=face),
            size * LEADING,
            gap=gap if not k else 0.0,
            continues=k > 0,
        )
        for k, text in enumerate(lines)
    ]
    return kept_together(blocks, least=2)


def kept_together(blocks: Sequence[Block], *, least: int) -> list[Block]:
    """Return blocks of which no fewer than ``least`` stand at the foot or at the head of a page."""
    last = len(blocks) - 1
    return [
        replace(block, stays_with_next=block.stays_with_next or k < min(least - 1, last) or last - least < k < last)
        for k, block in enumerate(blocks)
    ]
