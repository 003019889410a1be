"""Learn to read the stretch of overdriven notes: python -m transcribe.training.learn_driven_stretch --bank bank.npz

Single notes of the string model, with strings drawn from typical sets and picks and pickups of their own, and the
recorded notes of a bank (``note_bank``) are driven in random ways, in random rooms; one in five stays clean. Of the
string model the stretch is known, of a recorded note its clean sound tells it (``evidence/string_stretch.py``): notes
it cannot be read from surely are left out. Guitars held out (``note_bank.HELD_OUT``) are measured on alone, as is every
tenth of the drawn ones.
"""

from __future__ import annotations

import argparse
import io
import sys
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from fingering.fretboard import STANDARD_OPEN_MIDI
from transcribe.errors import ReadError, TakesheetError, WriteError
from transcribe.evidence import driven_stretch
from transcribe.evidence.driven_stretch import (
    CENTS,
    LOGS,
    PARTIALS,
    PERIODS_SCALE,
    QUIETEST_DB,
    cluster_rows,
    read_driven_stretch,
)
from transcribe.evidence.string_sets import CORE_SPREAD, GAUGE_SPREAD, TYPICAL_SETS, WOUND
from transcribe.evidence.string_stretch import read_string_stretch
from transcribe.training.guitars import BRIGHT_ELECTRIC, Guitar
from transcribe.training.lick import Lick, Step
from transcribe.training.note_bank import HELD_OUT, PALM_GUITAR, RATE_HZ, Bank, read_bank
from transcribe.training.perform import perform
from transcribe.training.render import render
from transcribe.units import hz_from_midi
from transcribe.write.files import write_together

Floats = NDArray[np.float64]

SEED = 4_000_037
HEARD_S = 0.95  # of each note
VARIANTS = 8  # ways each note is recorded
CLEAN = 0.2  # share of them that are not driven
OVER = 4  # times the rate at which an amplifier distorts
SURE_ERROR, SURE_SHARE = 0.1, 0.6  # of the clean sound of a recorded note
TARGET_SPREAD, ROLLED_CENTS = 0.1, 4  # of log B in the answer asked for; how far a pitch is put wrong while learning
CHANNELS, WIDE = 40, 96
RATE, EPOCHS, BATCH = 1e-3, 15, 128
JUDGED = 10  # every tenth drawn note
NEAR = 0.25  # of log B: neighbouring strings differ by as much or more
LEARNED = "learned from"


class Example(NamedTuple):
    """One way one note was recorded."""

    rows: NDArray[np.float16]
    periods: float
    log_stretch: float
    driven: bool
    guitar: str


class Job(NamedTuple):
    """One note to make: drawn by its seed, or recorded."""

    seed: int
    guitar: str = "string model"
    sound: NDArray[np.float32] | None = None
    midi: float = 0.0
    log_stretch: float = 0.0


def examples_of(job: Job) -> list[Example]:
    """Return one note as recorded in VARIANTS ways; the same for the same job."""
    rng = np.random.default_rng([SEED, job.seed])
    sound, midi, log_stretch = _drawn(rng) if job.sound is None else _retuned(job, rng)
    found = []
    for _ in range(VARIANTS):
        driven = rng.random() >= CLEAN
        heard = _in_room(_amplified(sound, rng) if driven else sound, rng)
        first_s, length_s = rng.uniform(0.03, 0.12), rng.uniform(0.15, 0.72) if rng.random() < 0.5 else 0.7
        part = heard[int(first_s * RATE_HZ) : int((first_s + length_s) * RATE_HZ)]
        told = cluster_rows(part, RATE_HZ, np.full(part.size, hz_from_midi(midi + rng.normal(0, 0.03))))
        if told is not None:
            found.append(Example(told[0].astype(np.float16), told[1], log_stretch, driven, job.guitar))
    return found


def _drawn(rng: np.random.Generator) -> tuple[Floats, float, float]:
    """The clean sound of one note of a guitar of its own, its pitch and the logarithm of its stretch."""
    guitar = drawn_guitar(rng)
    string, fret = int(rng.integers(1, 7)), int(rng.integers(0, 23))
    lick = Lick("note", (Step(Fraction(2), string, fret, finger=int(fret > 0)),), tempo_bpm=100.0)
    played = perform(lick)
    sound = render(played, guitar, rate_hz=RATE_HZ, seed=int(rng.integers(1 << 30)))
    first = int(played.notes[0].onset_s * RATE_HZ)
    log_stretch = float(np.log(guitar.stretch[string - 1]) + np.log(2) / 6 * fret)
    return (
        sound[first : first + int(HEARD_S * RATE_HZ)].astype(np.float64),
        STANDARD_OPEN_MIDI[string - 1] + fret,
        log_stretch,
    )


