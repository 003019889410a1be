"""From random passages to batches the network learns from: players on the processor, sound on the accelerator."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from transcribe.training.music import passage
from transcribe.training.note_bank import PALM_GUITAR, Bank
from transcribe.training.scene_numbers import draw
from transcribe.training.sheet import CLIP_S, write_sheet
from transcribe.training.strokes import drawn_instrument

Batch = dict[str, NDArray[Any]]

ACOUSTIC = ("nylon", "steel", "archtop", "gm-24", "gm-25", "dreadnought", "nylon-b", "gu-24", "gu-25")


@dataclass(frozen=True, slots=True, eq=False)
class Players:
    """Who plays: the table of a bank and the guitars of it that are used."""

    bank: Bank
    guitars: tuple[str, ...]

    def without_samples(self) -> Players:
        """Return the same with the table alone, to be sent to other processes."""
        b = self.bank
        bare = Bank(
            np.zeros(int((b.start + b.length).max()), np.int16), b.guitars, b.guitar, b.start, b.length, b.midi, b.level
        )
        return Players(bare, self.guitars)


def batch_of(
    players: Players, seed: int, number: int, *, clips: int, modal_clips: int, style: str | None = None
) -> Batch:
    """Return the arrays of batch ``number``; the same for the same seed and number."""
    rows: list[Batch] = []
    for k in range(clips):
        rng = np.random.default_rng((seed, number, k))
        rows.append(one_clip(players, rng, modal=k < modal_clips, style=style))
    return {name: np.stack([row[name] for row in rows]) for name in rows[0]}


def one_clip(players: Players, rng: np.random.Generator, *, modal: bool, style: str | None = None) -> Batch:
    """Return the arrays of one clip."""
    played = passage(rng, length_s=CLIP_S, style=style)
    guitar = None if modal else str(rng.choice(players.guitars))
    instrument = drawn_instrument(rng, guitar)
    sheet = write_sheet(played, instrument, players.bank, rng)
    electric = instrument.pickup > 0 if modal else guitar not in ACOUSTIC
    made = draw(rng, played.open_midi, electric=bool(electric))
    arrays: Batch = {"index": sheet.index, "strokes": sheet.strokes, "bend": sheet.bend, "events": sheet.events}
    return arrays | made | {"known": np.asarray(modal, np.float32)}


def guitars_of(bank: Bank, *, held_out: bool) -> tuple[str, ...]:
    """Return the bank's guitars for training, or those nothing is trained on; muted samples alone are no guitar."""
    from transcribe.training.note_bank import HELD_OUT

    return tuple(name for name in bank.playable if (name in HELD_OUT) == held_out and name != PALM_GUITAR)


def hearing(
    samples: NDArray[np.int16], *, modal_clips: int, with_sound: bool = False, device: Any = None
) -> Callable[[Batch], Any]:
    """Return a compiled function from a batch's arrays to (view, truth maps), and the sound too if asked.

    ``device`` is one of JAX's, where the sound is to be made; None leaves the choice to the backend.
    """
    from keras import ops

    from transcribe.training import scene
    from transcribe.training.spectrum_ops import harmonic_spectra
    from transcribe.training.truth_maps import truth_maps
    from transcribe.training.voicing import play

    def placed(value: NDArray[Any]) -> Any:
        if device is None:
            return ops.convert_to_tensor(value)
        import jax

        return jax.device_put(value, device)

    bank, noise = placed(samples), placed(scene.grains())

    def render(batch: dict[str, Any], bank: Any, noise: Any) -> Any:
        heard = play(batch["index"], batch["strokes"], batch["bend"], batch, bank, modal_clips=modal_clips)
        sound = scene.record(ops.sum(heard.sound, axis=1), heard.noise, batch, noise)
        answer = harmonic_spectra(sound), truth_maps(heard, batch["events"], batch["known"])
        return (*answer, sound) if with_sound else answer

    run = compiled(render)
    return lambda batch: run({name: placed(value) for name, value in batch.items()}, bank, noise)


def compiled(function: Callable[..., Any]) -> Callable[..., Any]:
    """Return ``function`` compiled by the backend in use; as it is where the backend runs line by line."""
    import keras

    if keras.backend.backend() == "jax":
        import jax

        return jax.jit(function)
    if keras.backend.backend() == "tensorflow":
        import tensorflow as tf

        return tf.function(function)
    return function
