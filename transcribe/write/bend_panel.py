"""One bent note drawn: its pitch against time, its targets, and labels that never touch."""

from __future__ import annotations

import math
from dataclasses import dataclass

from transcribe.errors import ScoreError
from transcribe.notes.intonation import BendMeasure
from transcribe.notes.note import Note
from transcribe.write.bend_style import (
    AXIS_HEIGHT,
    BAND,
    GRID,
    GUTTER_LEFT,
    HELD,
    HELD_TEXT,
    INK,
    LINE_HEIGHT,
    MARGIN,
    PITCH,
    PLOT_HEIGHT,
    PLOT_LEFT,
    PLOT_WIDTH,
    ROW_HEIGHT,
    SMALL_SIZE,
    SOFT_INK,
    TARGET,
    TARGET_TEXT,
    TEXT_SIZE,
    TITLE_SIZE,
    circle,
    diamond,
    pitch_name,
    signed,
)  # fmt: skip
from transcribe.write.fonts import text_width
from transcribe.write.label_places import in_a_column, in_rows
from transcribe.write.svg import element, text


@dataclass(frozen=True, slots=True)
class BentNote:
    """One note to draw: what was heard, how its bends measured up, and where it stands, in words."""

    note: Note  # with its contour
    measures: tuple[BendMeasure, ...]
    place: str  # for the heading: "bar 2, beat 3 · string 2, fret 8"

    def __post_init__(self) -> None:
        if self.note.contour is None or not any(c is not None for c in self.note.contour.cents):
            raise ScoreError(f"note {self.note.id} has no pitch curve to draw", "Draft it again from the recording.")
        if not self.measures:
            raise ScoreError(f"note {self.note.id} has no bend to draw", "Choose a note that is bent.")


