"""How likely something heard is right: a sum of what each ground adds to the log-odds, read from plain numbers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from transcribe.errors import ValueRuleError

SUREST, LEAST_SURE = 0.999, 0.001  # nothing heard is quite certain


@dataclass(frozen=True, slots=True)
class Curve:
    """What a ground adds, by its value: straight lines between points, flat outside them."""

    at: tuple[float, ...]  # values of the ground, rising
    adds: tuple[float, ...]  # log-odds there

    def __post_init__(self) -> None:
        if len(self.at) != len(self.adds) or len(self.at) < 2:
            raise ValueRuleError(f"a curve has as many values as points, two at least; got {self.at} and {self.adds}")
        if any(later <= earlier for earlier, later in pairwise(self.at)):
            raise ValueRuleError(f"the points of a curve rise; got {self.at}")

    def of(self, value: float) -> float:
        """Return what the ground adds to the log-odds at ``value``."""
        return float(np.interp(value, self.at, self.adds))


@dataclass(frozen=True, slots=True)
class Odds:
    """Curves by the name of their ground, after T. Hastie and R. Tibshirani, "Generalized Additive Models", 1986."""

    base: float  # log-odds with nothing added
    curves: Mapping[str, Curve]
    doubted_below: float  # probability under which a person should look

    def __post_init__(self) -> None:
        if not 0 < self.doubted_below < 1:
            raise ValueRuleError(f"the doubted share lies between 0 and 1; got {self.doubted_below}")

    def of(self, grounds: Mapping[str, float]) -> float:
        """Return the probability, LEAST_SURE to SUREST. Every curve's ground must be there; others are not used.

        >>> even = Odds(0.0, {"length_s": Curve((0.0, 0.1), (0.0, 2.0))}, 0.5)
        >>> round(even.of({"length_s": 0.05}), 3), round(even.of({"length_s": 5.0}), 3)
        (0.731, 0.881)
        """
        evidence = self.base + sum(curve.of(grounds[name]) for name, curve in self.curves.items())
        return float(np.clip(1.0 / (1.0 + np.exp(-evidence)), LEAST_SURE, SUREST))

    def weaknesses(self, grounds: Mapping[str, float]) -> tuple[tuple[str, float], ...]:
        """Return (ground, log-odds it falls short of its best), the largest shortfall first."""
        short = [(name, max(curve.adds) - curve.of(grounds[name])) for name, curve in self.curves.items()]
        return tuple(sorted(short, key=lambda each: -each[1]))
