"""Stems, flags and beams on either staff, from head places and written values."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from transcribe.write.beams import FLAGS, BeamMark
from transcribe.write.engraver.canvas import Canvas, number

STEM_WIDTH = 1.2
BEAM_THICK = 5.0  # half a space (E. Gould, "Behind Bars"; from memory)
BEAM_STEP = 7.5  # from one beam to the next
STEM_LENGTH = 35.0  # an octave
SHORTEST_STEM = 26.0
STEEPEST = 0.18  # rise of a beam over its run
MOST_RISE = 9.0
HOOK = 9.0  # length of a beam that belongs to one note


@dataclass(frozen=True, slots=True)
class Stem:
    """One stem: where it stands and what it carries. y grows downwards."""

    x: float
    near_y: float  # of the head the stem starts from
    far_y: float  # of the head nearest to the tip
    direction: int  # 1 up, -1 down
    type: str
    marks: tuple[BeamMark, ...]

    @property
    def level(self) -> int:
        """How many flags or beams it carries."""
        return FLAGS.get(self.type, 0)


def lone_tip(stem: Stem, *, middle_y: float | None = None) -> float:
    """Return where an unbeamed stem ends: an octave from its head, at least at the middle line."""
    length = STEM_LENGTH + 6.0 * max(0, stem.level - 2)
    tip = stem.far_y - stem.direction * length
    if middle_y is None:
        return tip
    return min(tip, middle_y) if stem.direction > 0 else max(tip, middle_y)


def beam_line(stems: Sequence[Stem], *, middle_y: float | None = None) -> list[float]:
    """Return the tips of beamed stems, on one straight line that leans as the melody does, but less."""
    first, last = stems[0], stems[-1]
    direction = first.direction
    levels = max(stem.level for stem in stems)
    run = max(last.x - first.x, 1.0)
    rise = (last.far_y - first.far_y) * 0.5
    inner = [stem.far_y * direction for stem in stems[1:-1]]
    ends = min(first.far_y * direction, last.far_y * direction)
    if inner and min(inner) < ends:
        rise = 0.0  # a note between them stands out on the beam's side
    rise = max(-MOST_RISE, -STEEPEST * run, min(MOST_RISE, STEEPEST * run, rise))
    length = STEM_LENGTH - 3.0 + 4.0 * (levels - 1)
    shortest = SHORTEST_STEM + BEAM_STEP * 0.6 * (levels - 1)
    slope = rise / run
    lean = [slope * (stem.x - first.x) for stem in stems]
    base = first.far_y - direction * length if rise else _level_base(stems, length)
    for stem, offset in zip(stems, lean, strict=True):
        limit = stem.far_y - direction * shortest - offset
        base = min(base, limit) if direction > 0 else max(base, limit)
    if middle_y is not None:  # like a single stem, a beam of ledger notes comes down to the staff
        nearest = min(base + offset for offset in lean) if direction < 0 else max(base + offset for offset in lean)
        base += max(0.0, middle_y - nearest) if direction < 0 else min(0.0, middle_y - nearest)
    return [base + offset for offset in lean]


def _level_base(stems: Sequence[Stem], length: float) -> float:
    direction = stems[0].direction
    outermost = min(stem.far_y * direction for stem in stems) * direction
    mean = sum(stem.far_y for stem in stems) / len(stems)
    return (outermost + mean) / 2.0 - direction * length


def draw_stem(canvas: Canvas, stem: Stem, tip: float) -> None:
    """Draw one stem from its head to the tip."""
    top, bottom = sorted((stem.near_y, tip))
    canvas.rect("stem", stem.x - STEM_WIDTH / 2, top, stem.x + STEM_WIDTH / 2, bottom)


def draw_beams(canvas: Canvas, stems: Sequence[Stem], tips: Sequence[float]) -> None:
    """Draw every beam of a group; the first one lies at the tips, the others toward the heads."""
    direction = stems[0].direction
    for level in range(max(len(stem.marks) for stem in stems)):
        start: int | None = None
        for place, stem in enumerate(stems):
            mark = stem.marks[level] if level < len(stem.marks) else None
            if mark == "begin":
                start = place
            elif mark == "end" and start is not None:
                _beam(canvas, stems[start].x, stem.x, stems, tips, level, direction)
            elif mark == "forward hook":
                _beam(canvas, stem.x, stem.x + HOOK, stems, tips, level, direction)
            elif mark == "backward hook":
                _beam(canvas, stem.x - HOOK, stem.x, stems, tips, level, direction)


def _beam(
    canvas: Canvas,
    left: float,
    right: float,
    stems: Sequence[Stem],
    tips: Sequence[float],
    level: int,
    direction: int,
) -> None:
    slope = (tips[-1] - tips[0]) / max(stems[-1].x - stems[0].x, 1.0)
    left, right = left - STEM_WIDTH / 2, right + STEM_WIDTH / 2
    y_left = tips[0] + slope * (left - stems[0].x) + direction * BEAM_STEP * level
    y_right = tips[0] + slope * (right - stems[0].x) + direction * BEAM_STEP * level
    thick = direction * BEAM_THICK
    corners = [(left, y_left), (right, y_right), (right, y_right + thick), (left, y_left + thick)]
    path = "M" + "L".join(f"{number(x)} {number(y)}" for x, y in corners) + "Z"
    canvas.filled("beam", path, corners)
