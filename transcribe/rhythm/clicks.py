"""A click in the take: a count-in before the playing, or a click track under it.

Clicks are told from notes by what a machine does and a hand does not: short sounds of one or two kinds, spaced to a few
milliseconds. A row once found is followed both ways through the take, past places where the playing drowns it. The
tolerances are our own, set between the click of ``audio/click.py`` and hands that stray by 6 ms and more.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from transcribe.notes.note import Note
from transcribe.rhythm.beat_times import FEWEST_BEATS, BeatTimes
from transcribe.rhythm.click_starts import HOP_S, Floats, Starts, short_starts

SHORTEST_S, LONGEST_S = 0.2, 1.6  # from click to click
EVEN_S = 0.004  # clicks stray no further than this from an even row
COUNTED, UNDER_PLAYING = 4, 8  # fewest clicks in a row, in silence and among notes
LIKE = 0.8  # cosine between the colours of two clicks of one kind
KINDS = 2  # the first of a bar may sound otherwise
ALIKE = 0.4  # a click further on differs from one of the row by no more than this share of it, in colour and loudness
MOST_MISSED = 64  # places in a row where no click is heard, before the row is taken to have ended
NEXT_HEARD = 4  # places within which a click is heard again: one start far from all others is a note that is like it
NEAR_S = 0.04  # a note this near a click may be the click itself
SHORT_S = 0.2  # and so may one no longer than this
BAR_COUNTS = (4, 3)  # clicks in a bar that a count-in is taken to have


@dataclass(frozen=True, slots=True)
class Clicks:
    """An even row of clicks, from the first that is heard to the last."""

    times_s: tuple[float, ...]  # every place of the row
    heard: tuple[bool, ...]  # by place: whether the click is heard there, or the playing drowns it
    counted: int  # how many at the front sound alone: a count-in, when the playing begins after them

    @property
    def click_s(self) -> float:
        """From click to click."""
        return (self.times_s[-1] - self.times_s[0]) / (len(self.times_s) - 1)


def heard_clicks(samples: NDArray[np.floating], rate_hz: int) -> Clicks | None:
    """Return the even row of clicks in a take, None where there is none. ``samples`` has shape (n,).

    A few in silence tell a row; among notes it takes more of them.
    """
    alone, among = short_starts(samples, rate_hz)
    for starts, fewest in ((alone, COUNTED), (among, UNDER_PLAYING)):
        row = _longest_row(starts.loudest_s, starts.colours)
        if len(row) >= fewest:
            times = starts.begun_s[row]
            if not SHORTEST_S <= _line(dict(enumerate(times.tolist())))[1] <= LONGEST_S:
                continue  # starts that swell from nowhere: no machine's
            clicks = _followed(times, starts.added[row], alone, among)
            if clicks is not None:
                return clicks
    return None


def click_beats(clicks: Clicks, notes: Sequence[Note], *, bar_beats: int | None = None) -> BeatTimes:
    """Return the beats that a row of clicks tells, from the first of a bar where that is clear.

    After a count-in of whole bars (of ``bar_beats`` clicks; of four or three when not told) bar 1 begins.
    """
    counted = _bars_counted(clicks, notes, bar_beats)
    fewest = max(FEWEST_BEATS, counted, len(clicks.times_s) - counted)
    last_s, beyond = clicks.times_s[-1], counted + fewest - len(clicks.times_s)
    row = (*clicks.times_s, *(last_s + index * clicks.click_s for index in range(1, beyond + 1)))
    return BeatTimes(row[counted:], counted > 0, "click")


def _bars_counted(clicks: Clicks, notes: Sequence[Note], bar_beats: int | None) -> int:
    """How many clicks fill the bars before bar 1; none when the playing begins before them or they fill no bars."""
    counting = clicks.times_s[: clicks.counted]
    playing_s = min((note.onset_s for note in notes), default=clicks.times_s[-1] + clicks.click_s)
    before = sum(time_s < playing_s - NEAR_S for time_s in counting)
    if len(counting) < (bar_beats or COUNTED):
        return 0
    for size in (bar_beats,) if bar_beats else BAR_COUNTS:
        counted = -(-before // size) * size  # a pickup may begin before the last of them
        if counted <= len(counting):
            return counted
    return 0


def without_clicks(notes: Sequence[Note], clicks: Clicks) -> tuple[Note, ...]:
    """Return the notes that are no clicks: a click is heard as a short note at its time, at one of few pitches or dead.

    A note at a click that is drowned there stays.
    """
    heard = np.array(clicks.times_s)[list(clicks.heard)]
    close = [bool(np.abs(heard - note.onset_s).min() < NEAR_S) for note in notes]
    brief = [note.offset_s - note.onset_s < SHORT_S for note in notes]
    before_s = clicks.times_s[clicks.counted - 1] + 0.5 * clicks.click_s if clicks.counted else 0.0
    at = Counter(note.midi for note, near, short in zip(notes, close, brief, strict=True) if short and near)
    off = Counter(note.midi for note, near, short in zip(notes, close, brief, strict=True) if short and not near)
    usual = {midi for midi, count in at.items() if count * 2 * KINDS >= heard.size and count > off[midi]}
    return tuple(
        note
        for note, near, short in zip(notes, close, brief, strict=True)
        if not (near and (note.mute == "dead" or (short and (note.onset_s < before_s or note.midi in usual))))
    )


def _longest_row(times: Floats, colours: Floats) -> list[int]:
    """Return the indices of the longest even row of like starts."""
    best: list[int] = []
    for first in range(times.size):
        for second in range(first + 1, times.size):
            step = times[second] - times[first]
            if step > LONGEST_S:
                break
            if step >= SHORTEST_S and first + len(best) < times.size:
                row = _row(times, colours, first, second)
                if len(row) > len(best):
                    best = row
    return best


def _row(times: Floats, colours: Floats, first: int, second: int) -> list[int]:
    row, kinds, begins = [first], [first], 0  # where in the row the second kind begins, and whether the first returns
    following, returns = second, False
    while True:
        likeness = [float(colours[following] @ colours[kind]) for kind in kinds]
        if max(likeness) < LIKE:
            if len(kinds) == KINDS or len(row) >= COUNTED:  # the first of a bar comes sooner
                break
            kinds.append(following)
            begins = len(row)
        elif len(kinds) == KINDS and likeness[0] > likeness[1]:
            returns = True
        row.append(following)
        step = (times[row[-1]] - times[first]) / (len(row) - 1)
        expected = times[first] + step * len(row)
        following = int(np.argmin(np.abs(times - expected)))
        if following <= row[-1] or abs(times[following] - expected) > EVEN_S:
            break
    return row[:begins] if begins > 1 and not returns else row  # clicks, then notes


def _followed(times: Floats, kinds: Floats, alone: Starts, among: Starts) -> Clicks | None:
    """The row followed both ways through the starts that sound like those in it, ``kinds``.

    None where as many such starts lie beside it: hands that hit a few places well.
    """
    silent_s = alone.begun_s[_alike(alone.added, kinds)]
    like_s = np.concatenate([silent_s, among.begun_s[_alike(among.added, kinds)]])
    end_s = float(like_s.max())
    places = dict(enumerate(times.tolist()))
    for way in (1, -1):
        _follow(places, like_s, way, end_s)
    first, last = min(places), max(places)
    start_s, step_s = _line(places)
    row = [start_s + step_s * place for place in range(first, last + 1)]
    inside_s = np.unique(like_s[(like_s > row[0] - step_s) & (like_s < row[-1] + step_s)])
    beside = sum(_nearest(np.array(row), float(time_s), EVEN_S + HOP_S) is None for time_s in inside_s)
    if beside >= len(places):
        return None
    in_silence = [_nearest(silent_s, time_s, EVEN_S + HOP_S) is not None for time_s in row]
    counted = next((index for index, sounds in enumerate(in_silence) if not sounds), len(row))
    return Clicks(tuple(row), tuple(place in places for place in range(first, last + 1)), counted)


def _follow(places: dict[int, float], like_s: Floats, way: int, end_s: float) -> None:
    """Add the times of the clicks heard further on (``way`` 1) or before (-1), by place in the row."""
    place = latest = max(places) if way > 0 else min(places)
    start_s, step_s = _line(places)
    while abs(place - latest) <= MOST_MISSED:
        place += way
        expected_s = start_s + step_s * place
        if not 0 <= expected_s <= end_s + NEAR_S:
            return
        unsure_s = HOP_S * abs(place - latest) / (max(places) - min(places))  # the step is known no better
        found_s = _nearest(like_s, expected_s, min(EVEN_S + unsure_s, NEAR_S))
        if found_s is None:
            continue
        if abs(place - latest) > NEXT_HEARD and not any(
            _nearest(like_s, found_s + way * step_s * ahead, EVEN_S + HOP_S) for ahead in range(1, NEXT_HEARD + 1)
        ):
            continue
        places[place], latest = found_s, place
        start_s, step_s = _line(places)


def _line(places: dict[int, float]) -> tuple[float, float]:
    """When place 0 of an even row is, and the step from place to place."""
    step_s, start_s = np.polyfit(list(places), list(places.values()), 1)
    return float(start_s), float(step_s)


def _nearest(times: Floats, at_s: float, within_s: float) -> float | None:
    """Return the time nearest to ``at_s``, None where none is near enough."""
    nearest = float(times[np.abs(times - at_s).argmin()]) if times.size else np.inf
    return nearest if abs(nearest - at_s) <= within_s else None


def _alike(added: Floats, kinds: Floats) -> NDArray[np.bool_]:
    """Which starts hardly differ from one of the ``kinds``."""
    found = np.zeros(len(added), np.bool_)
    for kind in kinds:
        found |= np.linalg.norm(added - kind, axis=1) <= ALIKE * np.linalg.norm(kind)
    return found
