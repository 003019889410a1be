"""Pages in tests look the same on every machine: no font but ours and those a test makes."""

import pytest


@pytest.fixture(scope="module", autouse=True)
def no_fonts_of_this_machine():
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("transcribe.write.fonts.other_scripts.font_folders", lambda: ())
        yield
