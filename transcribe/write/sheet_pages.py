"""Blocks to pages: where pages break, and where each block stands."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import inf

from transcribe.write.sheet_blocks import Block

# Costs of a page, in units of an empty page squared; choices of ours, tried on sheets of one to nine pages.
LONE_SYSTEM = 0.6  # a last page with one system and nothing else
FORCED = 100.0  # a page that must break what should stay together, because it does not fit
MOST_SPREAD = 1.6  # gaps between systems grow to this at most


@dataclass(frozen=True, slots=True)
class Placed:
    """A block and where its top stands, from the top of the space between the margins."""

    block: Block
    y: float


def in_pages(blocks: Sequence[Block], room: float, room_later: float) -> list[list[Placed]]:
    """Return the blocks of each page, placed; ``room`` is the height of page 1, ``room_later`` of the others.

    The breaks are those that leave the least white on all pages but the last together (Knuth and Plass, "Breaking
    Paragraphs into Lines", Software: Practice and Experience 11, 1981, for lines; the same holds for pages).
    """
    cuts = _cuts(blocks, room, room_later)
    pages = []
    for number, (start, end) in enumerate(pairwise(cuts)):
        height = room_later if number else room
        is_last = end == len(blocks)
        pages.append(placed(blocks[start:end], height, spread=not is_last))
    return pages


def placed(blocks: Sequence[Block], room: float, *, spread: bool = False) -> list[Placed]:
    """Return blocks one under the other; ``spread`` shares what room is left among the gaps above systems."""
    spare = room - stacked(blocks)
    gaps = [block.gap for block in blocks[1:] if block.kind == "system"]
    stretch = min(MOST_SPREAD, 1 + spare / sum(gaps)) if spread and spare > 0 and sum(gaps) > 0 else 1.0
    y, found = 0.0, []
    for k, block in enumerate(blocks):
        if k:
            y += block.gap * (stretch if block.kind == "system" else 1.0)
        found.append(Placed(block, y))
        y += block.height
    return found


def stacked(blocks: Sequence[Block]) -> float:
    """Return the height of blocks one under the other; the first has no white above it."""
    return sum(block.height for block in blocks) + sum(block.gap for block in blocks[1:])


def _cuts(blocks: Sequence[Block], room: float, room_later: float) -> list[int]:
    """Return the indices where pages begin, and the end."""
    end = len(blocks)
    best: dict[tuple[int, bool], tuple[float, list[int]]] = {(0, True): (0.0, [0])}
    for start in range(end):
        for is_first in (True, False):
            if (start, is_first) not in best:
                continue
            cost, cuts = best[(start, is_first)]
            height = room if is_first else room_later
            for stop, page_cost in _page_ends(blocks, start, height):
                total = cost + page_cost
                if total < best.get((stop, False), (inf, []))[0]:
                    best[(stop, False)] = (total, [*cuts, stop])
    return best[(end, False)][1] if end else [0]


def _page_ends(blocks: Sequence[Block], start: int, room: float) -> list[tuple[int, float]]:
    """Return where a page that begins with block ``start`` may end, and what it costs."""
    found: list[tuple[int, float]] = []
    forced: tuple[int, float] | None = None
    used = 0.0
    for stop in range(start + 1, len(blocks) + 1):
        block = blocks[stop - 1]
        used += block.height + (block.gap if stop - 1 > start else 0.0)
        if used > room and stop - 1 > start:
            break
        white = max(0.0, 1 - used / room)
        if stop == len(blocks):
            lone = start > 0 and stop - start == 1 and block.kind == "system"
            found.append((stop, LONE_SYSTEM if lone else 0.0))
        elif block.stays_with_next:
            forced = (stop, FORCED + white * white)
        else:
            found.append((stop, white * white))
    return found or [forced or (start + 1, FORCED)]
