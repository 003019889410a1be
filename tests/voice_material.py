"""Takes of one and several voices with their exact truth: our licks on recorded notes of real guitars.

Licks are split once for all: every second one, by name, is for choosing numbers (``CHOOSING``), on guitars the network
was trained on; the others are for figures (``JUDGING``), on guitars nothing was trained on. A take is the same each
time it is made. Sound and maps are kept in a folder when one is given, so that a change of decoding is measured in
seconds.

    for take in takes("judging", bank_of((Path("banks"),), None), cache=Path("kept")):
        maps = maps_of(take, cache=Path("kept"))
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import dataclass
from importlib.resources import files
from io import BytesIO
from pathlib import Path
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from fixtures.licks import LICKS
from fixtures.licks.passage import Kind, perform_passage
from fixtures.licks.together import TOGETHER
from fixtures.render import seed_of
from tests.bank_player import play_bank
from transcribe.audio.recording import Recording
from transcribe.document.model import TakeDocument
from transcribe.document.read import document_from_json
from transcribe.evidence.network import WEIGHTS, voice_maps
from transcribe.evidence.voice_maps import VoiceMaps
from transcribe.notes.note import Note
from transcribe.training.convert_crepe import write_whole
from transcribe.training.guitars import GUITARS
from transcribe.training.note_bank import HELD_OUT, PALM_GUITAR, RATE_HZ, Bank, Zone, joined
from transcribe.training.note_folder import zones_of_folder
from transcribe.training.perform import Performance, perform
from transcribe.training.render import render
from transcribe.training.strings import ring_s
from transcribe.training.truth import take_document

Part = Literal["choosing", "judging"]
Condition = Literal["clean", "driven", "phone"]
Style = Literal["single"] | Kind
CONDITIONS: tuple[Condition, ...] = ("clean", "driven", "phone")
STYLES: tuple[Style, ...] = ("single", "double", "triad", "oblique")
VERSION = 1  # of the sounds; raise it when they change
MODELLED = {"choosing": ("bright-electric",), "judging": ("steel-acoustic",)}  # string model, where no bank is told

PHONE_HZ = (300.0, 3400.0)  # the speech band of ITU-T G.712
PHONE_NOISE_DB = -30.0  # white, against the sound
DRIVE_GAIN = 5.0  # times the root mean square, into a soft clip
CABINET_HZ = 4500.0
ROOM_S, ROOM_DB = 0.3, -24.0
HISS_DB = {"clean": -72.0, "driven": -60.0, "phone": -72.0}


def _halves(names: list[str]) -> dict[Part, tuple[str, ...]]:
    return {"choosing": tuple(names[0::2]), "judging": tuple(names[1::2])}


def _by_style() -> dict[Style, list[str]]:
    found: dict[Style, list[str]] = {"single": sorted(LICKS)}
    for passage in TOGETHER.values():
        found.setdefault(passage.kind, []).append(passage.name)
    return {style: sorted(names) for style, names in found.items()}


SPLIT = {style: _halves(names) for style, names in _by_style().items()}


@dataclass(frozen=True, slots=True, eq=False)
class Take:
    """One lick on one guitar, as recorded one way."""

    name: str  # lick.guitar.condition
    style: Style
    guitar: str
    condition: Condition
    recording: Recording
    reference: TakeDocument

    @property
    def notes(self) -> tuple[Note, ...]:
        """What was played, dead notes left out: they have no pitch."""
        return tuple(take.note for take in self.reference.notes if take.note.mute != "dead")


def bank_of(folders: tuple[Path, ...], soundfont: Path | None, *, cache: Path | None = None) -> Bank | None:
    """Return the recorded notes of folders and of a soundfont's guitar programs; None when neither is told."""
    kept = None if cache is None else cache / f"bank-{_short(repr((folders, soundfont)))}.npz"
    if kept is not None and kept.is_file():
        from transcribe.training.note_bank import read_bank

        return read_bank(kept)
    zones: list[Zone] = [each for folder in folders for each in zones_of_folder(folder, leave_out=("labelled/",))]
    if soundfont is not None:
        from transcribe.training.soundfont import zones_of_soundfont

        zones += zones_of_soundfont(soundfont.read_bytes())
    bank = joined(zones) if zones else None
    if kept is not None and bank is not None:
        from transcribe.training.note_bank import packed

        _keep(kept, **packed(bank))
    return bank


def guitars_of(part: Part, bank: Bank | None) -> tuple[str, ...]:
    """Return the guitars a part is played on: of a bank those trained on, or held out; else the string model."""
    if bank is None:
        return MODELLED[part]
    held_out = part == "judging"
    return tuple(name for name in bank.playable if (name in HELD_OUT) == held_out and name != PALM_GUITAR)


def takes(
    part: Part,
    bank: Bank | None,
    *,
    styles: tuple[Style, ...] = STYLES,
    conditions: tuple[Condition, ...] = CONDITIONS,
    guitars: tuple[str, ...] | None = None,
    cache: Path | None = None,
) -> Iterator[Take]:
    """Yield every lick of a part on every guitar in every condition, in a fixed order."""
    for guitar in guitars_of(part, bank) if guitars is None else guitars:
        for style in styles:
            for lick in SPLIT[style][part]:
                performance = perform(LICKS[lick]) if style == "single" else perform_passage(TOGETHER[lick])
                dry, reference = sound_and_truth(performance, guitar, bank, cache)
                for condition in conditions:
                    name = f"{lick}.{guitar}.{condition}"
                    sound = recorded(dry, condition, seed=seed_of(name))
                    yield Take(name, style, guitar, condition, Recording(sound, RATE_HZ), reference)


