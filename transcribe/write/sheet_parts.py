"""The parts of a sheet as blocks: heading, diagrams, music, paragraph, remarks, signs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fingering.cautions import ADVICE
from transcribe.harmony.key import Key
from transcribe.score.remarks import Remark
from transcribe.score.score import Score
from transcribe.write.diagram_picture import above, diagram_height, diagram_picture, diagram_width
from transcribe.write.diagrams import Diagram
from transcribe.write.engraver.system import LegendEntry, System
from transcribe.write.sheet_blocks import ASCENT, LEADING, Block, kept_together, words_blocks
from transcribe.write.sheet_options import SheetOptions
from transcribe.write.sheet_text import SERIF_BOLD, line, pretty, wrapped
from transcribe.write.sheet_theme import Theme
from transcribe.write.svg import element

TITLE, LONG_TITLE, HEADING, TEXT, SMALL = 22.0, 16.0, 11.5, 10.5, 9.0  # sizes of type at usual print, in points
LONGEST_TITLE = 2  # lines before the title is set smaller
PART_GAP, SYSTEM_GAP, ROW_GAP, HEADING_GAP = 18.0, 20.0, 7.0, 4.0
BAR_INDENT = 9.0
MOST_COLUMNS, COLUMN_GAP, SIGN_AIR = 3, 14.0, 8.0  # of the legend
DIAGRAM_GAP = 16.0


class PartWriter:
    """Makes the blocks of a sheet in one theme and size."""

    def __init__(self, options: SheetOptions, theme: Theme) -> None:
        self._options, self._theme, self._scale = options, theme, options.text_scale

    def heading(self, score: Score, title: str, take: str | None) -> list[Block]:
        """Return the title, and under it the key, the backing and the name of the take."""
        room = self._options.text_width
        size = TITLE * min(self._scale, 1.25)
        if len(wrapped(title, size, room, SERIF_BOLD)) > LONGEST_TITLE:
            size = LONG_TITLE * min(self._scale, 1.25)
        blocks = words_blocks(title, room, size=size, fill=self._theme.ink, face=SERIF_BOLD)
        blocks = [replace(block, kind="title") for block in blocks]
        facts = " · ".join(self._facts(score, title, take))
        blocks += words_blocks(facts, room, size=TEXT * self._scale, fill=self._theme.soft_ink, gap=2.0)
        return kept_together(blocks, least=len(blocks) + 1)

    def _facts(self, score: Score, title: str, take: str | None) -> list[str]:
        facts = [] if self._options.final else ["Draft"]
        if score.key is not None:
            sure = "" if self._options.final or score.key.source == "given" else " (estimated)"
            facts.append(f"key {key_words(score.key)}{sure}")
        if score.vamp:
            facts.append(f"backing on {pretty(score.vamp)}")
        if take and take != title:
            facts.append(f"take: {take}")
        if facts:
            facts[0] = facts[0][0].upper() + facts[0][1:]
        return facts

    def diagrams(self, diagrams: Sequence[Diagram]) -> list[Block]:
        """Return rows of diagrams, as many side by side as fit."""
        rows: list[list[Diagram]] = []
        used = 0.0
        for diagram in diagrams:
            width = diagram_width(diagram, self._scale) + DIAGRAM_GAP
            if not rows or used + width > self._options.text_width + DIAGRAM_GAP:
                rows.append([])
                used = 0.0
            rows[-1].append(diagram)
            used += width
        return [self._diagram_row(row, gap=PART_GAP * 0.7 if not k else ROW_GAP) for k, row in enumerate(rows)]

    def _diagram_row(self, row: Sequence[Diagram], *, gap: float) -> Block:
        x, parts, top = 0.0, [], max(above(diagram) for diagram in row)
        for diagram in row:
            picture = diagram_picture(diagram, self._theme, self._scale, top=top)
            parts.append(element("g", picture, transform=f"translate({x:.2f} 0)"))
            x += diagram_width(diagram, self._scale) + DIAGRAM_GAP
        height = max(diagram_height(diagram, self._scale, top=top) for diagram in row)
        return Block("".join(parts), height, "diagrams", gap=gap, stays_with_next=True)

    def music(self, systems: Sequence[System], most_height: float) -> list[Block]:
        """Return one block a system; one that is higher than a page is set smaller."""
        blocks = []
        for k, system in enumerate(systems):
            scale = min(self._options.unit, most_height / system.height)
            body = element("g", system.svg(self._theme.palette), transform=f"scale({scale:.5f})")
            blocks.append(Block(body, system.height * scale, "system", gap=PART_GAP * 0.8 if not k else SYSTEM_GAP))
        return blocks

    def about(self, words: str) -> list[Block]:
        """Return the paragraph on what the lick does; empty lines in it part paragraphs."""
        blocks = []
        for k, paragraph in enumerate(part for part in words.replace("\r\n", "\n").split("\n\n") if part.strip()):
            blocks += words_blocks(
                paragraph, self._options.text_width, size=TEXT * self._scale, fill=self._theme.ink,
                gap=HEADING_GAP * (1 if not k else 1.5),
            )  # fmt: skip
        return self._under("What happens here", blocks)

    def doubts(self, remarks: Sequence[Remark]) -> list[Block]:
        """Return the list of places to look at first."""
        return self._under("Look first at", self._list(remarks, self._theme.accent))

    def cautions(self, remarks: Sequence[Remark]) -> list[Block]:
        """Return where the hands should take care, with the usual advice."""
        blocks = self._list([*remarks, Remark("", ADVICE)], self._theme.ink)
        return self._under("Take care of your hands", kept_together(blocks, least=3))

    def legend(self, entries: Sequence[LegendEntry]) -> list[Block]:
        """Return the signs of this sheet in columns, each with what it means."""
        if not entries:
            return []
        scale, size = self._options.unit, SMALL * self._scale
        picture = max(entry.width for entry in entries) * scale + SIGN_AIR
        choices = []
        for columns in range(1, MOST_COLUMNS + 1):
            column = (self._options.text_width + COLUMN_GAP) / columns
            rows = [entries[k : k + columns] for k in range(0, len(entries), columns)]
            choices.append([self._sign_row(row, column, picture, scale, size) for row in rows])
        blocks = min(choices, key=lambda rows: sum(row.height + row.gap for row in rows))
        return self._under("Signs on this sheet", kept_together(blocks, least=2))

    def _sign_row(self, row: Sequence[LegendEntry], column: float, picture: float, scale: float, size: float) -> Block:
        texts = [wrapped(pretty(entry.words), size, column - picture - COLUMN_GAP) for entry in row]
        height = max(
            max(entry.height * scale, len(lines) * size * LEADING) for entry, lines in zip(row, texts, strict=True)
        )
        parts = []
        for k, (entry, lines) in enumerate(zip(row, texts, strict=True)):
            x = k * column
            top = (height - entry.height * scale) / 2
            sign = element(
                "g", entry.svg(self._theme.palette), transform=f"translate({x:.2f} {top:.2f}) scale({scale:.5f})"
            )
            parts.append(sign)
            first = (height - len(lines) * size * LEADING) / 2 + size * ASCENT
            parts += [
                line(text, x + picture, first + n * size * LEADING, size=size, fill=self._theme.ink)
                for n, text in enumerate(lines)
            ]
        return Block("".join(parts), height, "sign", gap=ROW_GAP * 0.5)

    def _list(self, remarks: Sequence[Remark], bar: str) -> list[Block]:
        blocks: list[Block] = []
        for k, remark in enumerate(remarks):
            blocks += words_blocks(
                pretty(remark.words), self._options.text_width, size=TEXT * self._scale, fill=self._theme.ink,
                gap=HEADING_GAP if not k else 3.0, indent=BAR_INDENT, bar=bar,
            )  # fmt: skip
        return kept_together(blocks, least=2)

    def _under(self, heading: str, blocks: list[Block]) -> list[Block]:
        """Return blocks under a heading that stays with them."""
        if not blocks:
            return []
        size = HEADING * self._scale
        words = line(heading, 0, size * ASCENT, size=size, fill=self._theme.ink, face=SERIF_BOLD)
        return [Block(words, size * LEADING, "heading", gap=PART_GAP, stays_with_next=True), *blocks]


def key_words(key: Key) -> str:
    """Return a key as it is printed: ``B♭ major``."""
    return f"{pretty(key.tonic)} {key.mode}"
