"""The cheapest way through the layers, and the next cheapest: exact dynamic programming.

Each state keeps its ``k`` cheapest ways to be reached (R. Bellman, "Dynamic Programming", 1957; the k-best form is
the plain one: k entries a state). States that no cheapest way can use are dropped by a bound: movement is a metric, so
a state dearer than a neighbour plus the move to it never wins.
Time grows with the number of moments, memory too.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fingering.cost import TERMS, Profile, hurry
from fingering.fretboard import Fretboard
from fingering.layers import Layer, group_rows, layer_for
from fingering.moments import Moment
from fingering.moves import Moves, move_costs, moves_for
from fingering.needs import Limits
from fingering.passage import Pluck


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


def search(
    moments: Sequence[Moment],
    plucks: tuple[Pluck, ...],
    fretboard: Fretboard,
    profile: Profile,
    limits: dict[int, Limits] | None = None,
    k: int = 1,
) -> Found:
    """Return the ``k`` cheapest ways to play the moments; fewer when there are no more."""
    moves = moves_for(fretboard, profile)
    weights = np.array([profile[term] for term in TERMS])
    layers: list[Layer] = []
    backs: list[np.ndarray] = []
    reached = np.zeros((1, 0))
    for at, moment in enumerate(moments):
        incoming, came = _incoming(layers[-1], moment) if layers else (np.zeros((1, 0, 3), dtype=np.int16), None)
        layer = layer_for(moment, plucks, incoming, fretboard, profile, limits or {})
        own = layer.counts @ weights
        after = moments[at + 1] if at + 1 < len(moments) else None
        if came is not None:
            floor = np.full(len(incoming), np.inf)
            np.minimum.at(floor, came, reached[0])
            slack = _most_entry(layers[-1], layer, moves)
            keep = _worth_keeping(layer, floor[layer.came_with] + own, after, moves, slack, k)
            layer, own = layer.take(keep), own[keep]
        cost, back = _reach(layers[-1] if layers else None, came, reached, layer, own, moves, k)
        keep = _worth_keeping(layer, cost[0], after, moves, 0.0, k)
        layer, reached = layer.take(keep), cost[:, keep]
        layers.append(layer)
        backs.append(back[:, keep])
    return Found(tuple(layers), _trace(reached, backs, k))


def _incoming(before: Layer, moment: Moment) -> tuple[np.ndarray, np.ndarray]:
    """Return the distinct placements of held notes, (q, held, 3), and which of them each state before brings."""
    columns = [before.notes.index(index) for index in moment.held]
    held = before.spots[:, columns]
    first, group = group_rows(held)
    return held[first], group


def _reach(
    before: Layer | None,
    came: np.ndarray | None,
    reached: np.ndarray,
    layer: Layer,
    own: np.ndarray,
    moves: Moves,
    k: int,
) -> tuple[np.ndarray, np.ndarray]:
    """Return the k cheapest costs of reaching each state, (k, n), and the (state, rank) before as one number."""
    n = len(own)
    if before is None or came is None:
        cost = np.full((k, n), np.inf)
        cost[0] = own
        return cost, np.full((k, n), -1, dtype=np.int64)
    cost = np.full((k, n), np.inf)
    back = np.full((k, n), -1, dtype=np.int64)
    for group in range(len(layer.incoming)):
        rows = np.nonzero(came == group)[0]
        columns = np.nonzero(layer.came_with == group)[0]
        if not len(rows) or not len(columns):
            continue
        step = move_costs(before, rows, layer, columns, moves)
        if k == 1:
            total = reached[0, rows][:, None] + step
            best = np.argmin(total, axis=0)
            cost[0, columns] = total[best, np.arange(len(columns))] + own[columns]
            back[0, columns] = rows[best]
            continue
        total = (reached[:, rows][:, :, None] + step[None]).reshape(k * len(rows), len(columns))
        best = np.argsort(total, axis=0, kind="stable")[:k]
        cost[:, columns] = np.take_along_axis(total, best, axis=0) + own[columns]
        back[:, columns] = rows[best % len(rows)] * k + best // len(rows)
    return cost, back


def _trace(reached: np.ndarray, backs: list[np.ndarray], k: int) -> tuple[Way, ...]:
    ways = []
    flat = reached.reshape(-1)
    for end in np.argsort(flat, kind="stable")[:k]:
        if not np.isfinite(flat[end]):
            break
        rank, state = divmod(int(end), reached.shape[1])
        states = [state]
        for back in reversed(backs[1:]):
            state, rank = divmod(int(back[rank, state]), k)
            states.append(state)
        ways.append(Way(tuple(reversed(states)), float(flat[end])))
    return tuple(ways)


def _most_entry(before: Layer, layer: Layer, moves: Moves) -> float:
    """Return the dearest step there can be between these layers."""
    fingers = min(4, int((layer.codes > 0).sum(axis=1).max(initial=0)))
    rush = hurry(layer.moment.since_s)
    return rush * (float(moves.hand.max()) + fingers * moves.most_finger) + moves.most_centre


def _worth_keeping(
    layer: Layer, cost: np.ndarray, after: Moment | None, moves: Moves, slack: float, k: int
) -> np.ndarray:
    """Return the rows some cheapest way may still use. ``cost`` may be ``slack`` below what it will be."""
    if after is None or k > 1:
        return np.arange(len(cost))
    rush = hurry(after.since_s)
    carried = [layer.notes.index(index) for index in after.held]
    _, group = group_rows(layer.spots[:, carried])
    cheapest = np.full((group.max() + 1, len(moves.hand)), np.inf)
    np.minimum.at(cheapest, (group, layer.position), cost)
    bound = (cheapest[:, :, None] + rush * moves.hand[None]).min(axis=1)
    fingers = min(4, int((layer.codes > 0).sum(axis=1).max(initial=0)))
    extra = slack + rush * fingers * moves.most_finger + moves.most_centre + 1e-6
    return np.nonzero(cost <= bound[group, layer.position] + extra)[0]
