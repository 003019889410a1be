"""The bar on standard error."""

import io
import sys
import time

from transcribe.cli import progress

LEAST_BETWEEN_S = 0.12  # the bar is drawn anew at most ten times a second


class Terminal(io.StringIO):
    """Says that it is one."""

    def isatty(self) -> bool:
        return True


def test_the_stage_stands_after_the_share_done(monkeypatch):
    terminal = Terminal()
    monkeypatch.setattr(sys, "stderr", terminal)
    monkeypatch.setattr(progress, "SHOW_AFTER_S", 0.0)
    with progress.progress_bar("lick.wav") as report:
        for stage, share in (("listening", 0.17), ("placing", 0.5)):
            time.sleep(LEAST_BETWEEN_S)
            report(stage, share)
    assert "17% listening" in terminal.getvalue()
    assert "50% placing" in terminal.getvalue()
    assert "," not in terminal.getvalue()
