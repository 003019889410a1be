"""One hearing of a single line from two: pitch tracked on one line, and the maps of several voices.

The maps tell better which notes there are and where they end, the line how fingers got from one to the next. Notes that
both heard keep the line's gestures and end where the maps say; of what one alone heard, the surer stays.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from transcribe.notes.hear import Heard
from transcribe.notes.naming import named_anew, new_names
from transcribe.notes.note import Note, Slide
from transcribe.notes.retuned import retuned

# On made takes of single lines (guitars and licks for choosing)
SAME_S = 0.05  # two onsets no farther apart are one
RIVAL_S = 0.1  # notes of one line that start no farther apart cannot both be right
LEAST_ALONE = 0.5  # confidence of a note that the maps alone show: likelier right than not,
LEAST_TOGETHER = 0.98  # where another sounds for more than BESIDE_SHARE of it
BESIDE_SHARE = 0.5
SURE_LINE = 0.9  # a note of the line this sure gives way to no other
LEAST_OF_LINE = 0.45  # confidence of a note that the line alone shows
UNISON_CENTS = 60.0
REPICK_S = 0.075  # no hand picks one string faster; sixteenths at 200 bpm
SHORTEST_S = 0.04  # of a note that another cuts short


def fused(line: Heard, several: Heard) -> Heard:
    """Return the notes of the line with the ends, and the notes it lacks, of the several voices.

    Grounds and doubts follow their notes; those about the take, and the tuning, are the line's.
    """
    several = told_under(line, several)
    mine = [note for note in line.notes if note.mute != "dead"]
    theirs = _without_doubles([note for note in several.notes if note.mute != "dead"])
    pairs = _pairs(mine, theirs)
    paired = {id(note) for pair in pairs for note in pair}
    alone = [note for note in mine if id(note) not in paired]
    more = [
        replace(note, id=f"more-{note.id}", slide=_renamed(note.slide, pairs))
        for note in theirs
        if id(note) not in paired and _is_missing(note, alone, theirs)
    ]
    kept = [n for n in alone if (n.confidence or 0.0) >= LEAST_OF_LINE and not any(_rival(n, other) for other in more)]
    told = (
        [_cut(note, _end_s(note, other, mine)) for note, other in pairs] + [_before(note, more) for note in kept] + more
    )
    told += _dead(line, several, told)
    notes = _consistent(sorted(told, key=lambda note: note.onset_s))
    names = new_names(notes)
    grounds = dict(line.grounds) | {f"more-{name}": each for name, each in several.grounds.items()}
    doubts = [*line.doubts]
    doubts += [replace(d, note=f"more-{d.note}") for d in several.doubts if d.note is not None]
    return Heard(
        named_anew(notes),
        line.tuning_offset_cents,
        tuple(
            doubt if doubt.note is None else replace(doubt, note=names[doubt.note])
            for doubt in doubts
            if doubt.note is None or doubt.note in names
        ),
        {names[old]: each for old, each in grounds.items() if old in names},
        line.tuning_error_cents,
    )


def told_under(line: Heard, several: Heard) -> Heard:
    """Return the several voices with note numbers and cents counted from the tuning of the line."""
    notes = retuned(several.notes, several.tuning_offset_cents, line.tuning_offset_cents)
    return replace(several, notes=notes, tuning_offset_cents=line.tuning_offset_cents)


def _without_doubles(theirs: Sequence[Note]) -> list[Note]:
    """The notes in time order; of two starts of a pitch that no hand could pick apart the surer, sounding for both."""
    kept: list[Note] = []
    for note in sorted(theirs, key=lambda each: each.onset_s):
        double = next((k for k, n in enumerate(kept) if n.midi == note.midi and _twice(n, note)), None)
        if double is None:
            kept.append(note)
            continue
        surer = max(kept[double], note, key=lambda each: each.confidence or 0.0)
        kept[double] = replace(surer, offset_s=max(kept[double].offset_s, note.offset_s))
    return kept


def _twice(before: Note, note: Note) -> bool:
    return note.onset_s - before.onset_s < REPICK_S and not before.bends and note.attack == "picked"


def _pairs(mine: Sequence[Note], theirs: Sequence[Note]) -> list[tuple[Note, Note]]:
    """Notes that both heard, nearest in time first, each used once."""
    near = sorted(
        (abs(a.onset_s - b.onset_s), i, j)
        for i, a in enumerate(mine)
        for j, b in enumerate(theirs)
        if a.midi == b.midi and abs(a.onset_s - b.onset_s) <= SAME_S
    )
    found: dict[int, int] = {}
    for _, i, j in near:
        if i not in found and j not in found.values():
            found[i] = j
    return [(mine[i], theirs[j]) for i, j in found.items()]


def _is_missing(note: Note, alone: Sequence[Note], theirs: Sequence[Note]) -> bool:
    """Whether the maps show a note that the line lacks: surely so where another sounds with it, for a line has one."""
    rivals = [other.confidence or 0.0 for other in alone if _rival(note, other)]
    others = [other for other in theirs if other.midi != note.midi]
    beside_s = max((min(note.offset_s, o.offset_s) - max(note.onset_s, o.onset_s) for o in others), default=0.0)
    together = beside_s > BESIDE_SHARE * (note.offset_s - note.onset_s)
    least = LEAST_TOGETHER if together else LEAST_ALONE
    return max(rivals, default=0.0) < SURE_LINE and (note.confidence or 0.0) >= max([least, *rivals])


def _rival(note: Note, other: Note) -> bool:
    return abs(note.onset_s - other.onset_s) <= RIVAL_S


def _renamed(slide: Slide | None, pairs: Sequence[tuple[Note, Note]]) -> Slide | None:
    """A slide to a note that both heard, by the line's name of it; to another, none."""
    if slide is None or slide.to is None:
        return slide
    names = {theirs.id: mine.id for mine, theirs in pairs}
    return replace(slide, to=names.get(slide.to, f"more-{slide.to}"))


