"""All files of one sheet, as bytes by name."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from pathlib import Path

from transcribe.write.sheet import Sheet
from transcribe.write.sheet_svg import page_svg

DRAWN_SHARE = 0.9  # of a sheet's time is gone when its pages are laid out and files are begun


def sheet_files(
    sheet: Sheet, formats: Sequence[str], stem: str, *, report: Callable[[str, float], None] | None = None
) -> dict[str, bytes]:
    """Return the files of the formats wanted: STEM.pdf, STEM.svg (tall, without pages), STEM.page1.png and so on.

    Raises MissingExtraError when a format needs a library that is not installed.
    """
    told = report or (lambda stage, share: None)
    files: dict[str, bytes] = {}
    if "pdf" in formats:
        from transcribe.write.pdf import sheet_pdf

        told("writing the PDF", DRAWN_SHARE)
        files[f"{stem}.pdf"] = sheet_pdf(sheet)
    if "svg" in formats:
        files[f"{stem}.svg"] = page_svg(sheet, sheet.tall, with_fonts=True).encode("utf-8")
    if "png" in formats:
        from transcribe.write.png import page_png

        for number, page in enumerate(sheet.pages, start=1):
            told(f"drawing page {number}", DRAWN_SHARE)
            files[f"{stem}.page{number}.png"] = page_png(sheet, page, number)
    return files


def left_over_pages(folder: Path, stem: str, pages: int) -> tuple[Path, ...]:
    """Return pictures of pages beyond the last, left from an earlier and longer sheet of the same name."""
    found = []
    for path in folder.iterdir():
        match = re.fullmatch(re.escape(stem) + r"\.page(\d+)\.png", path.name)
        if match and int(match.group(1)) > pages:
            found.append((int(match.group(1)), path))
    return tuple(path for _, path in sorted(found))
