"""Found, Share, Spread, Scores: how far a draft agrees with a reference, as plain numbers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from transcribe.errors import ValueRuleError


@dataclass(frozen=True, slots=True)
class Found:
    """How many of the things wanted were found, and how many were written down in all."""

    right: int
    wanted: int
    written: int

    def __post_init__(self) -> None:
        if not 0 <= self.right <= min(self.wanted, self.written):
            raise ValueRuleError(f"no more can be right than were wanted and written; got {self}")

    @property
    def recall(self) -> float | None:
        """Share of the wanted that was found; None when none was wanted."""
        return self.right / self.wanted if self.wanted else None

    @property
    def precision(self) -> float | None:
        """Share of the written that is right; None when none was written."""
        return self.right / self.written if self.written else None

    @property
    def f(self) -> float | None:
        """Harmonic mean of precision and recall; None when nothing was wanted and nothing written.

        >>> Found(right=9, wanted=10, written=10).f
        0.9
        """
        both = self.wanted + self.written
        return 2 * self.right / both if both else None

    def __add__(self, other: Found) -> Found:
        return Found(self.right + other.right, self.wanted + other.wanted, self.written + other.written)


@dataclass(frozen=True, slots=True)
class Share:
    """How many of those that could be judged are right."""

    right: int
    judged: int

    @property
    def share(self) -> float | None:
        """Right ones over judged ones; None when none could be judged."""
        return self.right / self.judged if self.judged else None

    def __add__(self, other: Share) -> Share:
        return Share(self.right + other.right, self.judged + other.judged)


@dataclass(frozen=True, slots=True)
class Caught:
    """How many wrong things a doubt stands at, and how many right ones."""

    wrong: int
    caught: int
    right: int
    marked: int

    def __post_init__(self) -> None:
        if not (0 <= self.caught <= self.wrong and 0 <= self.marked <= self.right):
            raise ValueRuleError(f"no more can be doubted than there are; got {self}")

    @property
    def caught_share(self) -> float | None:
        """Share of the wrong that is doubted; None when nothing is wrong."""
        return self.caught / self.wrong if self.wrong else None

    @property
    def marked_share(self) -> float | None:
        """Share of the right that is doubted all the same; None when nothing is right."""
        return self.marked / self.right if self.right else None

    def __add__(self, other: Caught) -> Caught:
        return Caught(
            self.wrong + other.wrong,
            self.caught + other.caught,
            self.right + other.right,
            self.marked + other.marked,
        )


@dataclass(frozen=True, slots=True)
class Spread:
    """Sizes of errors."""

    sizes: tuple[float, ...]

    def part(self, share: float) -> float | None:
        """Return the size that ``share`` (0 to 1) of the errors stay at or below; None with no errors at all.

        >>> Spread((1.0, 2.0, 9.0)).part(0.5)
        2.0
        """
        if not self.sizes:
            return None
        ordered: Sequence[float] = sorted(self.sizes)
        at = share * (len(ordered) - 1)
        low = int(at)
        high = min(low + 1, len(ordered) - 1)
        return ordered[low] + (ordered[high] - ordered[low]) * (at - low)

    def __add__(self, other: Spread) -> Spread:
        return Spread(self.sizes + other.sizes)


@dataclass(frozen=True, slots=True)
class Scores:
    """A draft against a reference. Adding two gives the scores of both takes together."""

    notes: Found  # 50 ms, same fretted semitone; dead notes are no pitches and count apart
    notes_with_ends: Found  # the same, and the end within 20 % of the length or 50 ms
    onset_error_ms: Spread  # of the notes found
    bends: Found  # bends, pre-bends and releases: same kind, target within 50 cents, on a note found
    curls: Found  # bends of less than three quarters of a semitone, counted in ``bends`` as well
    bend_size_error_cents: Spread  # of the bends and pre-bends found: where they stopped
    slides: Found
    legato: Found  # hammer-ons, pull-offs and slid-to notes: found, and called what they are
    attacks: Share  # of the notes found, those called as the reference calls them
    vibrato: Found
    palm_mutes: Found
    dead_notes: Found  # by onset alone
    strings: Share  # string and fret as in the reference, of the notes found
    fingers: Share  # of those with the right string and fret
    rhythm: Share  # bar, beat and value, of the notes found
    tempo: Share  # within 4 %
    note_doubts: Caught  # notes of the draft: wrong ones pair with nothing; missed notes no doubt can mark
    attack_doubts: Caught  # picked, hammered, pulled or slid to, of the notes found
    gesture_doubts: Caught  # notes found that are written with a bend or slide

    def __add__(self, other: Scores) -> Scores:
        return Scores(**{name: getattr(self, name) + getattr(other, name) for name in Scores.__dataclass_fields__})
