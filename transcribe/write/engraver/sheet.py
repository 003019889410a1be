"""Sheet: all that the drawing of any system needs to know about the whole score."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field

from transcribe.score.score import Score
from transcribe.write.engraver.art import Art
from transcribe.write.engraver.links import HeadAt, Links
from transcribe.write.engraver.options import EngraveOptions
from transcribe.write.engraver.plan import BarPlan


@dataclass(frozen=True, slots=True)
class Sheet:
    """A score with its plan, outlines and links."""

    score: Score
    options: EngraveOptions
    plans: tuple[BarPlan, ...]
    art: Art
    links: Links
    titles: Mapping[str, str]  # what a screen reader says of each note, by id
    doubted: frozenset[str]  # ids of notes to mark; none on a final sheet
    _names: dict[str, int] = field(default_factory=dict)

    @property
    def has_notation(self) -> bool:
        """Whether the notation staff is shown."""
        return self.options.staves != "tab"

    @property
    def has_tab(self) -> bool:
        """Whether the tab staff is shown."""
        return self.options.staves != "notation"

    def shows(self, line: str) -> bool:
        """Whether an extra line was asked for."""
        return line in self.options.extra_lines

    def name(self, head: HeadAt, staff: str) -> str:
        """Return an id for one head on one staff, unique in the sheet: the note's id, then -tab, then a count."""
        base = self.options.id_prefix + safe_id(head.take.id) + ("-tab" if staff == "tab" else "")
        count = self._names.get(base, 0) + 1
        self._names[base] = count
        return base if count == 1 else self._another(base, count)

    def _another(self, base: str, count: int) -> str:
        name = f"{base}-{count}"
        while name in self._names:  # a note may itself be called n1-2
            count += 1
            name = f"{base}-{count}"
        self._names[name] = 1
        return name


def safe_id(text: str) -> str:
    """Return a note's id as an XML id: letters, figures, dots and dashes; others as their code points.

    >>> safe_id("n12"), safe_id("a b")
    ('n12', 'a_20_b')
    """
    safe = re.sub(r"[^A-Za-z0-9.-]", lambda match: f"_{ord(match.group()):x}_", text)
    return safe if safe[:1].isalpha() else f"note{safe}"