def maps_of(take: Take, *, cache: Path | None = None, weights: Path | None = None) -> VoiceMaps:
    """Return what the network hears in a take; kept in ``cache`` by the sound and the weights."""
    content = (
        files("transcribe.evidence.weights").joinpath(WEIGHTS).read_bytes() if weights is None else weights.read_bytes()
    )
    if cache is None:
        return voice_maps(take.recording, weights=content)
    named = _short(take.recording.samples.tobytes() + content)
    kept = cache / "maps" / f"{take.name}.{named}.npz"
    if kept.is_file():
        with np.load(kept) as file:
            stored = {key: file[key] for key in file.files}
        head = {key: stored.pop(key).item() for key in ("start_s", "hop_s", "lowest_midi", "sub_bins")}
        return VoiceMaps(**head, **stored)
    maps = voice_maps(take.recording, weights=content)
    _keep(kept, **{key: getattr(maps, key) for key in VoiceMaps.__dataclass_fields__})
    return maps


def _keep(path: Path, **arrays: Any) -> None:
    """Keep arrays in a file that another measuring beside this one never finds half written."""
    whole = BytesIO()
    np.savez_compressed(whole, **arrays)
    write_whole(path, whole.getvalue())


def recorded(dry: NDArray[np.float32], condition: Condition, *, seed: int) -> NDArray[np.float32]:
    """Return the sound as it is, through an overdriven amplifier in a room, or as a telephone keeps it."""
    from scipy.signal import butter, fftconvolve, sosfilt

    rng = np.random.default_rng(seed)
    wet = dry.astype(np.float64)
    if condition == "driven":
        import soxr

        fine = np.asarray(soxr.resample(wet, RATE_HZ, 4 * RATE_HZ))
        fine = np.tanh(DRIVE_GAIN * fine / (2 * np.sqrt(np.mean(fine**2))) + 0.1) - np.tanh(0.1)
        wet = np.asarray(soxr.resample(fine, 4 * RATE_HZ, RATE_HZ))[: dry.size]
        wet = sosfilt(butter(4, (70.0, CABINET_HZ), "bandpass", fs=RATE_HZ, output="sos"), wet)
        t = np.arange(int(ROOM_S * RATE_HZ)) / RATE_HZ
        tail = fftconvolve(wet, rng.standard_normal(t.size) * 10.0 ** (-3.0 * t / ROOM_S))[: wet.size]
        wet += tail * np.sqrt(np.mean(wet**2) / np.mean(tail**2)) * 10 ** (ROOM_DB / 20)
    elif condition == "phone":
        wet = sosfilt(butter(4, PHONE_HZ, "bandpass", fs=RATE_HZ, output="sos"), wet)
        wet += rng.standard_normal(wet.size) * np.sqrt(np.mean(wet**2)) * 10 ** (PHONE_NOISE_DB / 20)
    wet *= 0.7 / np.abs(wet).max()
    wet += rng.standard_normal(wet.size) * 10 ** (HISS_DB[condition] / 20)
    return wet.astype(np.float32)


def sound_and_truth(
    performance: Performance, guitar: str, bank: Bank | None, cache: Path | None
) -> tuple[NDArray[np.float32], TakeDocument]:
    """Return the dry sound at RATE_HZ and the reference."""
    lick = performance.lick
    kept = None
    if cache is not None:
        kept = cache / "sound" / f"{lick.name}.{guitar}.{_short(repr((VERSION, performance)))}.npz"
        if kept.is_file():
            with np.load(kept) as file:
                return file["sound"], _reference(
                    performance, guitar, file["sound"], dict(zip(file["names"], file["fades"], strict=True))
                )
    if guitar in GUITARS:
        import soxr

        fine = render(performance, GUITARS[guitar], rate_hz=2 * RATE_HZ, seed=seed_of(lick.name, guitar))
        sound = np.asarray(soxr.resample(fine, 2 * RATE_HZ, RATE_HZ), dtype=np.float32)
        fades = {note.id: ring_s(GUITARS[guitar], note) for note in performance.notes}
    elif bank is not None:
        sound, fades = play_bank(performance, bank, guitar, seed=seed_of(lick.name, guitar))
    else:
        raise ValueError(f"{guitar} needs a bank")
    if kept is not None:
        _keep(kept, sound=sound, names=np.array(list(fades)), fades=np.array(list(fades.values())))
    return sound, _reference(performance, guitar, sound, fades)


def _reference(
    performance: Performance, guitar: str, sound: NDArray[np.float32], fades: dict[str, float]
) -> TakeDocument:
    return document_from_json(
        take_document(
            performance,
            file=f"{performance.lick.name}.{guitar}.wav",
            samples=sound.size,
            rate_hz=RATE_HZ,
            ring_s={str(name): float(fade) for name, fade in fades.items()},
            made_with=guitar,
        )
    )


def _short(content: str | bytes) -> str:
    data = content.encode() if isinstance(content, str) else content
    return hashlib.sha256(data).hexdigest()[:12]
