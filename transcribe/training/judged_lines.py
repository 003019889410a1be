"""Lines of known metre with the readings a judge has to choose from, made ready to learn from (``learn_judge``)."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from transcribe.notes.note import Note
from transcribe.rhythm.features import METERS
from transcribe.rhythm.judge import SHORTLIST, Singles, centred, sheet_of
from transcribe.rhythm.onsets import Moment, moments
from transcribe.rhythm.readings import BarReading, Told, likeliest
from transcribe.rhythm.rhythm import Meter
from transcribe.settings import RhythmSettings
from transcribe.training.hand import drawn_tempo_bpm, lick_notes, tune_notes
from transcribe.training.learn_bars import DRIFT, HELD_OUT_LICKS, PICKUPS_KEPT, PLAYED, SAME_TEMPO, astray
from transcribe.training.tunes import Tune

LENGTHS = (10, 16, 16, 24, 24, 40)  # notes of the openings that are played besides whole tunes
DRIFTING = 0.33  # of the plays
CUT_TIME, HALF_BARS = 400, 900  # tunes in 2/2 and in 2/4 learned from
SWUNG = 450  # tunes that are played once more with swing
SWINGS = (0.54, 0.68)  # where the second eighth falls
SWUNG_SHARE = 0.2  # of the notes lie between beats in a tune worth swinging
FOUR_FOUR = Meter(4, 4)
MOST_ASTRAY = 0.5  # share of notes that may stand elsewhere in a right reading, where none is better
NEARLY = 0.05  # more than in the best
RARE_RIGHT = 400  # how far down the first look's ranking a right reading is fetched from
RIGHTS = 4  # of them


@dataclass(frozen=True, slots=True)
class JudgedLine:
    """Readings of one line as the judge sees them, and which are right."""

    name: str  # of the tune or lick
    title: str
    told: bool  # the tempo
    whole: bool
    weight: Singles  # (moments,)
    packed: NDArray[np.uint8]  # rows of notes, eight flags a byte: (readings * moments, NOTE_ROW / 8 rounded up)
    facts: Singles  # (readings, ROW), centred
    meters: NDArray[np.int64]  # of each reading, in METERS
    right: NDArray[np.bool_]
    first_look: bool  # whether the first look put a right one first

    @property
    def is_lick(self) -> bool:
        """Whether it is one of our own licks."""
        return not self.title

    def fold(self, folds: int) -> int:
        """Which part of a cross-validation it belongs to: all plays of one title go together."""
        return hashlib.sha256(f"fold {self.title.casefold() or self.name}".encode()).digest()[0] % folds


def tunes_learned_from(tunes: Sequence[Tune]) -> list[tuple[Tune, Fraction]]:
    """Return the tunes of the learning half, in METERS; those in 2/2 and 2/4 as 4/4.

    Two bars of 2/4 make one of 4/4, whichever they are: the fraction is how far the bar lines may be moved.
    """
    half = sorted(
        (tune for tune in tunes if not tune.held_out),
        key=lambda tune: hashlib.sha256(f"{tune.name}*".encode()).digest(),
    )
    found = [(tune, Fraction(0)) for tune in half if str(tune.meter) in METERS]
    for name, count, moved in (("2/2", CUT_TIME, 0), ("2/4", HALF_BARS, 2)):
        mine = [tune for tune in half if str(tune.meter) == name][:count]
        found += [(replace(tune, meter=FOUR_FOUR), Fraction(moved)) for tune in mine]
    return found


def tune_lines(tune: Tune, moved: Fraction, seed: int) -> Iterator[JudgedLine]:
    """Yield plays of a tune, whole and its opening, tempo told and not; of one that was 2/4 a single play."""
    rng = np.random.default_rng([seed, 7])
    for whole in (True, False):
        if moved and whole == (seed % 4 == 0):
            continue
        part = tune if whole else tune.part(int(rng.choice(LENGTHS)), pickup=bool(rng.uniform() < PICKUPS_KEPT))
        bpm = drawn_tempo_bpm(part, rng)
        notes = tune_notes(part, bpm, rng, drift=DRIFT * int(rng.uniform() < DRIFTING))
        for told in (True,) if moved or (whole and seed % 2) else (True, False):
            written = (part.places, tuple(place + moved for place in part.places))
            line = judged_line(notes, written if moved else written[:1], part.meter, bpm, told=told)
            if line is not None:
                yield replace(line, name=tune.name, title=tune.title or tune.name, whole=whole)


def swung_lines(tune: Tune, seed: int) -> Iterator[JudgedLine]:
    """Yield a tune in eighths and longer values, or its opening, played once with swing, light or full."""
    rng = np.random.default_rng([seed, 11])
    part = tune if seed % 2 else tune.part(int(rng.choice(LENGTHS)), pickup=bool(rng.uniform() < PICKUPS_KEPT))
    bpm = drawn_tempo_bpm(part, rng)
    notes = tune_notes(part, bpm, rng, swing=float(rng.uniform(*SWINGS)))
    for told in (True, False):
        line = judged_line(notes, (part.places,), part.meter, bpm, told=told)
        if line is not None:
            yield replace(line, name=tune.name, title=tune.title or tune.name, whole=part is tune)


def may_swing(tune: Tune) -> bool:
    """Whether a tune has plain beats, eighths on enough of them, and nothing shorter."""
    between = sum(place % 1 == Fraction(1, 2) for place in tune.places)
    even = all(2 * place % 1 == 0 for place in tune.places)
    return str(tune.meter) in ("4/4", "3/4") and even and between >= SWUNG_SHARE * len(tune.places)


def lick_lines() -> Iterator[JudgedLine]:
    """Yield our own licks, but for those held out, each played several times."""
    from fixtures.licks import LICKS

    for name, lick in LICKS.items():
        for seed in range(PLAYED if name not in HELD_OUT_LICKS and str(lick.meter) in METERS else 0):
            notes, places = lick_notes(lick, seed)
            for told in (True, False):
                line = judged_line(notes, (places,), lick.meter, lick.tempo_bpm, told=told)
                if line is not None:
                    yield replace(line, name=name)


def judged_line(
    notes: Sequence[Note], written: Sequence[Sequence[Fraction]], meter: Meter, bpm: float, *, told: bool
) -> JudgedLine | None:
    """Return the shortlist of one line; None when no reading of it is right.

    ``written`` are the places that count as right, each in full.
    """
    settings = RhythmSettings()
    heard = moments(notes, settings)
    ranked = likeliest(heard, settings, Told(tempo_bpm=bpm if told else None))
    astrays = [_astray(reading, written, meter, bpm) for reading, _ in ranked]
    limit = min(max(0.1, min(astrays) + NEARLY), MOST_ASTRAY)
    right = [share <= limit for share in astrays]
    chosen = list(range(min(SHORTLIST, len(ranked))))
    chosen += [index for index in range(SHORTLIST, min(RARE_RIGHT, len(ranked))) if right[index]][:RIGHTS]
    if not any(right[index] for index in chosen):
        return None
    return _line(heard, [ranked[index] for index in chosen], [right[index] for index in chosen], told=told)


def _astray(reading: BarReading, written: Sequence[Sequence[Fraction]], meter: Meter, bpm: float) -> float:
    if reading.meter != meter or abs(reading.quarter_bpm / bpm - 1) >= SAME_TEMPO:
        return 1.0
    return min(astray(reading.followed.ticks, reading.line, places) for places in written)


def _line(
    heard: Sequence[Moment],
    chosen: Sequence[tuple[BarReading, NDArray[np.float64]]],
    right: Sequence[bool],
    *,
    told: bool,
) -> JudgedLine:
    sheets = [
        sheet_of(heard, reading.ticks, reading.meter, facts, reading.followed.guess.quarter_s)
        for reading, facts in chosen
    ]
    return JudgedLine(
        name="",
        title="",
        told=told,
        whole=True,
        weight=np.array([moment.weight for moment in heard], np.float32),
        packed=np.packbits(np.concatenate([sheet.notes for sheet in sheets]), axis=1),
        facts=centred(sheets),
        meters=np.array([METERS.index(str(reading.meter)) for reading, _ in chosen]),
        right=np.array(right),
        first_look=right[0],
    )
