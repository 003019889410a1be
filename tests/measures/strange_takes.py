"""Sounds that are no guitar, made by rule and from a General MIDI soundfont, for learning and for measuring.

    python -m tests.measures.strange_takes --out DIR [--soundfont FILE] [--part learn|judge]

By rule: a piano-like struck string of three, babble through formants, a band of drums, bass, chords and a tune, plain
noise, an organ. From the soundfont: pianos, organs, bowed, blown and sung sounds, bands with drums. The two parts share
no program and no seed.
"""

from __future__ import annotations

import argparse
import wave
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from transcribe.audio.condition import condition
from transcribe.audio.read import read_recording
from transcribe.errors import TakesheetError
from transcribe.notes.strange_take import UNLIKE, with_strange_told
from transcribe.settings import NoteSettings
from transcribe.training.weighed_takes import heard_as_drafted

Floats = NDArray[np.float64]
RATE_HZ = 22050
SECONDS = 8.0

# General MIDI level 1, counted from 0. Plucked strings other than guitars are left out: some sound like one.
PROGRAMS = {
    "learn": (0, 1, 4, 16, 19, 40, 48, 52, 56, 60, 64, 68, 73, 80, 88, 33, 38),
    "judge": (0, 2, 5, 18, 21, 41, 42, 49, 53, 57, 65, 71, 74, 81, 34),
}
BANDS = 6  # of each part


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.measures.strange_takes", description=__doc__.split("\n")[0])
    parser.add_argument("--out", type=Path, required=True, metavar="DIR")
    parser.add_argument("--soundfont", type=Path, metavar="FILE")
    parser.add_argument("--part", choices=tuple(PROGRAMS), default="judge")
    chosen = parser.parse_args()
    chosen.out.mkdir(parents=True, exist_ok=True)
    seed = 100 if chosen.part == "learn" else 900
    for name, sound in (*by_rule(seed), *from_soundfont(chosen.soundfont, chosen.part, seed)):
        _write(chosen.out / f"{name}.wav", sound)


def by_rule(seed: int, *, each: int = 3) -> Iterator[tuple[str, Floats]]:
    """Yield sounds made by rule, some of each kind."""
    makers: dict[str, Callable[[np.random.Generator], Floats]] = {
        "struck": struck_strings, "babble": babble, "drums-and-all": band, "noise": noise, "organ": organ
    }  # fmt: skip
    for name, make in makers.items():
        for k in range(each):
            yield f"{name}-{k}", make(np.random.default_rng(seed + k))


def struck_strings(rng: np.random.Generator, *, seconds: float = SECONDS) -> Floats:
    """Return two hands on piano-like strings: three a note, a cent apart, stretched as measured pianos are.

    Stretch of about 4e-4 at middle C, rising an octave in doubling steps (H. Fletcher, "Normal Vibration Frequencies
    of a Stiff Piano String", J. Acoust. Soc. Am. 36, 1964, and common practice).
    """
    out = np.zeros(int(seconds * RATE_HZ))
    beat_s = rng.uniform(0.35, 0.6)
    for n, at_s in enumerate(np.arange(0.2, seconds - 1, beat_s)):
        root = int(rng.choice([36, 41, 43, 33]))
        left = (root, root + 7) if n % 2 == 0 else (root + 12, root + 16, root + 19)
        for midi in (*left, int(rng.choice([60, 64, 67, 72, 76, 79, 84])), int(rng.choice([69, 71, 74, 77]))):
            _add(out, at_s + rng.normal(0, 0.008), _struck(midi, 1.2 * beat_s, rng))
    return _level(out)


def _struck(midi: int, held_s: float, rng: np.random.Generator) -> Floats:
    t = np.arange(int((held_s + 0.3) * RATE_HZ)) / RATE_HZ
    stretch = 4e-4 * 2 ** ((midi - 60) / 8)
    tone = np.zeros(t.size)
    for off in (-0.7, 0.1, 0.8):
        base = 440 * 2 ** ((midi - 69 + off / 100) / 12)
        for number in range(1, 25):
            hz = number * base * np.sqrt(1 + stretch * number**2)
            if hz > 9000:
                break
            lasts_s = (6.0 / (1 + 0.25 * number)) * 2 ** ((60 - midi) / 24)
            size = np.exp(-0.12 * number) / number**0.5
            tone += size * np.exp(-6.9 * t / lasts_s) * np.sin(2 * np.pi * hz * t + rng.uniform(0, 6.28))
    damp = np.clip((held_s + 0.15 - t) / 0.15, 0, 1)
    return np.asarray(tone * damp * np.minimum(1, t / 0.004) * rng.uniform(0.6, 1.0))


