"""Whole licks against pages that were read by eye; ``rebuild.py`` beside this file is their only writer."""

import pytest

from tests.golden.rebuild import PAGES, pages

BUILT = pages()


def test_there_is_a_page_for_every_lick_and_no_other():
    assert {path.name for path in PAGES.iterdir()} == set(BUILT)


@pytest.mark.parametrize("name", sorted(BUILT))
def test_a_page_is_as_it_was_reviewed(name):
    assert BUILT[name] == (PAGES / name).read_text(encoding="utf-8")
