"""The answer to "did the bend reach pitch?", in words and as JSON."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from transcribe.document.model import TakeDocument, TakeNote
from transcribe.errors import SettingsError
from transcribe.notes.intonation import BendMeasure, measure_bends
from transcribe.notes.note import Note
from transcribe.rhythm.rhythm import Rhythm
from transcribe.score.places import place_at
from transcribe.write.bend_panel import BentNote
from transcribe.write.bend_style import pitch_name


@dataclass(frozen=True, slots=True)
class BendReport:
    """Every bend of one take, measured."""

    take: str  # name of the recording or document
    bends: tuple[tuple[TakeNote, tuple[BendMeasure, ...]], ...]  # one entry a bent note
    tolerance_cents: float
    tuning_offset_cents: float | None  # None: nobody measured it, so errors count from the document's own pitches
    reference_hz: float
    rhythm: Rhythm | None = None  # of the take, to tell where its notes stand

    @property
    def measures(self) -> tuple[BendMeasure, ...]:
        """All measures in time order."""
        return tuple(measure for _, measures in self.bends for measure in measures)

    @property
    def heading(self) -> str:
        """One line that says how many are in tune."""
        if not self.bends:
            return f"{self.take}: no bends"
        good, total = sum(measure.in_tune for measure in self.measures), len(self.measures)
        word = "bend" if all(m.kind != "release" for m in self.measures) else "bend and release"
        return f"{self.take}: {good} of {total} {_plural(word, total)} in tune"


def bend_report(
    document: TakeDocument, *, take: str, tolerance_cents: float, targets_cents: Mapping[str, float] | None = None
) -> BendReport:
    """Return every bend of a take measured against its target, or against the one given for its note's id.

    Raises SettingsError when a target names a note that is not there or not bent.
    """
    targets_cents = targets_cents or {}
    bent = [entry for entry in document.notes if entry.note.bends]
    _check_targets(document, targets_cents, [entry.id for entry in bent])
    offset_cents = document.instrument.tuning_offset_cents
    measured = tuple(
        (
            entry,
            measure_bends(
                entry.note,
                tuning_offset_cents=offset_cents or 0.0,
                tolerance_cents=tolerance_cents,
                target_cents=targets_cents.get(entry.id),
            ),
        )
        for entry in bent
    )
    return BendReport(take, measured, tolerance_cents, offset_cents, document.instrument.reference_hz, document.rhythm)


def _check_targets(document: TakeDocument, targets_cents: Mapping[str, float], bent: list[str]) -> None:
    known = {entry.id for entry in document.notes}
    for note in targets_cents:
        if note in bent:
            continue
        found = f"note {note} is not bent" if note in known else f"there is no note {note} in this take"
        raise SettingsError(found, f"Bent notes: {', '.join(bent)}." if bent else "No note of this take is bent.")


def report_text(report: BendReport) -> str:
    """Return the report as lines for a terminal."""
    if not report.bends:
        return f"{report.heading}: no note of this take is bent, so there is nothing to measure."
    lines = [report.heading, _tuning_line(report), ""]
    for entry, measures in report.bends:
        lines.append(place(entry, report.rhythm))
        for measure in measures:
            lines += [f"  {measure.verdict}", *(f"    {line}" for line in _figures(entry.note, measure, report))]
        lines.append("")
    return "\n".join(lines).rstrip()


def _tuning_line(report: BendReport) -> str:
    offset, reference = report.tuning_offset_cents, f"A = {report.reference_hz:g} Hz"
    if offset is None:
        return f"guitar's own tuning not measured: errors count from {reference}"
    if abs(offset) < 0.5:
        return f"guitar in tune with {reference}"
    return f"guitar {abs(offset):.1f} cents {'sharp' if offset > 0 else 'flat'} of {reference}"


def place(entry: TakeNote, rhythm: Rhythm | None) -> str:
    """Return where a note stands, in words: id, bar and beat or time, string and fret, pitch."""
    parts = [entry.id]
    if entry.timing is not None and rhythm is not None:
        parts.append(place_at(entry.timing.bar, entry.timing.beat, rhythm.meter, rhythm.pickup_beats).words)
    else:
        parts.append(f"{entry.note.onset_s:.2f} s")
    if entry.placement is not None:
        parts.append(f"string {entry.placement.string}, fret {entry.placement.fret}")
    parts.append(f"fretted {pitch_name(entry.note.midi)}")
    return " · ".join(parts)


def _figures(note: Note, measure: BendMeasure, report: BendReport) -> list[str]:
    """Return the numbers behind one verdict, two or three lines."""
    start = f"from {measure.start_s:.2f} s" if measure.kind != "pre-bend" else f"sounds bent at {measure.start_s:.2f} s"
    aim = f"{start}, target {_aim(note, measure)}, reached {_cents(measure.reached_cents)}"
    errors = f"{_miss(measure.error_cents)} against the guitar's own tuning"
    if report.tuning_offset_cents is not None:
        errors += f", {_miss(measure.error_from_reference_cents)} against A = {report.reference_hz:g} Hz"
    held = f"held {measure.held_s:.2f} s"
    if measure.steadiness_cents is not None:
        held += f", steady to ±{max(measure.steadiness_cents, 0.1):.1f} cents"
    if measure.kind != "pre-bend":
        held = f"{measure.time_to_reach_s:.2f} s to reach it, {held}"
    return [aim, errors, held]


def _aim(note: Note, measure: BendMeasure) -> str:
    exact = measure.target_cents % 100 == 0
    name = f"{pitch_name(note.midi + measure.target_cents / 100)} (" if exact else ""
    return f"{name}{_cents(measure.target_cents)}{')' if exact else ''}"


def _cents(cents: float) -> str:
    return f"{cents:+.0f} cents" if round(cents) else "0 cents"


def _miss(cents: float) -> str:
    return f"{abs(cents):.1f} cents {'sharp' if cents > 0 else 'flat'}" if abs(cents) >= 0.05 else "exact"


def _plural(word: str, n: int) -> str:
    return word if n == 1 else word.replace("bend", "bends").replace("release", "releases")


def report_json(report: BendReport) -> dict[str, Any]:
    """Return the report as JSON values: cents, seconds, hertz; null where nothing was measured."""
    return {
        "take": report.take,
        "tolerance_cents": report.tolerance_cents,
        "tuning_offset_cents": report.tuning_offset_cents,
        "reference_hz": report.reference_hz,
        "bends": [
            _measure_json(entry, measure) for entry, measures in report.bends for measure in measures
        ],
    }  # fmt: skip


def _measure_json(entry: TakeNote, measure: BendMeasure) -> dict[str, Any]:
    timing, placement = entry.timing, entry.placement
    return {
        "note": entry.id,
        "kind": measure.kind,
        "midi": entry.note.midi,
        "bar": timing and timing.bar,
        "beat": timing and str(timing.beat),
        "string": placement and placement.string,
        "fret": placement and placement.fret,
        "start_s": round(measure.start_s, 4),
        "start_cents": round(measure.start_cents, 1),
        "target_cents": round(measure.target_cents, 1),
        "reached_cents": round(measure.reached_cents, 1),
        "error_cents": round(measure.error_cents, 1),
        "error_from_reference_cents": round(measure.error_from_reference_cents, 1),
        "time_to_reach_s": round(measure.time_to_reach_s, 4),
        "held_s": round(measure.held_s, 4),
        "steadiness_cents": None if measure.steadiness_cents is None else round(measure.steadiness_cents, 1),
        "tolerance_cents": measure.tolerance_cents,
        "in_tune": measure.in_tune,
        "verdict": measure.verdict,
    }


def bent_notes(report: BendReport) -> list[BentNote]:
    """Return what the picture needs: the bent notes whose pitch curve is known."""
    return [
        BentNote(entry.note, measures, place(entry, report.rhythm))
        for entry, measures in report.bends
        if entry.note.contour is not None and any(cents is not None for cents in entry.note.contour.cents)
    ]
