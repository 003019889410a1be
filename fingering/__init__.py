"""Notes to fretboard positions a hand can play; standard library and numpy only."""

from fingering.agreement import Agreement, agreement
from fingering.alternatives import Alternative, alternatives
from fingering.cost import PROFILES, Profile
from fingering.errors import FingeringError, LimitError, LockError, PassageError, TuningError
from fingering.explain import Explanation, explain
from fingering.fretboard import Fretboard, Position, tuning_from_text, tuning_name
from fingering.needs import Limits
from fingering.passage import Passage, Placement, Pluck
from fingering.plucking import PICKING
from fingering.search import k_cheapest, solve
from fingering.shapes import limits_for_shape
from fingering.solution import Caution, Doubt, Fingering, ShapeSpan

__all__ = [
    "PICKING",
    "Agreement",
    "Alternative",
    "Caution",
    "Explanation",
    "agreement",
    "alternatives",
    "explain",
    "limits_for_shape",
    "PROFILES",
    "Doubt",
    "Fingering",
    "FingeringError",
    "Fretboard",
    "LimitError",
    "Limits",
    "LockError",
    "Passage",
    "PassageError",
    "Placement",
    "Pluck",
    "Position",
    "Profile",
    "ShapeSpan",
    "TuningError",
    "k_cheapest",
    "solve",
    "tuning_from_text",
    "tuning_name",
]
