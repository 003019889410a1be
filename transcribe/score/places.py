"""Where a note stands, in the words of players: one way for the terminal, the tab and the sheet."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from transcribe.document.words import listed
from transcribe.rhythm.grid import pulse_beats
from transcribe.rhythm.rhythm import Meter
from transcribe.score.score import Score

PARTS_OF_BEAT = {
    Fraction(1, 2): "½",
    Fraction(1, 3): "⅓",
    Fraction(2, 3): "⅔",
    Fraction(1, 4): "¼",
    Fraction(3, 4): "¾",
}
LONG_RUN = 3  # bars on end that are told as a run


@dataclass(frozen=True, slots=True, order=True)
class Place:
    """A bar, 0 for the pickup, the beat in it, to sort by, and both in words."""

    bar: int
    beat: Fraction
    words: str


def place_at(bar: int, beat: Fraction, meter: Meter, pickup_beats: Fraction) -> Place:
    """Return the place of a beat of a bar, in quarters from its start. A pickup counts the beats it leads in from.

    >>> place_at(2, Fraction(5, 2), Meter(4, 4), Fraction(0)).words
    'bar 2, beat 3½'
    >>> place_at(0, Fraction(0), Meter(4, 4), Fraction(1, 2)).words
    'pickup, beat 4½'
    """
    lead = max(Fraction(0), meter.bar_beats - pickup_beats) if bar == 0 else Fraction(0)
    where = f"bar {bar}" if bar else "pickup"
    return Place(bar, beat, f"{where}, beat {beat_words(lead + beat, meter)}")


def places_of(score: Score) -> dict[str, Place]:
    """Return where each note of a score begins, by the note's id."""
    pickup_beats = score.bars[0].length if score.bars and score.bars[0].number == 0 else Fraction(0)
    return {
        head.take.id: place_at(bar.number, event.beat, score.meter, pickup_beats)
        for bar in score.bars
        for voice in bar.voices
        for event in voice
        for head in event.notes
        if not head.tied_from
    }


def beat_words(beat: Fraction, meter: Meter) -> str:
    """Return a beat as players count, from 1.

    >>> [beat_words(Fraction(at), Meter(4, 4)) for at in ("0", "5/2", "1/8")]
    ['1', '3½', '1 and 1/8']
    >>> beat_words(Fraction(3, 2), Meter(6, 8))
    '2'
    """
    whole, part = divmod(beat / pulse_beats(meter), 1)
    if not part:
        return str(int(whole) + 1)
    sign = PARTS_OF_BEAT.get(part)
    return f"{int(whole) + 1}{sign}" if sign else f"{int(whole) + 1} and {part}"


def bars_words(bars: Iterable[int]) -> str:
    """Return bars in order, each once, those on end as a run; bar 0 is the pickup.

    >>> bars_words([7, 3, 12, 3]), bars_words([0, 1, 2, 3, 5]), bars_words([4])
    ('bars 3, 7 and 12', 'pickup, bars 1 to 3 and 5', 'bar 4')
    """
    numbers = sorted(set(bars))
    runs: list[list[int]] = []
    for number in (number for number in numbers if number):
        if runs and runs[-1][-1] == number - 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    told = [
        word
        for run in runs
        for word in ([f"{run[0]} to {run[-1]}"] if len(run) >= LONG_RUN else [str(number) for number in run])
    ]
    pickup = ["pickup"] if 0 in numbers else []
    several = "s" if len(numbers) - len(pickup) > 1 else ""
    return ", ".join([*pickup, *([f"bar{several} {listed(told)}"] if told else [])])
