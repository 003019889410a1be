"""The player: any seed gives playing that six strings and two hands could do."""

import itertools

import numpy as np
import pytest

from transcribe.errors import NoteError
from transcribe.training.chords_played import strum
from transcribe.training.joined_played import PICKED_AGAIN, joined_together, slid_on
from transcribe.training.lines_played import line
from transcribe.training.music import STYLES, passage
from transcribe.training.pairs_played import octaves
from transcribe.training.touches import STANDARD_OPEN, Touch, without_overlaps


@pytest.mark.parametrize("style", STYLES)
def test_a_string_does_one_thing_at_a_time(style):
    for seed in range(40):
        played = passage(np.random.default_rng(seed), length_s=4.4, style=style)
        for string in range(6):
            mine = [touch for touch in played.touches if touch.string == string]
            for before, after in itertools.pairwise(mine):
                assert before.until_s <= after.at_s + 1e-9
                assert before.at_s < after.at_s


def test_the_same_seed_plays_the_same():
    one, other = (passage(np.random.default_rng(3), length_s=4.4) for _ in range(2))
    assert one == other


def test_every_technique_is_played():
    touches = [t for seed in range(400) for t in passage(np.random.default_rng(seed), length_s=4.4).touches]
    assert {t.attack for t in touches} == {"picked", "hammered", "slid"}
    assert {t.mute for t in touches} == {"none", "palm", "dead"}
    assert any(t.harmonic for t in touches)
    assert any(t.wave for t in touches)
    assert any(t.pushes and t.pushes[0][1] == 0.0 for t in touches), "bends made before the pick"
    assert any(not t.is_note and t.mute != "dead" for t in touches), "stray contacts and brushed strings"


def test_open_strings_are_not_bent_or_shaken():
    for seed in range(200):
        for touch in passage(np.random.default_rng(seed), length_s=4.4).touches:
            assert touch.fret > 0 or not (touch.pushes or touch.wave)


def test_oblique_bends_ring_beside_a_held_note():
    overlapping = 0
    for seed in range(20):
        played = passage(np.random.default_rng(seed), length_s=4.4, style="oblique bends").touches
        bent = [t for t in played if t.pushes]
        overlapping += any(
            o.string != b.string and o.at_s < b.until_s and o.until_s > b.pushes[0][0] for b in bent for o in played
        )
    assert overlapping >= 18


def test_a_joined_touch_follows_without_a_gap():
    rng = np.random.default_rng(0)
    pair = [Touch(2, 5, 0.1, 0.4), Touch(2, 7, 0.5, 0.9, attack="hammered")]
    first, second = without_overlaps(pair, rng, 2.0)
    assert first.until_s == second.at_s


def test_a_hand_slides_on_and_the_pick_strikes_where_it_arrives():
    rng = np.random.default_rng(0)
    pair = [Touch(2, 5, 0.1, 0.4), Touch(2, 9, 0.6, 0.9, glide_s=0.1)]
    first, second = without_overlaps(pair, rng, 2.0)
    assert 0.585 < first.until_s <= second.at_s, "the string sounds on the way, and stops under the pick"
    struck = [Touch(1, 2, 0.1, 0.9), Touch(2, 3, 0.1, 0.9)]
    found = [slid_on(rng, struck, 1.0, 0.5) for _ in range(300)]
    assert {len(pair) for pair in found} == {0, 2}, "both strings, or neither"
    pairs = [pair for pair in found if pair]
    for one, other in pairs:
        assert (one.attack, one.fret - 2) == (other.attack, other.fret - 3)
        assert one.glide_s == other.glide_s > 0
        assert abs(other.at_s - one.at_s) < 0.04
    assert len({np.sign(other.at_s - one.at_s) for one, other in pairs if one.attack == "picked"}) == 2, "up and down"
    picked = np.mean([one.attack == "picked" for one, _ in pairs])
    assert picked == pytest.approx(PICKED_AGAIN, abs=0.09)


def test_a_hand_that_slides_away_stays_on_the_neck():
    falls = 0
    for seed in range(400):
        rng = np.random.default_rng(seed)
        played = without_overlaps(line(rng, 0.0, 4.0), rng, 4.0)
        for k, touch in enumerate(played):
            if touch.fall is None:
                continue
            falls += 1
            frets, over_s = touch.fall
            assert 2 <= frets < touch.fret
            assert 0 < over_s <= 0.5 * (touch.until_s - touch.at_s) + 1e-9, "it sounds where it was fretted first"
            after = next((t for t in played[k + 1 :] if t.string == touch.string), None)
            assert after is None or (after.attack == "picked" and after.glide_s == 0), "nothing goes on from there"
    assert falls > 10
    with pytest.raises(NoteError, match="down the neck"):
        Touch(0, 3, 0.0, 1.0, fall=(4, 0.2))


def test_some_strings_are_joined_while_others_are_picked_again():
    rng = np.random.default_rng(0)
    struck = [Touch(1, 5, 0.1, 0.9), Touch(2, 5, 0.1, 0.9), Touch(3, 7, 0.1, 0.9)]
    found = [joined_together(rng, struck, 0.5, other=1.0)[:3] for _ in range(60)]
    picked = [tuple(t.string for t in joined if t.attack == "picked") for joined in found]
    assert {len(strings) for strings in picked} == {1, 2}, "some, never all"
    assert {string for strings in picked for string in strings} == {1, 2, 3}
    softer = [t.level_db for joined in found for t in joined if t.attack == "hammered"]
    assert max(softer) <= 0.0 == max(t.level_db for joined in found for t in joined if t.attack == "picked")


def test_fingers_land_or_leave_together_on_strings_that_sound():
    rng = np.random.default_rng(0)
    struck = [Touch(1, 5, 0.1, 0.9), Touch(2, 5, 0.1, 0.9)]
    found = [joined_together(rng, struck, 0.5) for _ in range(60)]
    assert {len(joined) for joined in found} == {2, 4}, "together, or there and back"
    for joined in found:
        assert all(t.attack == "hammered" and t.string in (1, 2) for t in joined)
        assert abs(joined[0].at_s - joined[1].at_s) < 0.04
        assert joined[0].fret != 5 != joined[1].fret
    ends = [joined[2:] for joined in found if len(joined) == 4]
    assert all(t.fret == 5 for back in ends for t in back)
    assert joined_together(rng, struck[:1], 0.5) == [], "one finger alone is no pair"


def test_octaves_are_octaves_and_what_lies_between_sounds_dead():
    for seed in range(20):
        played = octaves(np.random.default_rng(seed), 0.0, 4.0)
        notes = [t for t in played if t.is_note and t.attack == "picked"]
        for lower, upper in zip(notes[::2], notes[1::2], strict=True):
            pitches = [STANDARD_OPEN[t.string] + t.fret for t in (lower, upper)]
            assert pitches[1] - pitches[0] == 12
            assert abs(upper.fret - lower.fret) <= 3, "one hand reaches both"
            assert upper.at_s - lower.at_s < 0.05, "one stroke"
        assert all(t.mute == "dead" for t in played if not t.is_note)


def test_chords_are_struck_at_once_or_rolled():
    grip = {3: 2, 2: 2, 1: 1, 0: 0}
    spans = []
    for seed in range(200):
        moments = [touch.at_s for touch in strum(np.random.default_rng(seed), grip, 1.0, 2.0)]
        spans.append((max(moments) - min(moments)) / 3 if moments else 0.0)
    assert np.mean(np.array(spans) > 0.035) == pytest.approx(0.15, abs=0.06)
    assert np.max(spans) < 0.25
    assert np.median(spans) < 0.015
