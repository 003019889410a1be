"""What was chosen for a sheet, and what the engraver is asked for."""

import pytest

from transcribe.errors import SettingsError
from transcribe.write.engraver.system import LARGE_SPACE_MM, SPACE_MM
from transcribe.write.sheet_options import MM, SheetOptions


def test_the_music_fills_the_paper_between_its_margins():
    for options in (SheetOptions(), SheetOptions(paper="letter"), SheetOptions(large_print=True)):
        assert options.engraving().width * options.unit == pytest.approx(options.text_width)


def test_a_staff_is_as_high_as_it_should_be_in_print():
    """Four spaces from line 1 to line 5."""
    assert SheetOptions().unit * 40 / MM == pytest.approx(4 * SPACE_MM)
    assert SheetOptions(large_print=True).unit * 40 / MM == pytest.approx(4 * LARGE_SPACE_MM)


def test_only_lines_the_engraver_draws_are_asked_of_it():
    options = SheetOptions(show=frozenset({"degrees", "diagrams", "legend"}), staves="tab", final=True).engraving()
    assert (options.extra_lines, options.staves, options.final) == (frozenset({"degrees"}), "tab", True)


@pytest.mark.parametrize(
    "wrong", [{"paper": "a3"}, {"theme": "sepia"}, {"show": frozenset({"lyrics"})}], ids=["paper", "theme", "show"]
)
def test_what_is_not_there_is_refused_with_the_choices(wrong):
    with pytest.raises(SettingsError, match="Choose from"):
        SheetOptions(**wrong)
