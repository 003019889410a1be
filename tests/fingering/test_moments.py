from fingering import Passage, Pluck
from fingering.moments import moments_of


def test_a_strum_is_one_moment_and_a_hammer_on_is_another():
    plucks = (
        Pluck("a", 0.0, 1.0, 48),
        Pluck("b", 0.02, 1.0, 52),
        Pluck("c", 0.03, 1.0, 53, join="hammer-on", joined_to="b"),
    )
    first, second = moments_of(Passage(plucks))
    assert (first.new, second.new) == ((0, 1), (2,))
    assert set(second.held) == {0, 1}


def test_a_note_is_held_while_it_rings_but_not_for_a_moment_more():
    plucks = (Pluck("a", 0.0, 1.04, 48), Pluck("b", 0.5, 1.0, 60), Pluck("c", 1.0, 1.5, 62))
    _, second, third = moments_of(Passage(plucks))
    assert second.held == (0,)
    assert third.held == ()


def test_a_pluck_another_is_joined_to_is_kept_in_mind_until_then():
    plucks = (
        Pluck("a", 0.0, 0.4, 60),
        Pluck("b", 0.5, 0.9, 48),
        Pluck("c", 1.0, 1.5, 62, join="slide", joined_to="a"),
    )
    _, second, third = moments_of(Passage(plucks))
    assert second.held == (0,)
    assert third.held == (0,)


def test_the_time_to_move_is_counted_from_the_moment_before():
    first, second = moments_of(Passage((Pluck("a", 2.0, 2.5, 60), Pluck("b", 2.75, 3.0, 62))))
    assert second.since_s == 0.75
    assert first.midis == (60,)
