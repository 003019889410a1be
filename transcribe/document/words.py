"""Words of the paragraph: lists, numbers, sentences."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise

NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")


def listed(words: Iterable[str]) -> str:
    """Return words with commas and "and".

    >>> listed(["G", "C", "D"])
    'G, C and D'
    """
    told = list(words)
    return "".join(told) if len(told) < 2 else f"{', '.join(told[:-1])} and {told[-1]}"


def number(count: int) -> str:
    """Return a small number in words, a larger one in figures."""
    return NUMBERS[count] if count < len(NUMBERS) else str(count)


def counted(count: int, name: str) -> str:
    """Return how many of a thing: "two bends"."""
    return f"{number(count)} {name}{'' if count == 1 else 's'}"


def times(count: int) -> str:
    """Return how often, as an addition: " (twice)"; nothing for once."""
    return "" if count == 1 else f" ({'twice' if count == 2 else f'{number(count)} times'})"


def sentence(text: str) -> str:
    """Return words with a capital at the front."""
    return text[:1].upper() + text[1:]


def with_article(name: str) -> str:
    """Return a thing with "a" or "an"."""
    return f"{'an' if name[0] in 'aeiou' else 'a'} {name}"


def without_repeats(words: Iterable[str]) -> list[str]:
    """Return the words, each left out where it stands right after itself."""
    told = list(words)
    return told[:1] + [after for before, after in pairwise(told) if after != before]