class BendPanel:
    """One note's plot with its heading, axes and labels."""

    def __init__(self, bent: BentNote, top: float, clip: str) -> None:
        self._bent, self._top, self._clip = bent, top, clip
        contour = bent.note.contour
        assert contour is not None
        self._points = [
            (contour.start_s + k * contour.hop_s, cents) for k, cents in enumerate(contour.cents) if cents is not None
        ]
        self._gap_s = 1.6 * contour.hop_s
        self._time_labels = self._placed_time_labels()
        n_rows = 1 + max((row for _, _, _, row in self._time_labels), default=0)
        self._plot_top = top + LINE_HEIGHT * (1 + len(bent.measures)) + 10 + ROW_HEIGHT * n_rows
        self._plot_bottom = self._plot_top + PLOT_HEIGHT
        self.bottom = self._plot_bottom + AXIS_HEIGHT
        heard = sorted(cents for _, cents in self._points)
        aims = [c for m in bent.measures for c in (m.target_cents, m.reached_cents)]
        self._low_cents = min(0.0, *aims, _share(heard, 0.02)) - 45
        self._high_cents = max(*aims, _share(heard, 0.98), 60.0) + 45

    def drawn(self) -> str:
        """Return the panel as SVG."""
        parts = [*self._heading(), *self._grid(), *self._targets(), self._curve(), *self._held(), *self._times()]
        return element("g", *("\n" + part for part in [*parts, *self._gutter()]), "\n")

    # Places

    @property
    def _from_s(self) -> float:
        return min(self._bent.note.onset_s, self._bent.measures[0].start_s) - 0.03

    @property
    def _to_s(self) -> float:
        return max(self._bent.note.offset_s, self._bent.measures[-1].start_s + 0.1) + 0.03

    def _x(self, time_s: float) -> float:
        share = (time_s - self._from_s) / (self._to_s - self._from_s)
        return PLOT_LEFT + PLOT_WIDTH * min(1.0, max(0.0, share))

    def _y(self, cents: float) -> float:
        share = (cents - self._low_cents) / (self._high_cents - self._low_cents)
        return self._plot_bottom - PLOT_HEIGHT * min(1.0, max(0.0, share))

    def _cents_at(self, time_s: float) -> float:
        return min(self._points, key=lambda point: abs(point[0] - time_s))[1]

    # Parts

    def _heading(self) -> list[str]:
        y = self._top + TITLE_SIZE
        lines = [text(self._bent.place, MARGIN, y, size=TITLE_SIZE, fill=INK)]
        for measure in self._bent.measures:
            y += LINE_HEIGHT
            lines.append(text(measure.verdict, MARGIN, y, size=TEXT_SIZE, fill=INK))
        return lines

    def _grid(self) -> list[str]:
        right = PLOT_LEFT + PLOT_WIDTH
        frame = element(
            "rect", x=PLOT_LEFT, y=self._plot_top, width=PLOT_WIDTH, height=PLOT_HEIGHT, fill="none", stroke=SOFT_INK
        )
        clip = element(
            "clipPath",
            element("rect", x=PLOT_LEFT, y=self._plot_top, width=PLOT_WIDTH, height=PLOT_HEIGHT),
            id=self._clip,
        )
        parts = [clip, frame]
        step = 100 if self._high_cents - self._low_cents <= 800 else 200
        for cents in range(math.ceil(self._low_cents / step) * step, math.floor(self._high_cents) + 1, step):
            y = self._y(cents)
            name = pitch_name(self._bent.note.midi + cents / 100)
            parts += [
                element("line", x1=PLOT_LEFT, y1=y, x2=right, y2=y, stroke=GRID, stroke_width=1),
                text(name, MARGIN + 24, y + 4, size=SMALL_SIZE, fill=INK),
                text(signed(cents), PLOT_LEFT - 8, y + 4, size=SMALL_SIZE, fill=SOFT_INK,
                     text_anchor="end"),
            ]  # fmt: skip
        words = f"cents above {pitch_name(self._bent.note.midi)}, the fretted note"
        middle = (self._plot_top + self._plot_bottom) / 2
        parts.append(
            text(words, 0, 0, size=SMALL_SIZE - 1, fill=SOFT_INK, text_anchor="middle",
                 transform=f"translate({MARGIN + 10:g} {middle:g}) rotate(-90)")
        )  # fmt: skip
        return parts + self._time_axis()

    def _time_axis(self) -> list[str]:
        length_s = self._to_s - self._from_s
        step_s = next(s for s in (0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 30, 60, math.inf) if length_s / s <= 9)
        parts, k = [], math.ceil(self._from_s / step_s - 1e-9)
        while math.isfinite(step_s) and k * step_s <= self._to_s:
            x = self._x(k * step_s)
            parts.append(element("line", x1=x, y1=self._plot_bottom, x2=x, y2=self._plot_bottom + 5, stroke=SOFT_INK))
            words = f"{k * step_s:.2f}" if step_s < 0.1 else f"{k * step_s:.1f}"
            parts.append(text(words, x, self._plot_bottom + 18, size=SMALL_SIZE, fill=SOFT_INK, text_anchor="middle"))
            k += 1
        parts.append(
            text("seconds from the start of the take", PLOT_LEFT + PLOT_WIDTH / 2, self._plot_bottom + 36,
                 size=SMALL_SIZE - 1, fill=SOFT_INK, text_anchor="middle")
        )  # fmt: skip
        return parts

    def _targets(self) -> list[str]:
        parts = []
        for measure in self._bent.measures:
            left, right = self._x(measure.start_s), self._x(self._end_s(measure))
            top = self._y(measure.target_cents + measure.tolerance_cents)
            bottom = self._y(measure.target_cents - measure.tolerance_cents)
            y = self._y(measure.target_cents)
            parts += [
                element("rect", x=left, y=top, width=max(2.0, right - left), height=bottom - top, fill=BAND),
                element(
                    "line", x1=left, y1=y, x2=max(left + 2, right), y2=y, stroke=TARGET, stroke_width=2,
                    stroke_dasharray="7 4",
                ),
            ]  # fmt: skip
        return parts

    def _end_s(self, measure: BendMeasure) -> float:
        return measure.start_s + measure.time_to_reach_s + measure.held_s

    def _curve(self) -> str:
        path, last_s = [], -math.inf
        for time_s, cents in self._points:
            move = "M" if time_s - last_s > self._gap_s else "L"
            path.append(f"{move}{self._x(time_s):.1f} {self._y(cents):.1f}")
            last_s = time_s
        return element(
            "path", d=" ".join(path), fill="none", stroke=PITCH, stroke_width=2, stroke_linejoin="round",
            clip_path=f"url(#{self._clip})",
        )  # fmt: skip

    def _held(self) -> list[str]:
        parts = []
        for measure in self._bent.measures:
            reach_s = measure.start_s + measure.time_to_reach_s
            y = self._y(measure.reached_cents)
            parts.append(
                element("line", x1=self._x(reach_s), y1=y, x2=self._x(self._end_s(measure)), y2=y, stroke=HELD,
                        stroke_width=6, stroke_opacity=0.55)
            )  # fmt: skip
        return parts

    def _times(self) -> list[str]:
        lines, marks, words = [], [], []
        for (time_s, is_start, label), (_, x_left, width, row) in zip(
            self._time_marks(), self._time_labels, strict=True
        ):
            x, y = self._x(time_s), self._y(self._cents_at(time_s))
            label_y = self._plot_top - 8 - ROW_HEIGHT * row
            lines.append(
                element("line", x1=x, y1=label_y - 2, x2=x, y2=y, stroke=SOFT_INK, stroke_width=1,
                        stroke_dasharray="2 3")
            )  # fmt: skip
            marks.append(circle(x, y) if is_start else diamond(x, y))
            words.append(
                element("rect", x=x_left - 2, y=label_y - 11, width=width + 4, height=14, fill="#ffffff")
                + text(label, x_left, label_y, size=SMALL_SIZE, fill=INK)
            )
        return [*lines, *words, *marks]

    def _time_marks(self) -> list[tuple[float, bool, str]]:
        """Moments to mark: time, whether it is a start, and the words."""
        marks = []
        for measure in self._bent.measures:
            reach_s = measure.start_s + measure.time_to_reach_s
            if measure.kind == "pre-bend":
                marks.append((reach_s, False, f"sounds bent at {reach_s:.2f} s"))
                continue
            begins, ends = ("let down from", "down at") if measure.kind == "release" else ("starts", "arrives")
            marks.append((measure.start_s, True, f"{begins} {measure.start_s:.2f} s"))
            marks.append((reach_s, False, f"{ends} {reach_s:.2f} s, after {measure.time_to_reach_s:.2f} s"))
        return marks

    def _placed_time_labels(self) -> list[tuple[float, float, float, int]]:
        """Return time, left edge, width and row of each time label."""
        marks = self._time_marks()
        widths = [text_width(label, SMALL_SIZE) for _, _, label in marks]
        centres = [self._x(time_s) for time_s, _, _ in marks]
        places = in_rows(centres, widths, left=PLOT_LEFT, right=GUTTER_LEFT + 120, gap=10)
        return [(m[0], x, w, row) for m, w, (x, row) in zip(marks, widths, places, strict=True)]

    def _gutter(self) -> list[str]:
        """Labels right of the plot, each joined to its line."""
        entries = []
        for measure in self._bent.measures:
            name = pitch_name(self._bent.note.midi + measure.target_cents / 100)
            exact = measure.target_cents % 100 == 0
            aim = f"target {name} {signed(measure.target_cents)}" if exact else f"target {signed(measure.target_cents)}"
            miss = round(abs(measure.error_cents))
            side = "sharp" if measure.error_cents > 0 else "flat"
            got = f"reached {signed(measure.reached_cents)}: " + (f"{miss} {side}" if miss else "exact")
            end_s = self._end_s(measure)
            entries.append((measure.target_cents, aim, TARGET_TEXT, end_s))
            entries.append((measure.reached_cents, got, HELD_TEXT, end_s))
        entries = [entry for k, entry in enumerate(entries) if entry[1] not in {words for _, words, *_ in entries[:k]}]
        middles = in_a_column(
            [self._y(cents) for cents, *_ in entries], ROW_HEIGHT, top=self._plot_top, bottom=self._plot_bottom
        )
        parts = []
        for (cents, words, colour, end_s), middle in zip(entries, middles, strict=True):
            y, right = self._y(cents), PLOT_LEFT + PLOT_WIDTH
            path = f"M{self._x(end_s):.1f} {y:.1f} L{right + 4:.1f} {y:.1f} L{GUTTER_LEFT - 5:.1f} {middle:.1f}"
            parts.append(element("path", d=path, fill="none", stroke=colour, stroke_width=1, stroke_opacity=0.7))
            parts.append(text(words, GUTTER_LEFT, middle + 4, size=SMALL_SIZE, fill=colour))
        return parts


def _share(values: list[float], share: float) -> float:
    return values[round(share * (len(values) - 1))]
