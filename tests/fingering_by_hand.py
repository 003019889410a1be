"""Every way through a small passage, by walking all of them: what the search must equal."""

from __future__ import annotations

import numpy as np

from fingering.cost import TERMS
from fingering.layers import handed_on, layer_for
from fingering.moments import moments_of
from fingering.moves import move_counts

MOST_WAYS = 3000  # passages with more ways to play them are not enumerated


def every_cost(passage, neck, profile, most_ways=MOST_WAYS):
    """Cost of every way to hold the notes, cheapest first, by walking all of them; None when there are too many."""
    weights = np.array([profile[term] for term in TERMS])
    ways = [(None, 0, 0.0, ())]
    for moment in moments_of(passage):
        longer = []
        for before, row, cost, held in ways:
            incoming = handed_on(before, moment)[row : row + 1] if before else np.zeros((1, 0, 3), dtype=np.int16)
            layer = layer_for(moment, passage.plucks, incoming, neck, profile, {})
            if len(ways) * len(layer.position) > most_ways:
                return None
            for state in range(len(layer.position)):
                step = float(layer.counts[state] @ weights)
                if before is not None:
                    step += sum(
                        n * profile[t] for t, n in move_counts(before, row, layer, state, neck, profile).items()
                    )
                new = tuple(layer.spots[state, : len(moment.new)].flatten().tolist())
                longer.append((layer, state, cost + step, (*held, new)))
        ways = longer
    cheapest = {}
    for _, _, cost, held in ways:
        cheapest[held] = min(cost, cheapest.get(held, np.inf))
    return sorted(cheapest.values())
