"""Words of scripts that run from right to left, for engines that draw letters in the order they are given.

A small part of Unicode Annex 9 (a line that runs left to right as a whole, without nested runs), and the joined forms
of Arabic letters from the Unicode character database ("Arabic Presentation Forms-B").
"""

from __future__ import annotations

import re
import unicodedata
from functools import cache
from itertools import groupby

STRONG = {"R", "AL"}
NUMBERS = {"EN", "AN"}


def as_drawn(words: str) -> str:
    """Return words in the order and shapes in which they stand on the line; other scripts come back unchanged.

    >>> as_drawn("a שלום b")
    'a םולש b'
    """
    kinds = [unicodedata.bidirectional(sign) for sign in words]
    if not STRONG & set(kinds):
        return words
    levels = _backward(kinds)
    parts = []
    for backward, group in groupby(zip(levels, _joined(words, kinds), strict=True), key=lambda pair: pair[0]):
        signs = [sign for _, sign in group]
        parts.append("".join(_reversed(signs) if backward else signs))
    return "".join(parts)


def _backward(kinds: list[str]) -> list[bool]:
    """Return which signs belong to a run from right to left: its letters, and what lies between two of them."""
    found = [kind in STRONG for kind in kinds]
    last = None
    for at, kind in enumerate(kinds):
        if kind in STRONG:
            if last is not None:
                found[last:at] = [True] * (at - last)
            last = at
        elif kind == "L":
            last = None
        elif kind == "NSM" and at and found[at - 1]:
            found[at] = True
    return found


def _reversed(signs: list[str]) -> list[str]:
    """Return signs from last to first; numbers keep their order, brackets turn round."""
    text = "".join(signs)[::-1]
    text = re.sub(r"\d+(?:[.,:/]\d+)*", lambda match: match.group(0)[::-1], text)
    return list(text.translate(str.maketrans("()[]{}<>«»", ")(][}{><»«")))


@cache
def _forms() -> dict[str, dict[str, str]]:
    """Return the joined forms of each Arabic letter, or of lam with alef, by what they join: isolated, initial ..."""
    found: dict[str, dict[str, str]] = {}
    for code in range(0xFE80, 0xFEFD):
        kind, *letters = unicodedata.decomposition(chr(code)).split()
        found.setdefault("".join(chr(int(letter, 16)) for letter in letters), {})[kind.strip("<>")] = chr(code)
    return found


def _joined(words: str, kinds: list[str]) -> list[str]:
    """Return the signs with Arabic letters in the form their neighbours ask for; a lam with alef becomes one sign."""
    forms = _forms()

    def joins(at: int, kind: str) -> bool:
        return 0 <= at < len(words) and kind in forms.get(words[at], {})

    out: list[str] = []
    at = 0
    while at < len(words):
        pair = words[at : at + 2]
        letter = pair if len(pair) == 2 and pair in forms else words[at]
        before = _letter_before(kinds, at)
        behind = joins(before, "initial") if before >= 0 else False
        ahead = len(letter) == 1 and joins(at, "initial") and joins(_letter_after(kinds, at), "final")
        shapes = forms.get(letter, {})
        behind = behind and "final" in shapes
        wanted = "medial" if behind and ahead else "final" if behind else "initial" if ahead else "isolated"
        out.append(shapes.get(wanted, letter))
        out += [""] * (len(letter) - 1)
        at += len(letter)
    return out


def _letter_before(kinds: list[str], at: int) -> int:
    at -= 1
    while at >= 0 and kinds[at] == "NSM":  # vowel signs do not part letters
        at -= 1
    return at


def _letter_after(kinds: list[str], at: int) -> int:
    at += 1
    while at < len(kinds) and kinds[at] == "NSM":
        at += 1
    return at
