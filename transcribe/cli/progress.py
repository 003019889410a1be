"""A bar on standard error for work over a second."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

SHOW_AFTER_S = 1.0


@contextmanager
def progress_bar(name: str) -> Iterator[Callable[[str, float], None]]:
    """Yield a function taking (stage in words, share done 0 to 1); nothing is drawn when the error stream is a file."""
    from tqdm import tqdm

    with tqdm(
        total=100,
        desc=name,
        delay=SHOW_AFTER_S,
        leave=False,
        file=sys.stderr,
        disable=None,
        bar_format="{desc} |{bar:24}| {percentage:3.0f}% {unit}",  # tqdm would set a comma before its postfix
        unit="",
    ) as bar:

        def report(stage: str, share_done: float) -> None:
            bar.unit = stage
            bar.update(max(0.0, 100.0 * share_done - bar.n))

        yield report
