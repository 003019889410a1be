from fingering import Placement, agreement, solve
from fingering.agreement import total_agreement
from tests.fingering_music import line


def test_counts_by_hand():
    fingering = solve(line(57, 60, 62))  # string 4 fret 7 finger 3, string 3 fret 5 finger 1, string 3 fret 7 finger 3
    ours = [(p.string, p.fret, p.finger) for p in fingering.placements]
    assert ours == [(4, 7, 3), (3, 5, 1), (3, 7, 3)]
    reference = {
        "n0": Placement("n0", 4, 7, 4),  # same string, position one lower, other finger
        "n1": Placement("n1", 2, 1, 1),  # elsewhere
        "n2": Placement("n2", 3, 7, None),  # no finger known
    }
    found = agreement(fingering, reference)
    assert (found.string, found.string_of) == (2, 3)
    assert (found.position, found.position_of) == (1, 2)
    assert (found.finger, found.finger_of) == (1, 2)


def test_the_nearer_of_two_references_counts_and_totals_add_up():
    fingering = solve(line(57, 60))
    same = {p.id: p for p in fingering.placements}
    other = {p.id: Placement(p.id, 6, 17, 1) for p in fingering.placements}
    assert agreement(fingering, other, same).shares == (1.0, 1.0, 1.0)
    assert total_agreement([agreement(fingering, other), agreement(fingering, same)]).string_of == 4
