"""Learning the judge of readings: from tunes to a file of weights that answers as the learner does."""

import json
from fractions import Fraction

import numpy as np
import pytest

from transcribe.rhythm.features import METERS
from transcribe.rhythm.judge import Network
from transcribe.rhythm.rhythm import Meter
from transcribe.rhythm.standing import NOTE_ROW
from transcribe.training.judge_net import JudgeNet, batch_of, loss_of
from transcribe.training.judged_lines import tune_lines, tunes_learned_from
from transcribe.training.learn_judge import first_right, learned, lines_of, weights_text
from transcribe.training.tunes import Tune

THREE_FOUR, TWO_FOUR = Meter(3, 4), Meter(2, 4)


def tune(number, meter=THREE_FOUR):
    """Twelve bars: a long note and one or two short ones, tonic and dominant in turn."""
    rng = np.random.default_rng(number)
    places, midis = [], []
    for bar in range(12):
        home = (60, 67)[bar % 2]
        for place in (Fraction(0), meter.bar_beats - 1, meter.bar_beats - Fraction(1, 2))[: 2 + int(rng.integers(2))]:
            places.append(bar * meter.bar_beats + place)
            midis.append(home + int(rng.choice([0, 4, 7])) * (place > 0))
    lengths = [after - before for before, after in zip(places, [*places[1:], 12 * meter.bar_beats], strict=True)]
    return Tune(f"tune {number}", f"tune {number}", meter, tuple(places), tuple(lengths), tuple(midis), whole=True)


@pytest.fixture(scope="module")
def lines():
    return list(lines_of([(tune(number), Fraction(0)) for number in range(6)], workers=1))


def test_every_line_has_a_right_reading_and_wrong_ones(lines):
    assert len(lines) >= 12
    for line in lines:
        assert line.right.any()
        assert not line.right.all()
        assert line.packed.shape == (line.meters.size * line.weight.size, -(-NOTE_ROW // 8))


def test_two_bars_of_two_four_are_one_of_four_four_wherever_it_begins():
    two = next(one for one in (tune(number, TWO_FOUR) for number in range(20)) if not one.held_out)
    ((learned_as, moved),) = tunes_learned_from([two])
    assert (learned_as.meter, moved) == (Meter(4, 4), 2)
    (line,) = list(tune_lines(learned_as, moved, 1))
    assert line.right.sum() >= 2


def test_the_slopes_are_those_of_the_cost(lines):
    net = JudgeNet(np.ones(lines[0].facts.shape[1], np.float32), 1)
    batch = batch_of(lines[:3], net.scale)
    _, pull = loss_of(batch, net.nats(batch))
    slopes = net.slopes(batch, pull)
    for name, values in net.weights.items():
        index = np.unravel_index(int(np.abs(slopes[name]).argmax()), values.shape)
        kept, costs = values[index], []
        for shift in (1e-2, -1e-2):
            values[index] = kept + shift
            costs.append(loss_of(batch, net.nats(batch))[0])
        values[index] = kept
        assert (costs[0] - costs[1]) / 2e-2 == pytest.approx(slopes[name][index], rel=0.1, abs=1e-3), name


def test_it_learns_and_ships_what_it_learned(lines):
    net = learned(lines, 0, epochs=30)
    assert np.mean(first_right([net], lines)) >= 0.9
    told = json.loads(weights_text([net]))
    assert told["meters"] == list(METERS)
    shipped = Network(**{name: np.array(values, np.float32) for name, values in told["networks"][0].items()})
    line = lines[0]
    batch = batch_of([line], net.scale)
    notes = np.split(batch.notes.astype(np.uint8), line.meters.size)
    answer = shipped.nats(notes, line.weight, line.facts, line.meters.tolist())
    assert answer == pytest.approx(net.nats(batch), abs=0.05)
