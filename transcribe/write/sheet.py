"""A take's score as a sheet to hand out: pages for paper, and one tall picture for screens."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from transcribe.document.model import TakeDocument
from transcribe.errors import SettingsError
from transcribe.score.build import build_score
from transcribe.score.score import Score
from transcribe.write.diagrams import Diagram, diagrams_of
from transcribe.write.engraver.system import INK, LegendEntry, System
from transcribe.write.fonts import Face, with_more
from transcribe.write.fonts.other_scripts import faces_for
from transcribe.write.sheet_blocks import Block
from transcribe.write.sheet_options import SheetOptions
from transcribe.write.sheet_pages import Placed, in_pages, placed, stacked
from transcribe.write.sheet_parts import PartWriter, key_words
from transcribe.write.sheet_places import cautions_of, doubts_of, without_cautions
from transcribe.write.sheet_text import drawable, line, missing_signs, plain, pretty, shortened
from transcribe.write.sheet_theme import Theme, theme_named
from transcribe.write.svg import element

Progress = Callable[[str, float], None]  # stage in words, share of the sheet done (0 to 1)
TIGHTEST = 0.6  # of the usual white between blocks, when that saves a page
UNTITLED = "Untitled lick"
RUNNING_SIZE, RUNNING_STRIP = 9.0, 26.0  # words over later pages, and the height they take, in points
LARGEST_RUNNING = 1.33  # in large print they grow to 12 points at most, for they must stay out of the way


@dataclass(frozen=True, slots=True)
class Page:
    """One page, or the tall picture: SVG elements and their size, in points."""

    body: str
    width: float
    height: float


@dataclass(frozen=True, slots=True)
class Sheet:
    """A finished sheet; ``description`` says in words what is on it."""

    title: str
    description: str
    theme: Theme
    pages: tuple[Page, ...]
    tall: Page
    faces: tuple[Face, ...] = ()  # of other scripts, found on this machine or named, beside our own
    missing: str = ""  # signs of its words that none of our fonts has: left out of what is drawn


def sheet_of(document: TakeDocument, *, name: str, options: SheetOptions, progress: Progress | None = None) -> Sheet:
    """Return the sheet of a take. ``name`` is the take's; the title is made of it where none was chosen.

    Raises MissingExtraError when the music engine is not installed.
    """
    from transcribe.write.engraver.engrave import engrave
    from transcribe.write.engraver.legend import legend_of
    from transcribe.write.sheet_signs import sign_entries

    report = progress or (lambda stage, share: None)
    title = plain(options.title or "") or title_from(name)
    score = build_score(document, title=title)
    report("engraving", 0.1)
    asked, marked = options.engraving(), without_cautions(score)
    systems = engrave(marked, asked)
    entries = (*sign_entries(marked, asked), *legend_of(marked, asked))
    report("laying out pages", 0.8)
    diagrams = diagrams_of(score, document.shapes) if "diagrams" in options.show else ()
    take = Path(document.source.file).name if document.source is not None else None
    return compose(score, systems, entries, options, diagrams=diagrams, take=take)


def title_from(name: str) -> str:
    """Return a title from the name of a take.

    >>> title_from("monday_lick-2")
    'Monday lick 2'
    """
    words = plain(re.sub("[-_.]", " ", name)) or UNTITLED
    return words[0].upper() + words[1:]


def compose(
    score: Score,
    systems: Sequence[System],
    entries: Sequence[LegendEntry],
    options: SheetOptions,
    *,
    diagrams: Sequence[Diagram] = (),
    take: str | None = None,
) -> Sheet:
    """Return the pages of engraved music with everything around it. ``take`` is the name of the file heard.

    Raises SettingsError for a chosen title with signs that no font of this machine has.
    """
    spoken = [score.title, take or "", score.about or "", *(doubt.why for doubt in score.doubts)]
    faces = faces_for(missing_signs(spoken), font=options.font)
    with with_more(faces):
        if options.title and (lacking := missing_signs([options.title])):
            raise SettingsError(
                f"no font here has the signs {lacking} of the title",
                "Name a TrueType font that has them with --font, or give another --title.",
            )
        return _composed(score, systems, entries, options, diagrams, take, spoken, faces)


def _composed(
    score: Score,
    systems: Sequence[System],
    entries: Sequence[LegendEntry],
    options: SheetOptions,
    diagrams: Sequence[Diagram],
    take: str | None,
    spoken: Sequence[str],
    faces: tuple[Face, ...],
) -> Sheet:
    theme = theme_named(options.theme)
    blocks = _blocks(score, systems, entries, diagrams, options, theme, take)
    return Sheet(
        title=score.title,
        description=_description(score, diagrams),
        theme=theme,
        pages=_pages(blocks, drawable(score.title) or UNTITLED, options, theme),
        tall=_tall(blocks, options, theme),
        faces=faces,
        missing=missing_signs(spoken),
    )


def _blocks(
    score: Score,
    systems: Sequence[System],
    entries: Sequence[LegendEntry],
    diagrams: Sequence[Diagram],
    options: SheetOptions,
    theme: Theme,
    take: str | None,
) -> list[Block]:
    parts = PartWriter(options, theme)
    blocks = parts.heading(score, drawable(score.title) or UNTITLED, take)
    blocks += parts.diagrams(diagrams)
    blocks += parts.music(systems, _rooms(options)[1])
    if score.about and "about" in options.show:
        blocks += parts.about(pretty(score.about))
    cautions = cautions_of(score)
    if cautions:
        blocks += parts.cautions(cautions)
    doubts = () if options.final else doubts_of(score)
    if doubts:
        blocks += parts.doubts(doubts)
    if "legend" in options.show:
        blocks += parts.legend([*entries, *(_diagram_entries(diagrams))])
    return blocks


def _diagram_entries(diagrams: Sequence[Diagram]) -> list[LegendEntry]:
    """Return what the marks of the diagrams mean, as far as they are used."""
    dots = [dot for diagram in diagrams for dot in diagram.dots]

    def circle(filled: bool) -> str:
        return element("circle", cx=10, cy=10, r=7, fill=INK if filled else "none", stroke=INK, stroke_width=1.6)

    square = element("rect", x=3.5, y=3.5, width=13, height=13, fill=INK)
    found = [("root of the shape", square)] if any(dot.is_root for dot in dots) else []
    if any(not dot.played for dot in dots):
        found += [("played in this lick", circle(True)), ("part of the shape, not played", circle(False))]
    return [LegendEntry(body, 20, 20, words) for words, body in found]


def _rooms(options: SheetOptions) -> tuple[float, float]:
    """Return the height between the margins of the first page, and of the others under their running title."""
    height = options.page_size[1] - 2 * options.margin
    return height, height - RUNNING_STRIP


def _pages(blocks: Sequence[Block], title: str, options: SheetOptions, theme: Theme) -> tuple[Page, ...]:
    width, height = options.page_size
    filled = in_pages(blocks, *_rooms(options))
    tighter = in_pages([replace(block, gap=block.gap * TIGHTEST) for block in blocks], *_rooms(options))
    if len(tighter) < len(filled):
        filled = tighter
    pages = []
    for number, items in enumerate(filled, start=1):
        top = options.margin + (RUNNING_STRIP if number > 1 else 0.0)
        around = _around(title, number, len(filled), options, theme)
        pages.append(Page(around + _drawn(items, options.margin, top), width, height))
    return tuple(pages)


def _around(title: str, number: int, count: int, options: SheetOptions, theme: Theme) -> str:
    """Return the running title over a later page, and the page number under each when there are several."""
    if count == 1:
        return ""
    size = RUNNING_SIZE * min(options.text_scale, LARGEST_RUNNING)
    (width, height), margin = options.page_size, options.margin
    foot = line(
        f"{number} of {count}", width / 2, height - margin * 0.5, size=size, fill=theme.soft_ink,
        anchor="middle",
    )  # fmt: skip
    if number == 1:
        return foot
    words = shortened(title, size, options.text_width * 0.8)
    y = margin + size * 0.7
    rule = element("line", x1=margin, y1=y + 4, x2=width - margin, y2=y + 4, stroke=theme.soft_ink, stroke_width=0.5)
    return foot + line(words, margin, y, size=size, fill=theme.soft_ink) + rule


def _tall(blocks: Sequence[Block], options: SheetOptions, theme: Theme) -> Page:
    height = stacked(blocks) + 2 * options.margin
    return Page(_drawn(placed(blocks, 0.0), options.margin, options.margin), options.page_size[0], height)


def _drawn(items: Sequence[Placed], left: float, top: float) -> str:
    return "\n".join(
        element(
            "g",
            item.block.body,
            transform=f"translate({left:.2f} {top + item.y:.2f})",
            data_part="more" if item.block.continues else item.block.kind,
            data_height=f"{item.block.height:.2f}",
        )
        for item in items
    )


def _description(score: Score, diagrams: Sequence[Diagram]) -> str:
    """Return the sheet in words, for those who cannot see it."""
    heads = [
        head for bar in score.bars for voice in bar.voices for event in voice for head in event.notes
        if not head.tied_from
    ]  # fmt: skip
    bars = sum(1 for bar in score.bars if bar.number > 0)
    told = [
        "Guitar notation and tablature",
        f"{len(heads)} note{'' if len(heads) == 1 else 's'} in {bars} bar{'' if bars == 1 else 's'} of {score.meter}",
        f"{score.tempo_bpm:.0f} quarter notes a minute" + (", swung eighths" if score.swing else ""),
    ]
    if score.key is not None:
        told.append(f"key {key_words(score.key)}")
    if diagrams:
        told.append("shapes: " + ", ".join(f"{diagram.name} ({diagram.where})" for diagram in diagrams))
    words = "; ".join(told) + "."
    return f"{words} {plain(score.about)}" if score.about else words
