"""Recording and evidence to notes: the order in which this room works."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from transcribe.audio.recording import Recording
from transcribe.evidence.evidence import Evidence
from transcribe.evidence.refine import refine_pitch
from transcribe.notes.attack import envelope, find_strikes
from transcribe.notes.gestures import Part, read_parts
from transcribe.notes.lines import Stretch, draw_lines, mend_leaps, share_strikes
from transcribe.notes.moves import Line
from transcribe.notes.octave import put_octaves_right
from transcribe.notes.note import Contour, Doubt, Note, Slide
from transcribe.notes.track import find_strands
from transcribe.settings import Settings

Progress = Callable[[int, int], None]


@dataclass(frozen=True, slots=True)
class Heard:
    """The notes of a take, how far the guitar stands from the reference, and what is unsure."""

    notes: tuple[Note, ...]  # named n1, n2 ... in time order
    tuning_offset_cents: float
    doubts: tuple[Doubt, ...]


def hear_notes(
    recording: Recording,
    evidence: Evidence,
    settings: Settings,
    *,
    reference_hz: float = 440.0,
    progress: Progress | None = None,
) -> Heard:
    """Return the notes heard, with gestures and confidences."""
    loudness = envelope(recording)
    strikes = find_strikes(loudness, evidence, settings.notes)
    strands = put_octaves_right(find_strands(evidence, settings.notes), recording, evidence, settings.notes)
    strands = mend_leaps(strands, strikes, evidence, settings.notes)
    struck = share_strikes(strands, strikes, evidence, settings.notes)
    stretches = draw_lines(struck, strikes, loudness, evidence, settings.notes)
    lines = fine_lines(recording, stretches, settings)
    offset = 12.0 * np.log2(reference_hz / 440.0)
    offset += tuning(lines, offset)
    parts: list[tuple[Part, Line]] = []
    for k, stretch in enumerate(stretches):
        line = replace(lines[k], midi=lines[k].midi - offset)
        nxt = lines[k + 1] if k + 1 < len(stretches) and stretches[k + 1].onset_s - stretch.end_s < 0.08 else None
        picked = stretch.strike is not None
        for part in read_parts(
            line,
            onset_s=stretch.onset_s,
            end_s=stretch.end_s,
            picked=picked,
            next_midi=None if nxt is None else float(np.median(nxt.midi[:8]) - offset),
            recording=recording,
            offset_semitones=float(offset),
            settings=settings.notes,
        ):
            parts.append((part, line))
    notes = []
    for k, (p, line) in enumerate(parts):
        slide = None
        if p.slide is not None:
            to = f"n{k + 2}" if p.slide[0] in ("legato", "shift") and k + 1 < len(parts) else None
            if to or p.slide[0] in ("in", "out"):
                slide = Slide(p.slide[0], p.slide[1], to)
        t = line.times_s
        ins = (t >= p.onset_s) & (t <= p.end_s)
        contour = (
            Contour(float(t[ins][0]), line.hop_s, tuple(np.round(100 * (line.midi[ins] - p.midi), 1).tolist()))
            if ins.any()
            else None
        )
        notes.append(
            Note(
                f"n{k + 1}",
                max(0.0, p.onset_s),
                p.end_s,
                p.midi,
                cents=p.rest_cents,
                confidence=0.5,
                attack=p.attack,
                bends=p.bends,
                slide=slide,
                vibrato=p.vibrato,
                contour=contour,
            )
        )
    return Heard(tuple(notes), 100 * float(offset), ())


def tuning(lines: list[Line], offset: float) -> float:
    """Return how far the held pitches lie above equal temperament, in semitones: their circular mean, by salience."""
    held = [
        line.midi[2:-2][np.abs(np.gradient(line.midi))[2:-2] < 0.03] - offset for line in lines if line.midi.size > 6
    ]
    pitch = np.concatenate(held) if held else np.zeros(0)
    if pitch.size == 0:
        return 0.0
    return float(np.angle(np.exp(2j * np.pi * pitch).sum()) / (2 * np.pi))


def fine_lines(recording: Recording, stretches: tuple[Stretch, ...], settings: Settings) -> list[Line]:
    """Return each stretch's line with the pitch read from the partials; where they say nothing, the map's pitch."""
    out = []
    for s in stretches:
        fine = refine_pitch(recording, s.line.times_s, s.line.midi, settings.evidence)
        good = np.isfinite(fine)
        if good.sum() >= 2:
            delta = np.interp(np.arange(fine.size), np.flatnonzero(good), (fine - s.line.midi)[good])
            out.append(replace(s.line, midi=np.where(good, fine, s.line.midi + np.clip(delta, -0.5, 0.5))))
        else:
            out.append(s.line)
    return out
