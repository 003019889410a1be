"""Score to systems: the engraver's table of contents."""

from __future__ import annotations

from collections.abc import Sequence

from transcribe.score.score import Score
from transcribe.write.engraver.art import draw_art
from transcribe.write.engraver.layout import Rows, lay_out
from transcribe.write.engraver.links import Links, find_links
from transcribe.write.engraver.options import EngraveOptions
from transcribe.write.engraver.plan import Slot, plan_bars
from transcribe.write.engraver.rows import RowName, row_texts
from transcribe.write.engraver.sheet import Sheet
from transcribe.write.engraver.staves import draw_system
from transcribe.write.engraver.system import System
from transcribe.write.engraver.titles import note_title


def engrave(score: Score, options: EngraveOptions | None = None) -> tuple[System, ...]:
    """Return the lines of music of a score, as wide as asked; the last one may be shorter.

    Raises MissingExtraError when the JavaScript runtime is not installed, WriteError when the notation library fails.
    """
    sheet = _sheet(score, options or EngraveOptions())
    slots = [slot for plan in sheet.plans for slot in plan.slots]
    rows = _rows(sheet, slots)
    return tuple(draw_system(frame, sheet, rows) for frame in lay_out(sheet, rows))


def _sheet(score: Score, options: EngraveOptions) -> Sheet:
    plans = plan_bars(score)
    links = find_links(plans)
    doubts = {doubt.note: doubt.why for doubt in score.doubts if doubt.note is not None and not options.final}
    return Sheet(
        score=score,
        options=options,
        plans=plans,
        art=draw_art(plans, score.fifths, score.meter),
        links=links,
        titles=_titles(links, score, doubts),
        doubted=frozenset(doubts) & frozenset(links.of_note),
    )


def _titles(links: Links, score: Score, doubts: dict[str, str]) -> dict[str, str]:
    return {name: note_title(heads[0], score, doubts.get(name)) for name, heads in links.of_note.items()}


def _rows(sheet: Sheet, slots: Sequence[Slot]) -> Rows:
    """All rows of text that this sheet shows. Fingers stand beside the heads where there is a notation staff."""
    names: list[RowName] = []
    if sheet.shows("chords"):
        names.append("chords")
    if sheet.shows("degrees"):
        names += ["degrees", "roles"]
    wanted: tuple[RowName, ...] = ("tones", "positions", "strokes")
    names += [name for name in wanted if sheet.shows(name)]
    if sheet.shows("fingers") and not sheet.has_notation:
        names.append("fingers")
    names.append("harmonics")
    if sheet.has_tab:
        names.append("unplaced")
    return {name: texts for name in names if (texts := row_texts(name, slots, sheet.score))}
