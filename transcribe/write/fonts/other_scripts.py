"""Fonts of this machine for scripts that ours have no signs of, such as Chinese: found by what they hold.

Only fonts with TrueType outlines that may be embedded in part are used (ISO/IEC 14496-22: glyf; OS/2, fsType).
"""

from __future__ import annotations

import os
import struct
import sys
from collections.abc import Sequence
from pathlib import Path

from transcribe.errors import ReadError
from transcribe.write.fonts import Face, has_sign, table_places

ENDINGS = (".ttf", ".ttc")
NOT_TO_EMBED, NOT_IN_PART = 0x0002, 0x0100  # of fsType
FAMILY_NAME, WINDOWS = 1, 3
MOST_FACES = 4  # added to a sheet


def font_folders() -> tuple[Path, ...]:
    """Return where this kind of machine keeps fonts, those of the person first."""
    home = Path.home()
    if sys.platform == "win32":
        return home / "AppData/Local/Microsoft/Windows/Fonts", Path(os.environ.get("WINDIR", "C:/Windows")) / "Fonts"
    if sys.platform == "darwin":
        return home / "Library/Fonts", Path("/Library/Fonts"), Path("/System/Library/Fonts")
    return home / ".local/share/fonts", home / ".fonts", Path("/usr/local/share/fonts"), Path("/usr/share/fonts")


def faces_for(signs: str, *, font: Path | None = None, folders: Sequence[Path] | None = None) -> tuple[Face, ...]:
    """Return faces that draw signs ours lack, as far as any do: the font named, then those that hold most of the rest.

    Fonts are looked at in the order of their paths, so that a machine always takes the same. Raises ReadError for a
    named file that is no font of the kind we can embed.
    """
    wanted = set(signs)
    if font is None and not wanted:
        return ()
    found: list[Face] = []
    if font is not None:
        found = list(_faces_in(font))
        if not found:
            raise ReadError(f"{font} is no font that can be embedded", "Name a TrueType font: a .ttf or .ttc file.")
        wanted -= {sign for sign in wanted if any(has_sign(sign, face) for face in found)}
        found = found[:1] if not signs else [f for f in found if any(has_sign(sign, f) for sign in signs)][:1]
    offered = _offered(wanted, folders if folders is not None else font_folders()) if wanted else []
    while wanted and offered and len(found) < MOST_FACES:
        best, held = max(offered, key=lambda pair: len(pair[1] & wanted))
        if not held & wanted:
            break
        found.append(best)
        wanted -= held
    return tuple(found)


def _offered(wanted: set[str], folders: Sequence[Path]) -> list[tuple[Face, set[str]]]:
    """Return the faces of some folders that hold any of the signs, each with those it holds."""
    found = []
    for folder in folders:
        for path in sorted(folder.rglob("*")) if folder.is_dir() else ():
            if path.suffix.lower() in ENDINGS:
                for face in _faces_in(path):
                    if held := {sign for sign in wanted if has_sign(sign, face)}:
                        found.append((face, held))
    return found


def _faces_in(path: Path) -> tuple[Face, ...]:
    """Return the upright faces of a file that may be embedded; none for a file that is no such font."""
    try:
        data = path.read_bytes()
        count = struct.unpack_from(">I", data, 8)[0] if data[:4] == b"ttcf" else 1
        faces = [Face(path, name, index=index) for index in range(min(count, 64)) if (name := _family(data, index))]
        for face in faces:
            has_sign(" ", face)  # reads its tables
    except (OSError, struct.error, KeyError, IndexError, ValueError):
        return ()
    return tuple(faces)


def _family(data: bytes, index: int) -> str | None:
    """Return a font's family name as it tells it to programs; None where it cannot be embedded in part."""
    tables = table_places(data, index)
    if not {b"glyf", b"loca", b"cmap", b"hmtx", b"OS/2", b"name"} <= tables.keys():
        return None
    rights = struct.unpack_from(">H", data, tables[b"OS/2"][0] + 8)[0]
    if rights & 0x000F == NOT_TO_EMBED or rights & NOT_IN_PART:
        return None
    start = tables[b"name"][0]
    _, count, strings = struct.unpack_from(">3H", data, start)
    for k in range(count):
        platform, _, _, kind, length, offset = struct.unpack_from(">6H", data, start + 6 + 12 * k)
        if platform == WINDOWS and kind == FAMILY_NAME:
            at = start + strings + offset
            return data[at : at + length].decode("utf-16-be", errors="replace")
    return None