def babble(rng: np.random.Generator, *, seconds: float = SECONDS) -> Floats:
    """Return vowel-like syllables with gliding pitch, and hisses between: talk that says nothing.

    Formants of vowels from G. Peterson and H. Barney, J. Acoust. Soc. Am. 24, 1952 (men; rounded, from memory).
    """
    vowels = ((270, 2290, 3010), (660, 1720, 2410), (730, 1090, 2440), (570, 840, 2410), (300, 870, 2240))
    out = np.zeros(int(seconds * RATE_HZ))
    at_s, base = 0.2, rng.uniform(90, 220)
    while at_s < seconds - 0.6:
        long_s = rng.uniform(0.09, 0.28)
        t = np.arange(int(long_s * RATE_HZ)) / RATE_HZ
        start, end = base * 2 ** (rng.normal(0, 2.5, 2) / 12)
        turns = np.cumsum(start + (end - start) * t / long_s) / RATE_HZ
        pulses = np.exp(-10 * (turns % 1)) + 0.05 * rng.standard_normal(t.size)
        spectrum, hz = np.fft.rfft(pulses), np.fft.rfftfreq(t.size, 1 / RATE_HZ)
        mouth = sum(np.exp(-0.5 * ((hz - f) / (60 + 0.06 * f)) ** 2) for f in vowels[rng.integers(5)])
        syllable = np.fft.irfft(spectrum * (mouth + 0.02), t.size) * np.sin(np.pi * t / long_s) ** 0.5
        _add(out, at_s, syllable / np.abs(syllable).max())
        at_s += long_s
        if rng.random() < 0.4:
            hiss = np.diff(rng.standard_normal(int(rng.uniform(0.04, 0.12) * RATE_HZ)), prepend=0.0)
            _add(out, at_s, 0.15 * hiss * np.hanning(hiss.size))
            at_s += hiss.size / RATE_HZ
        at_s += float(rng.choice([0.0, 0.03, 0.3], p=[0.6, 0.25, 0.15]))
    return _level(out)


