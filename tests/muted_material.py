"""Palm-muted and dead notes among open ones, with exact truth: a riff for choosing numbers and one for figures."""

from __future__ import annotations

from collections.abc import Iterator

from fixtures.render import seed_of
from tests.voice_material import CONDITIONS, Condition, Part, Take, guitars_of, recorded, sound_and_truth
from transcribe.audio.recording import Recording
from transcribe.training.lick import Lick, Mute, Step, step
from transcribe.training.note_bank import RATE_HZ, Bank
from transcribe.training.perform import perform

# (string, fret, mute), eighth notes; p is the palm, x a finger that only touches
RIFFS: dict[Part, str] = {
    "choosing": "60p 60p 62 50 60p x52 52 60p 63p 53 x53 43 60p 60p x50 40 52p 50p 42 x42 32 50p x33 33 60p 62 64 x62",
    "judging": "50p 50p 52 x52 40 50p 53p 43 42 x42 60p 63 x63 50 52p 52p x52 54 44 33 x32 32 50p 60p x60 60 42p 44",
}
NAMES = {"choosing": "anchor-chain", "judging": "winch-pawl"}


def muted_takes(
    part: Part,
    bank: Bank | None,
    *,
    guitars: tuple[str, ...] | None = None,
    conditions: tuple[Condition, ...] = CONDITIONS,
) -> Iterator[Take]:
    """Yield the riff of a part on every guitar in every condition."""
    lick = Lick(
        name=NAMES[part],
        tempo_bpm=104.0,
        steps=tuple(_step(sign) for sign in RIFFS[part].split()),
        seed=seed_of(NAMES[part]),
    )
    for guitar in guitars_of(part, bank) if guitars is None else guitars:
        sound, reference = sound_and_truth(perform(lick), guitar, bank, None)
        for condition in conditions:
            name = f"{lick.name}.{guitar}.{condition}"
            heard = recorded(sound, condition, seed=seed_of(name))
            yield Take(name, "single", guitar, condition, Recording(heard, RATE_HZ), reference)


def _step(sign: str) -> Step:
    mute: Mute = "palm" if sign.endswith("p") else "dead" if sign.startswith("x") else "none"
    string, fret = int(sign.strip("px")[0]), int(sign.strip("px")[1])
    return step("1/2", string, fret, min(fret, 4) if fret else 0, mute=mute, held=0.95)
