"""Note banks: recorded single notes as one array and a table, read from folders or a soundfont.

    python -m transcribe.training.note_bank --bank FOLDER --soundfont FILE.sf2 --out bank.npz

Either may be given again, with a name before it: --bank parlour=FOLDER --soundfont second=FILE.sf2.
"""

from __future__ import annotations

import argparse
import io
import sys
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from transcribe.errors import ReadError, TakesheetError

RATE_HZ = 22050  # what the network hears
RISE = 0.1  # an attack starts where it first reaches this part of its peak in its first 80 ms
LEAST_LEAD_S = 0.002  # kept before the attack

# Whole guitars that nothing is trained on: two electric (a solid body by recorded notes, the soundfont's clean and
# overdriven programs, which also made the takes in fixtures/) and one acoustic with steel strings.
HELD_OUT = ("solidbody", "steel", "gm-27", "gm-29")
SOUNDFONT = "gm"  # a soundfont that is given no name
PALM_GUITAR = "gm-28"  # General MIDI program 29: muted guitar
TOUCHED = "/"  # in the name of a guitar's harmonics, before the number of the partial; no folder's name holds it


@dataclass(frozen=True, slots=True)
class Zone:
    """One recorded sound."""

    guitar: str
    midi: float  # 0 for a noise
    level: float  # loudness of its first 0.2 s against full scale, root mean square
    samples: NDArray[np.int16]  # starts at the attack


@dataclass(frozen=True, slots=True, eq=False)
class Bank:
    """Recorded sounds end to end, with a table of where each begins; attacks stand at the beginnings."""

    samples: NDArray[np.int16]
    guitars: tuple[str, ...]  # names
    guitar: NDArray[np.int16]  # (n_zones,) index into ``guitars``
    start: NDArray[np.int32]  # (n_zones,)
    length: NDArray[np.int32]
    midi: NDArray[np.float32]  # 0 for a noise
    level: NDArray[np.float32]

    def __post_init__(self) -> None:
        if self.start.size == 0 or int((self.start + self.length).max()) > self.samples.size:
            raise ReadError("a note bank holds no sound, or is cut short", "Build it again with note_bank.")

    def zones(self, names: Iterable[str]) -> Bank:
        """Return the table of some guitars and their harmonics (samples stay shared); noises always stay."""
        wanted = [k for k, name in enumerate(self.guitars) if name.split(TOUCHED)[0] in set(names)]
        keep = np.isin(self.guitar, wanted) | (self.midi == 0)
        return Bank(
            self.samples,
            self.guitars,
            self.guitar[keep],
            self.start[keep],
            self.length[keep],
            self.midi[keep],
            self.level[keep],
        )

    @property
    def playable(self) -> tuple[str, ...]:
        """Names of the guitars that have notes in the table."""
        return tuple(self.guitars[k] for k in np.unique(self.guitar[self.midi > 0]) if TOUCHED not in self.guitars[k])


def joined(zones: Sequence[Zone]) -> Bank:
    """Return a bank of all zones."""
    guitars = tuple(sorted({zone.guitar for zone in zones}))
    length = np.array([zone.samples.size for zone in zones], dtype=np.int32)
    return Bank(
        samples=np.concatenate([zone.samples for zone in zones]),
        guitars=guitars,
        guitar=np.array([guitars.index(zone.guitar) for zone in zones], dtype=np.int16),
        start=(np.cumsum(length) - length).astype(np.int32),
        length=length,
        midi=np.array([zone.midi for zone in zones], dtype=np.float32),
        level=np.array([zone.level for zone in zones], dtype=np.float32),
    )


def zone(guitar: str, midi: float, sound: NDArray[np.float32]) -> Zone:
    """Return one sound at RATE_HZ cut to its attack and scaled to full scale."""
    peak = float(np.abs(sound).max())
    if peak < 1e-5:
        raise ReadError(f"a sound of {guitar} is silent", "Leave it out.")
    sound = sound * (0.95 / peak)
    near = np.abs(sound[: int(0.08 * RATE_HZ)])
    first = max(0, int(np.argmax(near >= RISE * near.max())) - int(LEAST_LEAD_S * RATE_HZ))
    cut = sound[first:].copy()
    fade = min(cut.size, int(0.05 * RATE_HZ))
    cut[cut.size - fade :] *= np.linspace(1, 0, fade, dtype=np.float32)
    level = float(np.sqrt(np.mean(cut[: int(0.2 * RATE_HZ)] ** 2)))
    return Zone(guitar, midi, level, np.round(cut * 32767).astype(np.int16))