def drawn_guitar(rng: np.random.Generator) -> Guitar:
    """Return a guitar of the string model with a set of strings, a pick and a pickup of its own."""
    sets = list(TYPICAL_SETS.values())
    chosen = sets[int(rng.choice(len(sets), p=(0.7, 0.2, 0.1)))]
    typical, spread = np.log([b for b, _ in chosen]), np.array([s for _, s in chosen])
    log_b = typical + rng.normal(0, GAUGE_SPREAD) + rng.normal(0, CORE_SPREAD) * (spread == WOUND)
    return replace(
        BRIGHT_ELECTRIC,
        stretch=tuple(np.exp(log_b + rng.normal(0, 1, 6) * spread).tolist()),
        sustain_s=tuple((np.array(BRIGHT_ELECTRIC.sustain_s) * rng.uniform(0.4, 1.3)).tolist()),
        damping_hz=float(rng.uniform(1200, 3000)),
        pick_mm=float(rng.uniform(40, 170)),
        pickup_mm=float(rng.uniform(35, 165)),
        low_pass_hz=float(rng.uniform(2500, 8000)),
        second_plane=float(rng.uniform(0, 0.6)),
        plane_cents=float(rng.uniform(0, 0.8)),
        room_s=0.0,
        noise_db=-90.0,
    )


def _retuned(job: Job, rng: np.random.Generator) -> tuple[Floats, float, float]:
    """A recorded note played faster or slower: its pitch moves, the stretch of its partials does not."""
    import soxr

    assert job.sound is not None
    semitones = float(rng.uniform(-4, 4))
    sound = soxr.resample(job.sound.astype(np.float64), RATE_HZ * 2 ** (semitones / 12), RATE_HZ)
    return np.asarray(sound)[: int(HEARD_S * RATE_HZ)], job.midi + semitones, job.log_stretch


def _amplified(sound: Floats, rng: np.random.Generator) -> Floats:
    """The sound through a clip, soft to hard, even or leaning, and a loudspeaker."""
    import soxr
    from scipy.signal import butter, sosfilt

    fine = np.asarray(soxr.resample(sound, RATE_HZ, OVER * RATE_HZ))
    if rng.random() < 0.5:
        fine = sosfilt(butter(1, rng.uniform(60, 600), "highpass", fs=OVER * RATE_HZ, output="sos"), fine)
    gain, lean = np.exp(rng.uniform(np.log(0.8), np.log(20))), rng.uniform(-0.5, 0.5) * (rng.random() < 0.7)
    hard = rng.random() * (rng.random() < 0.4)
    fine = gain * fine / (2 * np.sqrt(np.mean(fine**2)) + 1e-9) + lean
    fine = (1 - hard) * np.tanh(fine) + hard * np.clip(fine, -1, 1)
    out = np.asarray(soxr.resample(fine - fine.mean(), OVER * RATE_HZ, RATE_HZ))[: sound.size]
    band = (70.0, rng.uniform(2800, 6500))
    return np.asarray(sosfilt(butter(int(rng.integers(1, 5)), band, "bandpass", fs=RATE_HZ, output="sos"), out))


def _in_room(sound: Floats, rng: np.random.Generator) -> NDArray[np.float32]:
    """The sound with a room behind it, half of the time, and noise."""
    from scipy.signal import fftconvolve

    if rng.random() < 0.5:
        room_s = rng.uniform(0.1, 0.8)
        t = np.arange(int(room_s * RATE_HZ)) / RATE_HZ
        tail = fftconvolve(sound, rng.standard_normal(t.size) * 10 ** (-3 * t / room_s))[: sound.size]
        loud = np.sqrt(np.mean(sound**2) / (np.mean(tail**2) + 1e-20))
        sound = sound + tail * loud * 10 ** (rng.uniform(-40, -14) / 20)
    noise = rng.standard_normal(sound.size) * 10 ** (rng.uniform(-80, -38) / 20)
    return np.asarray(sound / (np.abs(sound).max() + 1e-9) + noise, dtype=np.float32)