def band(rng: np.random.Generator, *, seconds: float = SECONDS) -> Floats:
    """Return drums made of noise and falling tones, a bass, held chords and a tune over them."""
    out = np.zeros(int(seconds * RATE_HZ))
    beat_s = rng.uniform(0.4, 0.65)
    root = int(rng.integers(28, 38))
    for n, at_s in enumerate(np.arange(0.1, seconds - 0.8, beat_s / 2)):
        bar = root + (0, 5, 7, 5)[(n // 8) % 4]
        t = np.arange(int(0.3 * RATE_HZ)) / RATE_HZ
        if n % 4 == 0:
            _add(out, at_s, 1.6 * np.sin(2 * np.pi * (55 * t + 4 * (1 - np.exp(-30 * t)))) * np.exp(-14 * t))
        if n % 4 == 2:
            _add(out, at_s, 0.9 * rng.standard_normal(t.size) * np.exp(-22 * t))
        _add(out, at_s, 0.35 * np.diff(rng.standard_normal(t.size), prepend=0.0) * np.exp(-45 * t))
        _add(out, at_s, 0.8 * _struck(bar + (0 if n % 4 else 12 * (n % 8 == 0)), 0.45 * beat_s, rng) / 3)
        if n % 8 == 0:
            for step in (24, 28, 31, 36):
                long = np.arange(int(4 * beat_s * RATE_HZ)) / RATE_HZ
                hz = 440 * 2 ** ((bar + step - 69) / 12)
                _add(out, at_s, 0.12 * sum(np.sin(2 * np.pi * k * hz * long) / k for k in range(1, 7)))
        if rng.random() < 0.7:
            _add(out, at_s, 0.25 * _struck(bar + 36 + int(rng.choice([0, 2, 4, 7, 9, 12])), beat_s / 2, rng))
    return _level(out)


def noise(rng: np.random.Generator, *, seconds: float = SECONDS) -> Floats:
    """Return white or reddened noise that swells."""
    white = rng.standard_normal(int(seconds * RATE_HZ))
    red = np.cumsum(white) - np.convolve(np.cumsum(white), np.ones(400) / 400, mode="same")
    mixed = white if rng.random() < 0.4 else red / red.std() + rng.uniform(0, 1) * white
    t = np.arange(white.size) / RATE_HZ
    return _level(mixed * (1 + 0.8 * np.sin(2 * np.pi * rng.uniform(0.2, 2) * t)))


def organ(rng: np.random.Generator, *, seconds: float = SECONDS) -> Floats:
    """Return held chords that do not fade, of steady harmonic tones with a little waver."""
    out = np.zeros(int(seconds * RATE_HZ))
    for at_s in np.arange(0.1, seconds - 1.2, 1.2):
        t = np.arange(int(1.15 * RATE_HZ)) / RATE_HZ
        for midi in rng.choice([36, 43, 48, 52, 55, 60, 64, 67, 72, 79, 84], 5, replace=False):
            turns = 440 * 2 ** ((midi - 69) / 12) * (t + 0.0006 * np.sin(2 * np.pi * 6 * t) / 6)
            tone = sum(np.sin(2 * np.pi * k * turns) / k for k in (1, 2, 3, 4, 6, 8))
            _add(out, at_s, tone * np.clip(np.minimum(t / 0.03, (1.15 - t) / 0.05), 0, 1))
    return _level(out)


def from_soundfont(path: Path | None, part: str, seed: int) -> Iterator[tuple[str, Floats]]:
    """Yield a tune or chords on each program, and some bands; nothing without a soundfont."""
    if path is None:
        return
    from fixtures.sampled import Soundfont

    font = Soundfont(path.read_bytes())
    for program in PROGRAMS[part]:
        for kind in ("tune", "chords"):
            rng = np.random.default_rng([seed, program, len(kind)])
            yield f"program-{program}-{kind}", _played(font, _messages(rng, program, kind))
    for k in range(BANDS):
        rng = np.random.default_rng([seed, 999, k])
        yield f"band-{k}", _played(font, _band_messages(rng, PROGRAMS[part]))


def _played(font: object, messages: list[tuple[float, object]]) -> Floats:
    import soxr

    samples, rate = font.sound(sorted(messages, key=lambda each: each[0]))  # type: ignore[attr-defined]
    return _level(np.asarray(soxr.resample(samples[: int(SECONDS * rate)], rate, RATE_HZ), dtype=float))


def _messages(rng: np.random.Generator, program: int, kind: str, channel: int = 0) -> list[tuple[float, object]]:
    import mido

    found: list[tuple[float, object]] = [(0.0, mido.Message("program_change", program=program, channel=channel))]
    low = 28 if 32 <= program < 40 else 48
    beat_s, at_s = float(rng.uniform(0.25, 0.5)), 0.1
    degree = 0
    while at_s < SECONDS - 1:
        degree = int(np.clip(degree + rng.integers(-3, 4), 0, 14))
        pitch = low + 12 * (degree // 7) + (0, 2, 4, 5, 7, 9, 11)[degree % 7]
        long_s = beat_s * float(rng.choice([1, 1, 2]))
        chord = (0,) if kind == "tune" else (0, 4, 7) if low < 40 else (-12, 0, 4, 7, 12)
        for step in chord:
            velocity = int(rng.integers(60, 110))
            found.append((at_s, mido.Message("note_on", note=pitch + step, velocity=velocity, channel=channel)))
            found.append((at_s + 0.95 * long_s, mido.Message("note_off", note=pitch + step, channel=channel)))
        at_s += long_s if kind == "tune" else 2 * long_s
    return found


def _band_messages(rng: np.random.Generator, programs: tuple[int, ...]) -> list[tuple[float, object]]:
    import mido

    found = _messages(rng, int(rng.choice([33, 34])), "tune", channel=1)
    found += _messages(rng, int(rng.choice([0, 4, 16, 25, 48])), "chords", channel=2)
    found += _messages(rng, int(rng.choice([27, 29, 56, 65, 73])), "tune", channel=3)
    for n, at_s in enumerate(np.arange(0.1, SECONDS - 0.5, float(rng.uniform(0.2, 0.3)))):
        for key in ((36, 42), (42,), (38, 42), (42,))[n % 4]:
            found.append((float(at_s), mido.Message("note_on", note=key, velocity=95, channel=9)))
            found.append((float(at_s) + 0.1, mido.Message("note_off", note=key, channel=9)))
    return found


def print_strange(folder: Path) -> None:
    """Print, for every sound of a folder, how many notes are heard and what is said of the take."""
    doubted = 0
    paths = sorted(path for path in folder.iterdir() if path.suffix in (".wav", ".flac"))
    for path in paths:
        try:
            take = condition(read_recording(path), accept_clipping=True).recording
        except TakesheetError as error:
            print(f"  {path.stem:28} {error.found}")
            doubted += 1
            continue
        _, heard = heard_as_drafted(take)
        told = with_strange_told(take, heard, NoteSettings())
        why = [doubt.why for doubt in told.doubts if doubt.why.startswith(UNLIKE)]
        doubted += bool(why) or not told.notes
        print(f"  {path.stem:28} {len(told.notes):4d} notes {' '.join(why)}")
    print(f"doubted or refused: {doubted} of {len(paths)}")


def _add(out: Floats, at_s: float, part: Floats) -> None:
    first = max(0, int(at_s * RATE_HZ))
    kept = part[: max(0, out.size - first)]
    out[first : first + kept.size] += kept


def _level(sound: Floats) -> Floats:
    return np.asarray(0.6 * sound / max(float(np.abs(sound).max()), 1e-9))


def _write(path: Path, sound: Floats) -> None:
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(RATE_HZ)
        file.writeframes(np.round(np.clip(sound, -1, 1) * 32767).astype("<i2").tobytes())


if __name__ == "__main__":
    main()
