"""Train the several-voices network: python -m transcribe.training.train --bank bank.npz --out DIR --minutes 9

Resumes from DIR/checkpoint.npz, or from --resume, and stops after the minutes given with everything saved. Keras takes
its backend from the environment variable KERAS_BACKEND: jax, torch or tensorflow.
"""

from __future__ import annotations

import argparse
import math
import sys
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from transcribe.errors import TakesheetError
from transcribe.training.batch_maker import BatchMaker
from transcribe.training.harmonic_zones import with_harmonics
from transcribe.training.note_bank import PALM_GUITAR, Bank, read_bank
from transcribe.training.rehearsal import Players, guitars_of

WARM_UP_STEPS = 200
REPORT_STEPS = 100


def compiled_network(*, width: int | None = None, dilations: tuple[int, ...] | None = None, mixed: bool = False) -> Any:
    """Return an untrained network with its optimizer: AdamW with a running average of the weights."""
    import keras

    from transcribe.training.network import DILATIONS, WIDTH, build_network, loss

    keras.mixed_precision.set_global_policy("mixed_bfloat16" if mixed else "float32")
    model = build_network(width=width or WIDTH, dilations=dilations or DILATIONS)
    optimizer = keras.optimizers.AdamW(
        3e-3, weight_decay=1e-3, clipnorm=5.0, use_ema=True, ema_momentum=0.995, ema_overwrite_frequency=None
    )
    model.compile(optimizer=optimizer, loss=loss)
    return model


def rate_at(share: float, step: int, *, highest: float, lowest: float) -> float:
    """Return the learning rate after a share of the run: a short warm-up, then half a cosine down.

    >>> rate_at(1.0, 10_000, highest=2e-3, lowest=0.0)
    0.0
    """
    warm = min(1.0, (step + 1) / WARM_UP_STEPS)
    return warm * (lowest + (highest - lowest) * 0.5 * (1 + math.cos(math.pi * min(share, 1.0))))


def players_of(bank: Bank) -> Players:
    """Return the players of the guitars that may be trained on."""
    guitars = guitars_of(bank, held_out=False)
    return Players(bank.zones((*guitars, PALM_GUITAR)), guitars)


def train(
    bank: Bank,
    out: Path,
    *,
    minutes: float,
    clips: int = 128,
    seed: int = 1,
    workers: int = 0,
    mixed: bool = False,
    highest: float = 3e-3,
    lowest: float = 0.0,
    resume: Path | None = None,
    most_steps: int | None = None,
    width: int | None = None,
    dilations: tuple[int, ...] | None = None,
    cards: int = 1,
) -> list[float]:
    """Train for some minutes (or steps) and save ``out``/checkpoint.npz; return the mean loss of every report.

    Raises ReadError when the checkpoint to resume from is of another network.
    """
    from transcribe.training import checkpoint
    from transcribe.training.graphics_cards import heard_batches, share_the_work

    out.mkdir(parents=True, exist_ok=True)
    share_the_work(cards)
    players, modal_clips = players_of(bank), clips // 2
    with BatchMaker(players, seed=seed, clips=clips, modal_clips=modal_clips, workers=workers) as maker:
        model = compiled_network(width=width, dilations=dilations, mixed=mixed)
        begin = resume or (out / "checkpoint.npz" if (out / "checkpoint.npz").is_file() else None)
        first = step = checkpoint.load(begin, model) if begin else 0
        started = last_saved = time.monotonic()
        losses: list[float] = []
        since: list[Any] = []
        batches = maker.batches(first * cards)
        for view, truth in heard_batches(batches, bank.samples, modal_clips=modal_clips, cards=cards):
            share = (time.monotonic() - started) / (60 * minutes)
            if most_steps is not None:
                share = max(share, (step - first) / most_steps)
            if share >= 1.0:
                break
            model.optimizer.learning_rate.assign(rate_at(share, step, highest=highest, lowest=lowest))
            since.append(model.train_on_batch(view, truth))
            step += 1
            if step % REPORT_STEPS == 0:
                losses.append(float(sum(map(float, since)) / len(since)))
                since.clear()
                pace = (step - first) * clips * cards / (time.monotonic() - started)
                print(f"step {step}: loss {losses[-1]:.3f}, {pace:.0f} clips a second", flush=True)
            if time.monotonic() - last_saved > 120:
                checkpoint.save(out / "checkpoint.npz", model, step)
                last_saved = time.monotonic()
        if since:
            losses.append(float(sum(map(float, since)) / len(since)))
        checkpoint.save(out / "checkpoint.npz", model, step)
        print(
            f"stopped at step {step} ({step * clips * cards} clips), loss {losses[-1] if losses else math.nan:.3f}",
            flush=True,
        )
    return losses


def main(words: Sequence[str] | None = None) -> int:
    """Train as the command line says; return the exit code."""
    parser = argparse.ArgumentParser(prog="train", description="Train the several-voices network.")
    parser.add_argument("--bank", type=Path, required=True, help="file made by note_bank")
    parser.add_argument("--out", type=Path, required=True, help="folder of the checkpoint")
    parser.add_argument("--resume", type=Path, help="checkpoint to go on from")
    parser.add_argument("--minutes", type=float, default=9.0)
    parser.add_argument("--clips", type=int, default=128, help="in a batch of one card")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--workers", type=int, default=0, help="processes that make passages; 0: none beside this one")
    parser.add_argument("--cards", type=int, default=1, help="graphics cards to share the work (JAX backend)")
    parser.add_argument("--mixed", action="store_true", help="16-bit brain floats inside the network")
    parser.add_argument("--highest-rate", type=float, default=3e-3)
    parser.add_argument("--lowest-rate", type=float, default=0.0)
    chosen = parser.parse_args(words)
    try:
        train(
            with_harmonics(read_bank(chosen.bank)),
            chosen.out,
            minutes=chosen.minutes,
            clips=chosen.clips,
            seed=chosen.seed,
            workers=chosen.workers,
            mixed=chosen.mixed,
            cards=chosen.cards,
            highest=chosen.highest_rate,
            lowest=chosen.lowest_rate,
            resume=chosen.resume,
        )
    except TakesheetError as error:
        print(error, file=sys.stderr)
        return 2
    return 0


if __name__ == "__main__":
    sys.exit(main())
