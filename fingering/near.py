"""The cheapest way near each of several parts of the neck, found in one walk."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from fingering.base import COLUMN
from fingering.cost import TERMS, Profile
from fingering.fretboard import Fretboard
from fingering.layers import Layer, base_of, layer_for
from fingering.moments import Moment
from fingering.moves import Moves, move_costs, moves_for, shapes_between
from fingering.needs import Limits
from fingering.passage import Pluck
from fingering.paths import NOTHING_HELD, Found, Front, Way, incoming_of, may_be_used, most_gain


def search_near(
    moments: Sequence[Moment],
    plucks: tuple[Pluck, ...],
    fretboard: Fretboard,
    profile: Profile,
    limits: dict[int, Limits],
    anchors: Sequence[int | None],
) -> Found:
    """Return the cheapest way with the hand near each anchor (a hand position; None lets it go anywhere).

    One walk serves all anchors: the steps are worked out once. A way leaves its part of the neck only where nothing
    sound lies in it.
    """
    moves = moves_for(fretboard, profile)
    weights = np.array([profile[term] for term in TERMS])
    layers: list[Layer] = []
    fronts: list[Front] = []
    unproved: list[int] = []
    for at, moment in enumerate(moments):
        before = layers[-1] if layers else None
        ways_here = len(base_of(moment, plucks, fretboard, profile, limits).position)
        incoming, came, margin = NOTHING_HELD, None, float("inf")
        if before is not None:
            incoming, came, margin = incoming_of(before, fronts[-1], moment, ways_here)
            if margin < most_gain(before, moment, plucks, moves, profile):
                unproved.append(at)
        layer = layer_for(moment, plucks, incoming, fretboard, profile, limits)
        own = np.where(_near(layer, anchors), layer.counts @ weights, np.inf)
        if before is None or came is None:
            front = Front(own, *(np.zeros(own.shape, dtype=np.int64) for _ in range(3)))
        else:
            front = _advance_each(before, came, fronts[-1], layer, own, moves)
        if at + 1 < len(moments):
            used = may_be_used(layer, front.cost, front.cost, moments[at + 1], moves, 0.0)
            front = replace(front, cost=np.where(used, front.cost, np.inf))
        keep = np.nonzero(np.isfinite(front.cost).any(axis=0))[0]
        layers.append(layer.take(keep))
        fronts.append(front.take(keep))
    ways = []
    for anchor in range(len(anchors)):
        state = int(np.argmin(fronts[-1].cost[anchor]))
        cost = float(fronts[-1].cost[anchor, state])
        states = [state]
        for front in reversed(fronts[1:]):
            state = int(front.back[anchor, state])
            states.append(state)
        ways.append(Way(tuple(reversed(states)), cost))
    return Found(tuple(layers), tuple(ways), tuple(unproved))


NEAR_FRETS = 2  # the hand stays this close to its anchor; a choice of ours


def _near(layer: Layer, anchors: Sequence[int | None]) -> np.ndarray:
    """Return (anchors, n): which states stay near each anchor, or as near as a sound grip allows."""
    sound = layer.counts[:, COLUMN["fault"]] <= layer.counts[:, COLUMN["fault"]].min()
    near = np.ones((len(anchors), len(layer.position)), dtype=bool)
    for row, anchor in enumerate(anchors):
        if anchor is not None:
            away = np.abs(layer.position.astype(int) - anchor)
            near[row] = away <= max(NEAR_FRETS, int(away[sound].min()) + 1)
    return near


def _advance_each(before: Layer, came: np.ndarray, front: Front, layer: Layer, own: np.ndarray, moves: Moves) -> Front:
    cost = np.full(own.shape, np.inf)
    back = np.zeros(own.shape, dtype=np.int64)
    shapes = shapes_between(before, layer, moves.fretboard)
    for group in range(len(layer.incoming)):
        rows = np.nonzero(came == group)[0]
        columns = np.nonzero(layer.came_with == group)[0]
        if not len(rows) or not len(columns):
            continue
        step = move_costs(before, rows, layer, columns, moves, shapes)
        # near any one anchor only a few states are open: work on those
        for anchor in range(len(own)):
            came_open = np.isfinite(front.cost[anchor, rows])
            goes_open = np.isfinite(own[anchor, columns])
            total = front.cost[anchor, rows[came_open]][:, None] + step[came_open][:, goes_open]
            if not total.size:
                continue
            best = np.argmin(total, axis=0)
            into = columns[goes_open]
            cost[anchor, into] = total[best, np.arange(len(into))] + own[anchor, into]
            back[anchor, into] = rows[came_open][best]
    return Front(cost, back, back, back)
