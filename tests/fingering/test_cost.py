import pytest

from fingering import PROFILES, FingeringError, solve
from fingering.cost import TERMS, hurry
from tests.fingering_music import line


def test_every_weight_has_a_unit_and_a_source():
    for profile in PROFILES.values():
        assert set(profile.weights) == set(TERMS)
        assert all(weight.unit and weight.source and weight.value >= 0 for weight in profile.weights.values())


def test_movement_is_harder_with_less_time():
    assert hurry(0.25) == 1
    assert hurry(0.1) > 1 > hurry(1.0)
    assert hurry(0.0) == hurry(1e-9)


def test_a_weight_can_be_changed_and_says_so():
    changed = PROFILES["lead line"].with_weights(open_string=9.0)
    assert changed["open string"] == 9.0
    assert changed.weights["open string"].source == "set by the caller"
    assert PROFILES["lead line"]["open string"] != 9.0


def test_open_strings_follow_the_profile():
    shy = PROFILES["classical"].with_weights(open_string=9.0)
    assert 0 in [place.fret for place in solve(line(64, 65, 67, 65, 64), profile="classical").placements]
    assert 0 not in [place.fret for place in solve(line(64, 65, 67, 65, 64), profile=shy).placements]


def test_an_unknown_profile_names_the_known_ones():
    with pytest.raises(FingeringError, match="no cost profile 'jazz'") as caught:
        solve(line(60), profile="jazz")
    assert "country double stops" in caught.value.mend
