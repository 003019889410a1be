"""What several rooms ask of the same recording, measured once."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields, is_dataclass
from functools import wraps
from threading import RLock
from typing import Any, Concatenate, ParamSpec, TypeVar
from weakref import WeakKeyDictionary

import numpy as np
from numpy.typing import NDArray

from transcribe.audio.recording import Recording

Asked = ParamSpec("Asked")
Told = TypeVar("Told")


def once(measure: Callable[Concatenate[Recording, Asked], Told]) -> Callable[Concatenate[Recording, Asked], Told]:
    """Return ``measure`` with its answers kept as long as the recording lives; arrays in them are read-only.

    All that is asked beside the recording must be hashable. An answer must not hold the recording, or both live on.
    """
    kept: WeakKeyDictionary[Recording, dict[Any, Told]] = WeakKeyDictionary()
    measuring = RLock()  # who asks for what another thread measures waits for its answer

    @wraps(measure)
    def kept_or_measured(recording: Recording, *args: Asked.args, **named: Asked.kwargs) -> Told:
        asked = (args, tuple(sorted(named.items())))
        with measuring:
            answers = kept.setdefault(recording, {})
            if asked not in answers:
                answer = measure(recording, *args, **named)
                for array in _arrays_in(answer):
                    array.flags.writeable = False
                answers[asked] = answer
            return answers[asked]

    return kept_or_measured


def _arrays_in(answer: object) -> list[NDArray[Any]]:
    """The answer itself, if it is an array, or those in the fields of a dataclass."""
    told = [getattr(answer, each.name) for each in fields(answer)] if is_dataclass(answer) else [answer]
    return [value for value in told if isinstance(value, np.ndarray)]


@once
def resampled(recording: Recording, rate_hz: int) -> NDArray[np.float32]:
    """Return the samples at another rate, shape (n_samples,)."""
    import soxr

    return np.asarray(soxr.resample(recording.samples, recording.rate_hz, rate_hz), dtype=np.float32)
