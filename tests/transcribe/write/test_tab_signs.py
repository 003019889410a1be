"""Single notes in the usual signs of text tab (common practice)."""

from dataclasses import replace

import pytest

from fingering.passage import Placement
from transcribe.document.model import TakeNote
from transcribe.notes.note import Bend, Note, Slide, Vibrato
from transcribe.score.score import ScoreNote, Spelled
from transcribe.write.tab_signs import MEANINGS, cell, joint

PLAIN = Note("n1", 0.0, 1.0, 62, attack="picked")


def head(note=PLAIN, fret=7, **told):
    return ScoreNote(TakeNote(note, Placement(note.id, 3, fret, None)), Spelled("D", 0, 4), **told)


def bent(*pushes):
    return replace(PLAIN, bends=tuple(Bend(kind, 0.1, 0.2, 0.3, cents, cents - 9) for kind, cents in pushes))


def text(note, fret=7):
    return cell(head(note, fret), starts_bar=False).text


@pytest.mark.parametrize(
    ("pushes", "written"),
    [
        ([("bend", 200)], "7b9"),
        ([("bend", 100)], "7b8"),
        ([("bend", 300)], "7b10"),
        ([("bend", 50)], "7b(1/4)"),
        ([("bend", 20)], "7b(1/4)"),
        ([("bend", 150)], "7b(3/4)"),
        ([("bend", 250)], "7b(1 1/4)"),
        ([("bend", 200), ("release", 0)], "7b9r7"),
        ([("bend", 200), ("release", 100)], "7b9r8"),
        ([("bend", 200), ("release", 0), ("bend", 100)], "7b9r7b8"),
        ([("pre-bend", 200)], "(7b9)"),
        ([("pre-bend", 200), ("release", 0)], "(7b9)r7"),
        ([("pre-bend", 200), ("bend", 400)], "(7b9)b11"),
    ],
)
def test_a_bend_names_the_fret_it_aims_at_not_the_one_it_reached(pushes, written):
    assert text(bent(*pushes)) == written


@pytest.mark.parametrize(
    ("pushes", "signs"),
    [
        ([("bend", 50)], {"amount"}),
        ([("bend", 200)], {"b"}),
        ([("bend", 50), ("release", 0), ("bend", 200)], {"amount", "r", "b"}),
    ],
)
def test_a_part_of_a_tone_is_explained_by_its_own_sign_alone(pushes, signs):
    assert cell(head(bent(*pushes)), starts_bar=False).signs == signs


def test_the_fret_stands_on_the_beat_whatever_comes_before_it():
    for note in (PLAIN, bent(("pre-bend", 200)), replace(PLAIN, slide=Slide("in", 200.0))):
        item = cell(head(note, 12), starts_bar=False)
        assert item.text[item.anchor :].startswith("12")


@pytest.mark.parametrize(
    ("note", "written", "after"),
    [
        (replace(PLAIN, mute="dead"), "x", ""),
        (replace(PLAIN, harmonic="natural"), "<7>", ""),
        (replace(PLAIN, slide=Slide("in", 300.0)), "/7", ""),
        (replace(PLAIN, slide=Slide("in", -300.0)), "\\7", ""),
        (replace(PLAIN, slide=Slide("out", -300.0)), "7", "\\"),
        (replace(PLAIN, slide=Slide("out", 300.0)), "7", "/"),
        (replace(PLAIN, mute="palm"), "7", ""),
    ],
)
def test_other_signs(note, written, after):
    item = cell(head(note), starts_bar=False)
    assert (item.text, item.after) == (written, after)


def test_vibrato_is_a_wave_behind_the_note():
    assert cell(head(replace(PLAIN, vibrato=Vibrato(5.0, 20.0))), starts_bar=False).wave


def test_a_tied_note_shows_again_only_where_a_bar_starts():
    tied = head(tied_from=True)
    assert cell(tied, starts_bar=False).text == ""
    assert cell(tied, starts_bar=True).text == "(7)"


@pytest.mark.parametrize(
    ("slide", "attack", "midi", "sign"),
    [
        (None, "hammer-on", 64, "h"),
        (None, "pull-off", 60, "p"),
        (Slide("legato", 200.0, "n2"), "slide", 64, "/"),
        (Slide("legato", -200.0, "n2"), "slide", 60, "\\"),
        (Slide("shift", 200.0, "n2"), "picked", 64, "s"),
        (None, "slide", 64, "/"),  # a document may tell the slide on its second note alone
        (Slide("legato", 200.0, "n9"), "picked", 64, ""),
        (None, "picked", 64, ""),
    ],
)
def test_the_sign_between_two_notes(slide, attack, midi, sign):
    source = replace(PLAIN, slide=slide)
    assert joint(source, Note("n2", 1.0, 2.0, midi, attack=attack)) == sign


def test_every_sign_has_a_meaning():
    notes = [bent(("pre-bend", 150), ("release", 0), ("bend", 100)), replace(PLAIN, vibrato=Vibrato(5.0, 20.0))]
    notes += [replace(PLAIN, mute="dead"), replace(PLAIN, slide=Slide("out", 1.0)), replace(PLAIN, harmonic="natural")]
    used = set().union(*(cell(head(note), starts_bar=False).signs for note in notes))
    assert used == {"pre", "r", "b", "amount", "~", "x", "out", "<>"}
    assert used <= set(MEANINGS)


def test_harmonics_natural_and_artificial():
    assert text(replace(PLAIN, harmonic="natural"), 5) == "<5>"
    touched = head(replace(PLAIN, harmonic="artificial"), 5, touched_fret=17)
    assert cell(touched, starts_bar=False).text == "5<17>"
    assert cell(touched, starts_bar=False).signs == {"A.H."}
    assert cell(replace(touched, touched_fret=None), starts_bar=False).text == "5"