def _dead(line: Heard, several: Heard, told: Sequence[Note]) -> list[Note]:
    """The dead notes of the line, and those of the several voices where nothing else is told."""
    mine = [note for note in line.notes if note.mute == "dead"]
    more = [replace(note, id=f"more-{note.id}") for note in several.notes if note.mute == "dead"]
    return mine + [n for n in more if not any(abs(n.onset_s - other.onset_s) <= SAME_S for other in (*told, *mine))]


def _end_s(note: Note, other: Note, mine: Sequence[Note]) -> float:
    """The end the maps tell, but for what they take for this note: its pitch again after others, or a bend up to it."""
    for after in mine:
        reached = any(abs(100 * (note.midi - after.midi) - bend.reached_cents) <= UNISON_CENTS for bend in after.bends)
        if reached and note.onset_s < after.onset_s < other.offset_s:
            return min(note.offset_s, other.offset_s)
        again = after.midi == note.midi and abs(after.onset_s - other.offset_s) <= SAME_S
        if again and any(note.onset_s < between.onset_s < after.onset_s for between in mine):
            return min(note.offset_s, other.offset_s)
    return other.offset_s


def _before(note: Note, more: Sequence[Note]) -> Note:
    """A note of the line alone ends where another of the same line begins."""
    later = [other.onset_s for other in more if note.onset_s + SHORTEST_S < other.onset_s < note.offset_s]
    return _cut(note, min(later)) if later else note


def _cut(note: Note, offset_s: float) -> Note:
    """The note with another end; bends that would start after it are gone."""
    offset_s = max(offset_s, note.onset_s + SHORTEST_S)
    bends = tuple(
        replace(bend, reach_s=min(bend.reach_s, offset_s), end_s=min(bend.end_s, offset_s))
        for bend in note.bends
        if bend.start_s < offset_s - SHORTEST_S or bend.kind == "pre-bend"
    )
    return replace(note, offset_s=offset_s, bends=bends)


def _consistent(notes: Sequence[Note]) -> tuple[Note, ...]:
    """Slides lead to a note that is there and comes next on its way; else they are none."""
    onset = {note.id: note.onset_s for note in notes}
    found = []
    for note in notes:
        slide = note.slide
        if slide is not None and slide.to is not None:
            between = any(note.onset_s + SAME_S < other.onset_s < onset.get(slide.to, 0.0) - SAME_S for other in notes)
            if slide.to not in onset or onset[slide.to] <= note.onset_s or between:
                note = replace(note, slide=None)
            elif slide.kind == "legato":  # one string: what it slides to ends it
                note = _cut(note, min(note.offset_s, onset[slide.to]))
        found.append(note)
    return tuple(found)