def recorded_jobs(bank: Bank, each: int) -> Iterator[Job]:
    """Yield the recorded notes whose clean sound tells their stretch surely, each ``each`` times."""
    for k in np.flatnonzero((bank.midi > 0) & (bank.length > HEARD_S * RATE_HZ)):
        guitar = bank.guitars[bank.guitar[k]]
        if guitar == PALM_GUITAR:
            continue
        sound = (bank.samples[bank.start[k] : bank.start[k] + bank.length[k]] / 32768.0).astype(np.float32)
        part = sound[int(0.05 * RATE_HZ) : int(0.6 * RATE_HZ)]
        ways = read_string_stretch(part, RATE_HZ, np.full(part.size, hz_from_midi(float(bank.midi[k]))))
        if ways and ways[0].error < SURE_ERROR and ways[0].share > SURE_SHARE:
            kept = sound[: int(1.3 * HEARD_S * RATE_HZ)]  # played faster it must last as long
            for turn in range(each):
                yield Job(1_000_000 + 10 * int(k) + turn, guitar, kept, float(bank.midi[k]), ways[0].log_stretch)


def network() -> Any:
    """Return the untrained network that ``driven_stretch.read_driven_stretch`` computes."""
    import keras
    from keras import layers

    rows, periods = layers.Input((CENTS.size, PARTIALS)), layers.Input((1,))
    x = layers.Conv1D(CHANNELS, 1, activation="relu", name="lift")(rows)
    for name in ("first", "second"):
        x = layers.MaxPooling1D(2)(layers.Conv1D(CHANNELS, 5, padding="same", activation="relu", name=name)(x))
    x = layers.Concatenate()([layers.Dropout(0.3)(layers.Flatten()(x)), periods])
    x = layers.Dropout(0.3)(layers.Dense(WIDE, activation="relu", name="dense")(x))
    outs = [layers.Dense(LOGS.size, activation="softmax", name="stretch")(x)]
    outs.append(layers.Dense(1, activation="sigmoid", name="driven")(x))
    return keras.Model([rows, periods], outs)


def learned(examples: Sequence[Example], *, epochs: int = EPOCHS, seed: int = 1) -> dict[str, NDArray[np.float16]]:
    """Return the weights that tell stretch and drive of the examples best, as ``driven_stretch`` reads them."""
    import keras

    keras.utils.set_random_seed(seed)
    rng = np.random.default_rng(seed)
    rows = np.stack([each.rows for each in examples])
    periods = np.log([each.periods for each in examples])[:, None] / PERIODS_SCALE
    log_b = np.array([each.log_stretch for each in examples])
    wanted = np.exp(-0.5 * ((log_b[:, None] - LOGS) / TARGET_SPREAD) ** 2)
    wanted /= wanted.sum(axis=1, keepdims=True)
    driven = np.array([float(each.driven) for each in examples])[:, None]
    model = network()
    optimizer = keras.optimizers.AdamW(RATE, weight_decay=1e-3)
    model.compile(optimizer, loss=["categorical_crossentropy", "binary_crossentropy"])
    for epoch in range(epochs):
        optimizer.learning_rate = RATE * 0.5 * (1 + np.cos(np.pi * epoch / epochs))
        rolled = [
            _rolled(each, int(by))
            for each, by in zip(rows, rng.integers(-ROLLED_CENTS, ROLLED_CENTS + 1, len(rows)), strict=True)
        ]
        model.fit([np.swapaxes(np.stack(rolled), 1, 2), periods], [wanted, driven], batch_size=BATCH, verbose=0)
    usual = np.convolve(np.pad(wanted.mean(axis=0), 4, "edge"), np.full(9, 1 / 9), "valid")
    return arrays_of(model) | {"log_usual": np.log(usual + 1e-3).astype(np.float16)}


def arrays_of(model: Any) -> dict[str, NDArray[np.float16]]:
    """Return the weights of a network by the names ``driven_stretch`` reads."""
    arrays: dict[str, NDArray[Any]] = {}
    for name in ("lift", "first", "second", "dense", "stretch", "driven"):
        kernel, bias = (np.asarray(value) for value in model.get_layer(name).get_weights())
        arrays |= {name: kernel[0] if name == "lift" else kernel, f"{name}_bias": bias}
    return {name: value.astype(np.float16) for name, value in arrays.items()}


def _rolled(rows: NDArray[np.float16], by: int) -> NDArray[np.float32]:
    """The rows as they are when the pitch is put wrong by some cents."""
    out = np.full(rows.shape, QUIETEST_DB / 20, dtype=np.float32)
    if by >= 0:
        out[:, by:] = rows[:, : rows.shape[1] - by]
    else:
        out[:, :by] = rows[:, -by:]
    return out


