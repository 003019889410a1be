"""Write the reviewed pages anew: ``python -m tests.golden.rebuild``. Read every page that changed before keeping it.

This script is the only writer of ``tests/golden/pages``; the tests compare and never write.
"""

from __future__ import annotations

from pathlib import Path

from tests.golden.licks import LICKS
from transcribe.score.build import build_score
from transcribe.write.text_tab import text_tab

PAGES = Path(__file__).parent / "pages"


def pages() -> dict[str, str]:
    """Return every page by its file name."""
    return {
        f"{name}.tab.txt": text_tab(build_score(document, title=name), width=width)
        for name, (document, width) in LICKS.items()
    }


def main() -> None:
    """Write all pages and say which changed."""
    PAGES.mkdir(exist_ok=True)
    for name, text in pages().items():
        path = PAGES / name
        changed = not path.exists() or path.read_text(encoding="utf-8") != text
        path.write_text(text, encoding="utf-8", newline="\n")
        print(f"{name}: {'changed' if changed else 'as before'}")


if __name__ == "__main__":
    main()
