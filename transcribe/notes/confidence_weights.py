"""What each ground adds to the log-odds that a note is right.

Written by ``python -m transcribe.training.calibrate``; not to be edited by hand.
"""

from __future__ import annotations

from transcribe.notes.odds import Curve, Odds

_OLD = {
    "salience": Curve((0.0, 0.8), (0.0, 3.2)),
    "strike": Curve((0.0, 1.0), (0.0, 4.0)),
    "length_s": Curve((0.0, 0.15), (0.0, 2.6)),
    "octave": Curve((0.0, 1.0), (0.0, -2.6)),
    "unsteady_cents": Curve((0.0, 20.0), (0.0, -2.1)),
    "gestures": Curve((0.0, 1.0), (-2.3, 0.0)),
    "softer_db": Curve((12.0, 40.0), (0.0, -5.6)),
    "off_cents": Curve((15.0, 50.0), (0.0, -1.75)),
}
LINE = LINE_ALONE = Odds(-5.9, _OLD, 0.7)
SEVERAL = Odds(-3.0, {"sure": Curve((0.0, 1.0), (0.0, 3.0)), "contour": Curve((0.0, 1.0), (0.0, 3.0))}, 0.7)