def figures(examples: Sequence[Example], weights: dict[str, NDArray[np.float16]]) -> str:
    """Return how well weights tell the stretch of examples, in words."""
    singles = {name: value.astype(np.float32) for name, value in weights.items()}
    told = [read_driven_stretch(each.rows.astype(np.float32), each.periods, weights=singles) for each in examples]
    off = np.array(
        [abs(ways[0].log_stretch - each.log_stretch) for (_, ways), each in zip(told, examples, strict=True)]
    )
    is_driven = np.array([each.driven for each in examples])
    rightly = np.mean([(driven >= 0.5) == each.driven for (driven, _), each in zip(told, examples, strict=True)])
    lines = [f"{len(examples)} sounds, driven or not told rightly {rightly:.3f}"]
    for name, some in (("driven", is_driven), ("clean", ~is_driven)):
        if some.any():
            middle, near = np.median(off[some]), np.mean(off[some] < NEAR)
            lines.append(f"{name}: log B off by {middle:.3f} in the middle, within {NEAR} {near:.3f}")
    return "; ".join(lines)


def main(words: Sequence[str] | None = None) -> int:
    """Learn as the command line says; return the exit code."""
    parser = argparse.ArgumentParser(prog="learn_driven_stretch", description="Learn the stretch of overdriven notes.")
    parser.add_argument("--bank", type=Path, help="file made by note_bank; the string model alone when left out")
    parser.add_argument("--notes", type=int, default=4000, help="drawn on the string model")
    parser.add_argument("--each", type=int, default=3, help="times each recorded note is taken")
    parser.add_argument("--epochs", type=int, default=EPOCHS)
    parser.add_argument("--workers", type=int, default=2, help="processes that make the sounds")
    default = Path(driven_stretch.__file__).parent / "weights" / driven_stretch.WEIGHTS
    parser.add_argument("--out", type=Path, default=default)
    chosen = parser.parse_args(words)
    try:
        if not chosen.out.parent.is_dir():
            raise WriteError(f"no folder {chosen.out.parent}", "Make it first, or name another file with --out.")
        if chosen.notes < 2:
            raise ReadError("too few notes to learn from", "Give --notes of 2 or more.")
        jobs = [Job(seed) for seed in range(chosen.notes)]
        if chosen.bank is not None:
            jobs += recorded_jobs(read_bank(chosen.bank), chosen.each)
    except TakesheetError as error:
        print(error, file=sys.stderr)
        return 2
    if chosen.workers <= 1:
        made = [examples_of(job) for job in jobs]
    else:
        with ProcessPoolExecutor(chosen.workers) as pool:
            made = list(pool.map(examples_of, jobs, chunksize=16))
    parts: dict[str, list[Example]] = {}
    for job, some in zip(jobs, made, strict=True):
        parts.setdefault(_part(job), []).extend(some)
    kept = parts.pop(LEARNED)
    weights = learned(kept, epochs=chosen.epochs)
    box = io.BytesIO()
    np.savez_compressed(box, **weights)  # type: ignore[arg-type]
    recorded = sorted({job.guitar for job in jobs if job.sound is not None} - set(HELD_OUT))
    lines = [f"{name}: {figures(some, weights)}" for name, some in parts.items() if some]
    told = card(len(kept), recorded, lines).encode()
    try:
        write_together(chosen.out.parent, {chosen.out.name: box.getvalue(), chosen.out.with_suffix(".md").name: told})
    except WriteError as error:
        print(error, file=sys.stderr)
        return 2
    print(f"{chosen.out}: learned from {len(kept)} sounds", *lines, sep="\n")
    return 0


def card(count: int, recorded: Sequence[str], lines: Sequence[str]) -> str:
    """Return what is to be known of the weights, in Markdown."""
    played = f", and recorded notes of {', '.join(recorded)}" if recorded else ""
    return (
        f"# {driven_stretch.WEIGHTS}\n\n"
        "Reads the stretch of one overdriven note's partials off the clusters that distortion makes of them. Made by\n"
        f"`python -m transcribe.training.learn_driven_stretch` (seed {SEED}) from {count} sounds: single notes of the\n"
        f"string model{played}, {VARIANTS} ways each,\n"
        "one in five clean, the others through random clips, loudspeakers and rooms. Measured on notes it did not\n"
        "learn from, those of recorded guitars against what their own clean sound tells (which is itself unsure):\n\n"
        + "".join(f"- {line}\n" for line in lines)
        + "\nThe sounds and their licences are those told in `several-voices.md`.\n"
    )


def _part(job: Job) -> str:
    """LEARNED, or what a note is measured under."""
    if job.sound is None:
        return "string model, guitars drawn anew" if job.seed % JUDGED == 0 else LEARNED
    return f"{job.guitar}, held out" if job.guitar in HELD_OUT else LEARNED


if __name__ == "__main__":
    sys.exit(main())
