"""Notes to fretboard positions a hand can play; standard library and numpy only."""

from fingering.cost import PROFILES, Profile
from fingering.errors import FingeringError, LockError, PassageError, TuningError
from fingering.fretboard import Fretboard, Position, tuning_from_text, tuning_name
from fingering.needs import Limits
from fingering.passage import Passage, Placement, Pluck
from fingering.search import k_cheapest, solve
from fingering.solution import Doubt, Fingering, ShapeSpan

__all__ = [
    "PROFILES",
    "Doubt",
    "Fingering",
    "FingeringError",
    "Fretboard",
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
