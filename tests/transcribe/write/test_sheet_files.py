"""The files of a sheet by name and format."""

import pytest

from tests.golden.licks import doubted
from tests.sheet_systems import signs, systems
from transcribe.score.build import build_score
from transcribe.write.sheet import compose
from transcribe.write.sheet_files import left_over_pages, sheet_files
from transcribe.write.sheet_options import SheetOptions

BEGINS = {"pdf": b"%PDF-", "svg": b"<?xml", "png": b"\x89PNG"}


@pytest.fixture(scope="module")
def made():
    return compose(build_score(doubted(), title="Lamp room"), systems(8), signs(), SheetOptions())


def test_each_format_is_written_as_itself_one_picture_a_page(made):
    files = sheet_files(made, ("pdf", "svg", "png"), "lamp")
    assert list(files) == ["lamp.pdf", "lamp.svg", "lamp.page1.png", "lamp.page2.png"]
    assert all(data.startswith(BEGINS[name.rpartition(".")[2]]) for name, data in files.items())


def test_only_what_is_wanted_is_written(made):
    assert list(sheet_files(made, ("svg",), "lamp")) == ["lamp.svg"]


def test_pages_of_a_longer_sheet_are_found_and_nothing_else(tmp_path):
    for name in ("lamp.page1.png", "lamp.page2.png", "lamp.page11.png", "lamp.page3.png", "lamp.pages3.png",
                 "other.page9.png"):  # fmt: skip
        (tmp_path / name).touch()
    assert [path.name for path in left_over_pages(tmp_path, "lamp", 2)] == ["lamp.page3.png", "lamp.page11.png"]