def packed(bank: Bank) -> dict[str, NDArray[np.generic]]:
    """Return the arrays of a file: samples as differences in two byte planes, which compress to about 60 %."""
    steps = np.diff(bank.samples, prepend=np.int16(0))
    return {
        "high": (steps >> 8).astype(np.int8),
        "low": (steps & 0xFF).astype(np.uint8),
        "guitars": np.array(bank.guitars),
        "guitar": bank.guitar,
        "start": bank.start,
        "length": bank.length,
        "midi": bank.midi,
        "level": bank.level,
    }


def read_bank(path: Path) -> Bank:
    """Return the bank in a file that ``packed`` filled. Raises ReadError when it is no such file."""
    try:
        with np.load(path) as file:
            steps = (file["high"].astype(np.int16) << 8) | file["low"].astype(np.int16)
            return Bank(
                np.cumsum(steps, dtype=np.int16),
                tuple(str(name) for name in file["guitars"]),
                *(file[name] for name in ("guitar", "start", "length", "midi", "level")),
            )
    except (OSError, KeyError, ValueError) as error:
        raise ReadError(f"{path} is no note bank", "Build one with: python -m transcribe.training.note_bank") from error


def _named(told: str) -> tuple[str | None, Path]:
    """A name before the first "=", unless the whole is a path that exists."""
    name, equals, path = told.partition("=")
    return (name, Path(path)) if equals and not Path(told).exists() else (None, Path(told))


def _soundfonts(told: Sequence[str]) -> list[tuple[str, Path]]:
    named = [(name or SOUNDFONT, file) for name, file in map(_named, told)]
    names = [name for name, _ in named]
    for name in names:
        if names.count(name) > 1:
            raise ReadError(f"two soundfonts are called {name}", "Name one of them: --soundfont second=FILE.sf2.")
    return named


def _content(file: Path) -> bytes:
    try:
        return file.read_bytes()
    except OSError as error:
        raise ReadError(f"cannot read {file}: {error.strerror}", "Give a soundfont's .sf2 file.") from error


def main(words: Sequence[str] | None = None) -> int:
    """Build a bank as the command line says; return the exit code."""
    parser = argparse.ArgumentParser(prog="note_bank", description="Gather recorded notes into one file.")
    parser.add_argument(
        "--bank",
        action="append",
        default=[],
        metavar="[NAME=]FOLDER",
        help="with a manifest.tsv, or files named A2.wav",
    )
    parser.add_argument(
        "--soundfont", action="append", default=[], metavar="[NAME=]FILE", help="General MIDI: its guitars are taken"
    )
    parser.add_argument("--leave-out", action="append", default=[], help="files whose path holds this; repeatable")
    parser.add_argument("--out", type=Path, required=True)
    chosen = parser.parse_args(words)
    from transcribe.training.note_folder import zones_of_folder
    from transcribe.write.files import write_together

    try:
        zones: list[Zone] = []
        for told in chosen.bank:
            name, folder = _named(told)
            zones += zones_of_folder(folder, name=name, leave_out=tuple(chosen.leave_out))
        for name, file in _soundfonts(chosen.soundfont):
            from transcribe.training.soundfont import zones_of_soundfont

            zones += zones_of_soundfont(_content(file), name=name)
        if not zones:
            raise ReadError("no sounds were named", "Give --bank or --soundfont.")
        bank = joined(zones)
        box = io.BytesIO()
        np.savez_compressed(box, **packed(bank))  # type: ignore[arg-type]
        write_together(chosen.out.parent, {chosen.out.name: box.getvalue()}, elsewhere="Choose another file with --out")
    except TakesheetError as error:
        print(error, file=sys.stderr)
        return 2
    print(f"{chosen.out}: {bank.start.size} sounds of {', '.join(bank.guitars)}; {bank.samples.size / RATE_HZ:.0f} s")
    return 0


if __name__ == "__main__":
    sys.exit(main())
