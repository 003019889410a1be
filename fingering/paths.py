"""The cheapest way through the layers, and the next cheapest: exact dynamic programming.

Each state keeps its ``k`` cheapest ways to be reached (R. Bellman, "Dynamic Programming", 1957; the k-best form is
the plain one: k entries a state). States that no cheapest way can use are dropped by a bound: movement is a metric, so
a state dearer than a neighbour plus the move to it never wins.
Time grows with the number of moments, memory too.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from fingering.cost import TERMS, Profile, hurry
from fingering.fretboard import Fretboard
from fingering.harmonies import NO_LINK
from fingering.holding import group_rows
from fingering.layers import Layer, base_of, handed_on, layer_for, ring_loss
from fingering.moments import Moment
from fingering.moves import Moves, move_costs, moves_for, shapes_between
from fingering.needs import Limits
from fingering.passage import Pluck

# Beyond this many states a moment, what rings is kept only where it is cheapest: dense music that all rings would need
# a number of states that doubles with every ringing note. Choices of ours, far above what a lick or a score needs.
MOST_STATES = 6000
FEWEST_HELD = 240
NOTHING_HELD = np.zeros((1, 0, 3), dtype=np.int16)


@dataclass(frozen=True, slots=True)
class Way:
    """One way through a passage: a state of every layer, and its whole cost."""

    states: tuple[int, ...]
    cost: float


@dataclass(frozen=True, slots=True)
class Found:
    """The layers that were searched and the cheapest ways through them, cheapest first."""

    layers: tuple[Layer, ...]
    ways: tuple[Way, ...]
    unproved: tuple[int, ...] = ()  # moments before which ways were dropped unseen: the cheapest may be among them


def search(
    moments: Sequence[Moment],
    plucks: tuple[Pluck, ...],
    fretboard: Fretboard,
    profile: Profile,
    limits: dict[int, Limits] | None = None,
    k: int = 1,
) -> Found:
    """Return the ``k`` cheapest ways that differ in where or how some note is held; fewer when there are no more."""
    moves = moves_for(fretboard, profile)
    weights = np.array([profile[term] for term in TERMS])
    layers: list[Layer] = []
    fronts: list[Front] = []
    unproved: list[int] = []
    for at, moment in enumerate(moments):
        before = layers[-1] if layers else None
        ways = len(base_of(moment, plucks, fretboard, profile, limits or {}).position)
        incoming, came, margin = NOTHING_HELD, None, float("inf")
        if before is not None:
            incoming, came, margin = incoming_of(before, fronts[-1], moment, ways)
            if margin < most_gain(before, moment, plucks, moves, profile):
                unproved.append(at)
        layer = layer_for(moment, plucks, incoming, fretboard, profile, limits or {})
        own = layer.counts @ weights
        after = moments[at + 1] if at + 1 < len(moments) else None
        if before is None or came is None:
            front = _first_front(own, k)
        else:
            if k == 1:
                keep = _may_win(before, came, fronts[-1].cost[0], layer, own, after, moves)
                layer, own = layer.take(keep), own[keep]
            front = _advance(before, came, fronts[-1], layer, own, moves)
        keep = _worth_keeping(layer, front.cost, after, moves, 0.0)
        layer, front = layer.take(keep), front.take(keep)
        if k > 1:
            front = replace(front, history=_histories(layer, front))
        layers.append(layer)
        fronts.append(front)
    return Found(tuple(layers), _trace(fronts, k), tuple(unproved))


@dataclass(frozen=True, slots=True)
class Front:
    """The cheapest ways to reach each of n states, k a state, cheapest first; infinite where there are no more."""

    cost: np.ndarray  # (k, n)
    back: np.ndarray  # (k, n) the state before
    rank: np.ndarray  # (k, n) which of the ways to that state
    history: np.ndarray  # (k, n) equal where every note so far is held alike; used when k > 1

    def take(self, rows: np.ndarray) -> Front:
        """Return the ways to these states only."""
        return Front(self.cost[:, rows], self.back[:, rows], self.rank[:, rows], self.history[:, rows])


def _first_front(own: np.ndarray, k: int) -> Front:
    cost = np.full((k, len(own)), np.inf)
    cost[0] = own
    nothing = np.zeros((k, len(own)), dtype=np.int64)
    return Front(cost, nothing - 1, nothing, nothing)


def _histories(layer: Layer, front: Front) -> np.ndarray:
    """Return numbers that are equal where the notes so far lie alike, whatever the hand did between."""
    _, held = group_rows(layer.spots[:, : len(layer.moment.new)])
    both = front.history * (int(held.max(initial=0)) + 1) + held[None, :]
    return np.unique(both, return_inverse=True)[1].reshape(both.shape).astype(np.int64)


def _may_win(
    before: Layer,
    came: np.ndarray,
    reached: np.ndarray,
    layer: Layer,
    own: np.ndarray,
    after: Moment | None,
    moves: Moves,
) -> np.ndarray:
    """Return the states that may still be on the cheapest way, before any step into them is worked out."""
    floor = np.full(len(layer.incoming), np.inf)
    np.minimum.at(floor, came[came >= 0], reached[came >= 0])
    return _worth_keeping(
        layer, (floor[layer.came_with] + own)[None, :], after, moves, _most_entry(before, layer, moves)
    )


def incoming_of(before: Layer, front: Front, moment: Moment, ways: int) -> tuple[np.ndarray, np.ndarray, float]:
    """Return the distinct placements of held notes, (q, held, 3), which of them each state before brings, and a margin.

    When what rings can lie in very many ways, only the cheapest are kept and the others are -1; the margin is how much
    dearer than the cheapest the best of those is, infinite when all are kept. ``ways`` is how many ways there are to
    hold the new notes.
    """
    held = handed_on(before, moment)
    first, group = group_rows(held)
    most = max(FEWEST_HELD, MOST_STATES // ways)
    if len(first) <= most:
        return held[first], group, float("inf")
    floor = np.full((len(front.cost), len(first)), np.inf)
    for row, cost in enumerate(front.cost):
        np.minimum.at(floor[row], group, cost)
    least = floor.min(axis=1, keepdims=True)
    above = (floor - np.where(np.isfinite(least), least, 0.0)).min(axis=0)
    order = np.argsort(above, kind="stable")
    kept = np.sort(order[:most])
    number = np.full(len(first), -1)
    number[kept] = np.arange(len(kept))
    return held[first[kept]], number[group], float(above[order[most]])


def most_gain(before: Layer, moment: Moment, plucks: tuple[Pluck, ...], moves: Moves, profile: Profile) -> float:
    """Return the most that a dearer placement of ringing notes can make up for from here on.

    Any way from the cheapest state can let the rings go and take the same new grips: it pays for the rings cut short,
    for the move, and twice for fingers that could have led or stayed. A note waited for by a join cannot be let go.
    """
    waited_for = {plucks[index].joined_to for index in moment.new}
    if any(plucks[index].id in waited_for for index in moment.held):
        return float("inf")
    cut = sum(ring_loss(plucks[index], moment.onset_s) for index in moment.held) * profile["cut short"]
    rush = hurry(moment.since_s)
    repeats = moves.repeat * len(before.moment.repeated_in(moment))
    return cut + rush * (float(moves.hand.max()) + 8 * moves.most_finger) + moves.most_strings + repeats + moves.shape


def _advance(before: Layer, came: np.ndarray, front: Front, layer: Layer, own: np.ndarray, moves: Moves) -> Front:
    """Return the cheapest ways to reach each state of ``layer`` from the states before."""
    k, n = len(front.cost), len(own)
    cost = np.full((k, n), np.inf)
    back, rank, history = (np.zeros((k, n), dtype=np.int64) for _ in range(3))
    shapes = shapes_between(before, layer, moves.fretboard)
    for group in range(len(layer.incoming)):
        rows = np.nonzero(came == group)[0]
        columns = np.nonzero(layer.came_with == group)[0]
        if not len(rows) or not len(columns):
            continue
        step = move_costs(before, rows, layer, columns, moves, shapes)
        if k == 1:
            total = front.cost[0, rows][:, None] + step
            best = np.argmin(total, axis=0)
            cost[0, columns] = total[best, np.arange(len(columns))] + own[columns]
            back[0, columns] = rows[best]
            continue
        total = (front.cost[:, rows][:, :, None] + step[None]).reshape(k * len(rows), len(columns))
        histories = front.history[:, rows].reshape(-1)
        best, filled = _cheapest_histories(total, histories, k)
        reached = np.take_along_axis(total, best, axis=0) + own[columns]
        cost[: len(best), columns] = np.where(filled, reached, np.inf)
        back[: len(best), columns] = rows[best % len(rows)]
        rank[: len(best), columns] = best // len(rows)
        history[: len(best), columns] = histories[best]
    return Front(cost, back, rank, history)


def _cheapest_histories(total: np.ndarray, histories: np.ndarray, k: int) -> tuple[np.ndarray, np.ndarray]:
    """Return, per column, the rows of the ``k`` cheapest different histories, and whether there is such a way."""
    order = np.argsort(histories, kind="stable")
    starts = np.flatnonzero(np.r_[True, np.diff(histories[order]) > 0])
    ordered = total[order]
    least = np.minimum.reduceat(ordered, starts, axis=0)
    member = np.repeat(np.arange(len(starts)), np.diff(np.r_[starts, len(order)]))
    at = np.where(ordered == least[member], np.arange(len(order))[:, None], len(order))
    where = np.minimum.reduceat(at, starts, axis=0)
    chosen = np.argsort(least, axis=0, kind="stable")[:k]
    best = order[np.take_along_axis(where, chosen, axis=0)]
    return best, np.isfinite(np.take_along_axis(least, chosen, axis=0))


def _trace(fronts: list[Front], k: int) -> tuple[Way, ...]:
    ways: list[Way] = []
    last = fronts[-1]
    seen: set[int] = set()
    for end in np.argsort(last.cost.reshape(-1), kind="stable"):
        rank, state = divmod(int(end), last.cost.shape[1])
        cost, history = float(last.cost[rank, state]), int(last.history[rank, state])
        if not np.isfinite(cost) or len(ways) == k:
            break
        if history in seen:
            continue
        seen.add(history)
        states = [state]
        for front in reversed(fronts[1:]):
            state, rank = int(front.back[rank, state]), int(front.rank[rank, state])
            states.append(state)
        ways.append(Way(tuple(reversed(states)), cost))
    return tuple(ways)


def _most_entry(before: Layer, layer: Layer, moves: Moves) -> float:
    """Return the dearest step there can be into this layer."""
    fingers = min(4, int((layer.codes > 0).sum(axis=1).max(initial=0)))
    repeats = moves.repeat * len(before.moment.repeated_in(layer.moment)) + moves.most_strings
    repeats += moves.shape * (layer.moment.link is not NO_LINK)
    return hurry(layer.moment.since_s) * (float(moves.hand.max()) + fingers * moves.most_finger) + repeats


def _worth_keeping(layer: Layer, cost: np.ndarray, after: Moment | None, moves: Moves, slack: float) -> np.ndarray:
    """Return the states some cheapest way may still use; ``cost`` (k, n) may be ``slack`` below what it will be.

    A state is not worth keeping when some state that hands on the same held notes has k ways that stay cheaper even
    after moving the hand over and paying the dearest finger step there is.
    """
    if after is None:
        return np.arange(cost.shape[1])
    return np.nonzero(may_be_used(layer, cost[:1], cost[-1:], after, moves, slack)[0])[0]


def may_be_used(
    layer: Layer, cost: np.ndarray, dearest: np.ndarray, after: Moment, moves: Moves, slack: float
) -> np.ndarray:
    """Return (ways, n): per kind of way, whether a state's ``cost`` is within reach of the cheapest ``dearest``."""
    rush = hurry(after.since_s)
    _, group = group_rows(handed_on(layer, after))
    n_positions = len(moves.hand)
    flat = np.full((len(cost), (int(group.max()) + 1) * n_positions), np.inf)
    for row, values in enumerate(dearest):
        np.minimum.at(flat[row], group * n_positions + layer.position, values)
    cheapest = flat.reshape(len(cost), -1, n_positions)
    bound = (cheapest[:, :, :, None] + rush * moves.hand[None, None]).min(axis=2)
    fingers = min(4, int((layer.codes > 0).sum(axis=1).max(initial=0)))
    repeats = moves.repeat * len(layer.moment.repeated_in(after))
    shapes = moves.shape * (after.link is not NO_LINK)
    extra = slack + rush * fingers * moves.most_finger + moves.most_strings + repeats + shapes + 1e-4
    return np.isfinite(cost) & (cost <= bound[:, group, layer.position] + extra)
