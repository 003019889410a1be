"""A score as text tab: a page a guitarist can read in a terminal, a mail or a text editor."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence
from dataclasses import replace
from fractions import Fraction

from fingering.cautions import ADVICE
from fingering.fretboard import STANDARD_OPEN_MIDI, tuning_name
from transcribe.rhythm.grid import pulse_beats
from transcribe.score.places import places_of
from transcribe.score.remarks import Remark, caution_remarks, doubt_remarks
from transcribe.score.score import Score
from transcribe.score.spelling import name_text, spell
from transcribe.score.split import single_value
from transcribe.write.tab_lines import Line, lines_of
from transcribe.write.tab_signs import MEANINGS
from transcribe.write.tab_stems import STEM_MEANINGS, value_name

NARROWEST = 24  # columns; a narrower page is written as wide as this


def text_tab(score: Score, *, width: int = 80) -> str:
    """Return the whole page: heading, lines of tab with their rhythm, a legend of the signs used, what is doubtful.

    Lines break at bar lines so that none is wider than ``width`` columns; a bar wider than that breaks at a beat.
    The text ends with a line end. Numbers above the strings count the bars.
    """
    width = max(width, NARROWEST)
    names = string_names(score.instrument.open_strings_midi)
    lines = lines_of(score, names, width)
    parts = [_heading(score, width)]
    parts += ["\n".join(line.rows) for line in lines]
    parts += [legend(lines, width), _doubts(score, width)]
    return "\n\n".join(part for part in parts if part) + "\n"


def string_names(open_midi: Sequence[int]) -> tuple[str, ...]:
    """Return the name of each string, highest first; the highest in small letters, as it is usually written.

    >>> string_names((64, 59, 55, 50, 45, 40))
    ('e', 'B', 'G', 'D', 'A', 'E')
    """
    names = [name_text(spelled) for spelled in spell(open_midi)]
    return (names[0].lower(), *names[1:])


def _heading(score: Score, width: int) -> str:
    facts = [str(score.meter), _tempo(score)]
    if score.swing:
        facts.append("swing: of two eighths the first is longer")
    if score.key is not None:
        sure = " (estimated)" if score.key.source == "estimated" else ""
        facts.append(f"key: {score.key.tonic} {score.key.mode}{sure}")
    open_midi = score.instrument.open_strings_midi
    if tuple(open_midi) != STANDARD_OPEN_MIDI:
        notes = " ".join(name_text(spelled) for spelled in spell(tuple(reversed(open_midi))))
        name = tuning_name(tuple(open_midi))
        facts.append(f"tuning: {name} ({notes})" if not name[-1].isdigit() else f"tuning: {notes}")
    if score.instrument.capo:
        facts.append(f"capo: fret {score.instrument.capo}")
    return "\n".join([*textwrap.wrap(_one_line(score.title), width), *_wrapped(facts, width)])


def _tempo(score: Score) -> str:
    """The tempo on the felt beat, as in ``quarter = 96``."""
    pulse = max(pulse_beats(score.meter), Fraction(1))
    value = single_value(pulse)
    assert value is not None
    known = "" if score.tempo_is_given else " (estimated)"
    return f"{value_name(value)} = {score.tempo_bpm / float(pulse):.0f}{known}"


def legend(lines: Sequence[Line], width: int) -> str:
    """Return what the signs in these lines mean, in rows no wider than ``width``; empty when they use none."""
    signs = {sign for line in lines for sign in line.signs}
    stems = {sign for line in lines for sign in line.stem_signs}
    tab = [f"{look}  {says}" for key, (look, says) in MEANINGS.items() if key in signs]
    rhythm = [f"{look}  {says}" for key, (look, says) in STEM_MEANINGS.items() if key in stems]
    return "\n".join([*_wrapped(tab, width), *_wrapped(rhythm, width)])


def _wrapped(items: Iterable[str], width: int, *, gap: str = "    ") -> list[str]:
    """Items side by side, broken between items where possible."""
    rows: list[str] = []
    for item in items:
        if rows and len(rows[-1]) + len(gap) + len(item) <= width:
            rows[-1] += gap + item
        else:
            rows += textwrap.wrap(item, width) or [""]
    return rows


def _doubts(score: Score, width: int) -> str:
    """What to listen to again, then where the hands should take care, with the advice for it once."""
    said = [replace(doubt, why=_one_line(doubt.why)) for doubt in score.doubts]
    places = places_of(score)
    rows = [f"?  {_told(remark)}" for remark in doubt_remarks(said, places)]
    care = [f"!  take care, {_told(remark)}" for remark in caution_remarks(said, places)]
    rows += [*care, f"   {ADVICE}"] if care else []
    return "\n".join(line for row in rows for line in textwrap.wrap(row, width, subsequent_indent="   "))


def _told(remark: Remark) -> str:
    return f"{remark.where}: {remark.why}" if remark.where else remark.why


def _one_line(text: str) -> str:
    """Words of another program may hold line ends of any script; a page has only ours."""
    return " ".join(text.split())
