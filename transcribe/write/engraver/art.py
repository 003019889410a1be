"""Art: every outline of a sheet, asked of the notation library in one go."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from transcribe.rhythm.rhythm import Meter
from transcribe.score.score import ScoreNote
from transcribe.write.engraver.canvas import Shape, shape_of
from transcribe.write.engraver.engine import run
from transcribe.write.engraver.plan import MIDDLE_LINE, STEPS, BarPlan, Cell, Head, Slot

DURATIONS = {"whole": "w", "half": "h", "quarter": "q", "eighth": "8", "16th": "16", "32nd": "32"}
KEYS = ("Cb", "Gb", "Db", "Ab", "Eb", "Bb", "F", "C", "G", "D", "A", "E", "B", "F#", "C#")  # 7 flats to 7 sharps
FULL, SMALL = 39.0, 25.0  # glyph sizes; 39 makes a staff space 10 units high
REST_LINE = 4  # two voices: steps over or under the middle line
REST_CLEAR = 5  # steps between a rest's middle and a head of the other voice
BLACK_HALF = 5.96  # half the width of a black head

GLYPHS: dict[str, tuple[str, float]] = {
    "tab clef": ("6stringTabClef", FULL),
    **{f"flag {n} up": (f"flag{n}Up", FULL) for n in ("8th", "16th", "32nd")},
    **{f"flag {n} down": (f"flag{n}Down", FULL) for n in ("8th", "16th", "32nd")},
    "rest whole": ("restWhole", FULL),
    "rest half": ("restHalf", FULL),
    "rest quarter": ("restQuarter", FULL),
    "rest eighth": ("rest8th", FULL),
    "rest 16th": ("rest16th", FULL),
    "rest 32nd": ("rest32nd", FULL),
    "dot": ("augmentationDot", FULL),
    "small head": ("noteheadBlack", SMALL),
    "small half head": ("noteheadHalf", SMALL),
    "small flag": ("flag8thUp", SMALL),
    "small dot": ("augmentationDot", SMALL),
    "small #": ("accidentalSharp", SMALL),
    "small b": ("accidentalFlat", SMALL),
    "small n": ("accidentalNatural", SMALL),
    "small ##": ("accidentalDoubleSharp", SMALL),
    "small bb": ("accidentalDoubleFlat", SMALL),
    "small (": ("noteheadParenthesisLeft", SMALL),
    "small )": ("noteheadParenthesisRight", SMALL),
    "down stroke": ("stringsDownBow", SMALL),
    "up stroke": ("stringsUpBow", SMALL),
}


@dataclass(frozen=True, slots=True)
class CellArt:
    """The outlines of one cell, and where its stem would stand from the middle of its heads."""

    shapes: tuple[Shape, ...]  # from the left edge of the heads
    stem_x: float
    ys: tuple[float, ...]  # of its heads, lowest note first; the top line is 0
    half: float  # half the width of a head

    @property
    def left(self) -> float:
        """How far it reaches to the left of its slot."""
        return self.half - min((shape.left for shape in self.shapes), default=self.half)

    @property
    def right(self) -> float:
        """How far it reaches to the right."""
        return max((shape.right for shape in self.shapes), default=self.half) - self.half


@dataclass(frozen=True, slots=True)
class Art:
    """Outlines of all cells by slot number and voice, of clef, key and meter, and of single glyphs by name."""

    cells: Mapping[tuple[int, int], CellArt]
    signs: Mapping[str, tuple[Shape, ...]]
    glyphs: Mapping[str, tuple[Shape, ...]]


def draw_art(plans: Sequence[BarPlan], fifths: int, meter: Meter) -> Art:
    """Return the outlines of a whole score; raises as engine.run does."""
    slots = [slot for plan in plans for slot in plan.slots if slot.cells]
    drawn = run(
        {
            "key": KEYS[fifths + 7],
            "meter": str(meter),
            "glyphs": list(GLYPHS.values()),
            "slots": [[_asked(cell, slot, plans) for cell in slot.cells] for slot in slots],
        }
    )
    cells: dict[tuple[int, int], CellArt] = {}
    for slot, answers in zip(slots, drawn["slots"], strict=True):
        alone = len(slot.cells) == 1
        for cell, answer in zip(slot.cells, answers, strict=True):
            cells[slot.number, cell.voice] = _cell_art(answer, alone)
    return Art(
        cells,
        {kind: tuple(shape_of(shape) for shape in shapes) for kind, shapes in drawn["signs"].items()},
        {name: tuple(map(shape_of, shapes)) for name, shapes in zip(GLYPHS, drawn["glyphs"], strict=True)},
    )


def _cell_art(answer: Mapping[str, Any], alone: bool) -> CellArt:
    shapes = [shape_of(shape) for shape in answer["shapes"]]
    plain = [shape for shape in shapes if shape.kind in ("head", "rest") and abs(shape.left) < 2.0]
    half = (plain[0].right - plain[0].left) / 2.0 if plain and alone else BLACK_HALF
    return CellArt(tuple(shapes), answer["stem_x"] - half, tuple(answer["ys"]), half)


def _asked(cell: Cell, slot: Slot, plans: Sequence[BarPlan]) -> dict[str, Any]:
    """One event as engine.js reads it."""
    value = cell.event.value
    if cell.event.is_rest:
        kind = "whole" if cell.fills_bar else value.type
        return {
            "keys": [_rest_key(cell, slot, plans[slot.bar], kind)],
            "heads": [""],
            "signs": [],
            "duration": DURATIONS[kind],
            "dots": 0 if cell.fills_bar else value.dots,
            "rest": True,
            "stem": cell.stem,
        }
    return {
        "keys": [_key(head) for head in cell.heads],
        "heads": [head_glyph(head.note, value.type) for head in cell.heads],
        "signs": [head.sign for head in cell.heads],
        "duration": DURATIONS[value.type],
        "dots": value.dots,
        "rest": False,
        "stem": cell.stem,
        "beamed": cell.group is not None,
    }


def _rest_key(cell: Cell, slot: Slot, plan: BarPlan, kind: str) -> str:
    """Where a rest stands: in the middle; of two voices, over or under it and clear of the other's heads."""
    if not any(other.voice != cell.voice for each in plan.slots for other in each.cells):
        return "d/5" if kind == "whole" else "b/4"
    near = plan.slots if cell.fills_bar else [slot]
    lines = [head.line for each in near for other in each.cells if other.voice != cell.voice for head in other.heads]
    if cell.stem > 0:
        line = max([REST_LINE, *(line + REST_CLEAR for line in lines)])
    else:
        line = min([-REST_LINE, *(line - REST_CLEAR for line in lines)])
    return _key_at(line + line % 2)


def _key(head: Head) -> str:
    return _key_at(head.line)


def _key_at(line: int) -> str:
    octave, step = divmod(line + MIDDLE_LINE, 7)
    return f"{STEPS[step].lower()}/{octave}"


def head_glyph(note: ScoreNote, type_: str) -> str:
    """Return the library's name of a head: crosses for dead notes, diamonds for harmonics, nothing for plain ones."""
    size = {"whole": "0", "half": "1"}.get(type_, "2")
    if note.take.note.mute == "dead":
        return "x" + size
    if note.take.note.harmonic != "none":
        return "d" + size
    return ""
