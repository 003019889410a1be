import pytest

from transcribe.errors import ValueRuleError
from transcribe.notes import confidence_weights
from transcribe.notes.odds import LEAST_SURE, SUREST, Curve, Odds
from transcribe.training.calibrate import LEARNED

ODDS = Odds(0.0, {"salience": Curve((0.2, 0.8), (-1.0, 3.0)), "softer_db": Curve((6.0, 20.0), (0.0, -2.0))}, 0.5)


def test_grounds_add_up_to_log_odds():
    """Even odds of e to 1 are 0.731: the logistic function at 1."""
    assert ODDS.of({"salience": 0.5, "softer_db": 0.0}) == pytest.approx(0.731, abs=1e-3)
    assert ODDS.of({"salience": 0.8, "softer_db": 20.0}) == pytest.approx(0.731, abs=1e-3)


def test_outside_its_points_a_curve_is_flat_and_nothing_is_certain():
    assert ODDS.of({"salience": 9.0, "softer_db": -9.0}) == ODDS.of({"salience": 0.8, "softer_db": 6.0})
    steep = Odds(0.0, {"salience": Curve((0.0, 1.0), (-90.0, 90.0))}, 0.5)
    assert (steep.of({"salience": 0.0}), steep.of({"salience": 1.0})) == (LEAST_SURE, SUREST)


def test_the_largest_shortfall_comes_first():
    assert ODDS.weaknesses({"salience": 0.5, "softer_db": 7.0})[0] == ("salience", 2.0)
    assert ODDS.weaknesses({"salience": 0.8, "softer_db": 20.0})[0] == ("softer_db", 2.0)


@pytest.mark.parametrize("points", [((0.0, 0.0), (1.0, 2.0)), ((0.0,), (1.0,)), ((0.0, 1.0), (1.0,))])
def test_a_curve_has_rising_points(points):
    with pytest.raises(ValueRuleError):
        Curve(*points)


def test_the_doubted_share_lies_between_nothing_and_all():
    with pytest.raises(ValueRuleError):
        Odds(0.0, {}, 1.0)


@pytest.mark.parametrize("name", list(LEARNED))
def test_the_shipped_weights_keep_the_shapes_they_were_learned_with(name):
    """Every ground is there, turns where it may, and runs the way a player would say."""
    odds, shapes = getattr(confidence_weights, name), LEARNED[name][2]
    assert odds.curves.keys() == shapes.keys()
    for ground, curve in odds.curves.items():
        steps = [later - earlier for earlier, later in zip(curve.adds, curve.adds[1:], strict=False)]
        assert curve.at == shapes[ground].at
        assert all(step * shapes[ground].runs >= 0 for step in steps)
        assert max(map(abs, curve.adds)) < 12
    assert 0.3 < odds.doubted_below < 1
