"""Guitars made of numbers: strings, where they are picked and heard, body, drive and room."""

from __future__ import annotations

from dataclasses import dataclass

from transcribe.errors import PitchError

# Stretch of the partials at the open string, strings 1 to 6. Plain strings: B = pi^3 E d^4 / (64 T L^2) with
# E = 200 GPa, L = 648 mm and .010, .013, .017 in give 1.3e-5, 4.0e-5, 1.1e-4 (H. Fletcher, J. Acoust. Soc. Am. 36,
# 1964); the wound ones are typical sizes from memory.
ELECTRIC_STRETCH = (1.4e-5, 4.0e-5, 1.1e-4, 5.2e-5, 6.8e-5, 1.3e-4)
ACOUSTIC_STRETCH = (2.2e-5, 5.5e-5, 5.0e-5, 6.5e-5, 8.5e-5, 1.6e-4)  # heavier set, wound third


@dataclass(frozen=True, slots=True)
class Resonance:
    """One mode of a body or of a circuit."""

    hz: float
    q: float
    gain: float  # at its peak, against the direct sound


@dataclass(frozen=True, slots=True)
class Guitar:
    """One instrument and the way it is recorded."""

    name: str
    stretch: tuple[float, ...]  # B of each open string, string 1 first
    sustain_s: tuple[float, ...]  # time to fall 60 dB at the fundamental, open string
    damping_hz: float  # where partials begin to die away faster
    scale_mm: float = 648.0
    pick_mm: float = 95.0  # from the bridge
    pickup_mm: float | None = None  # None: heard at the bridge, through the body
    body: tuple[Resonance, ...] = ()
    direct: float = 1.0  # share of the sound that passes the body modes by
    brightness: float = 0.0  # power of n added to every partial's size; below zero is darker
    low_pass_hz: float = 9000.0  # coil and loudspeaker, or the air
    low_pass_q: float = 0.8
    drive: float = 0.0  # gain before the soft clip; 0 is clean
    pick_noise_db: float = -26.0  # peak of the pick's own sound against the note
    room_s: float = 0.0  # reverberation time
    room_db: float = -30.0  # its level against the note
    noise_db: float = -78.0  # amplifier and air, against full scale
    second_plane: float = 0.35  # share of the string's second plane of motion
    plane_cents: float = 0.35  # how far the two planes are apart in pitch

    def __post_init__(self) -> None:
        if len(self.stretch) != len(self.sustain_s) or min(self.stretch) < 0 or min(self.sustain_s) <= 0:
            raise PitchError(f"each string has a stretch at or above 0 and a sustain above 0; got {self.name}")


BRIGHT_ELECTRIC = Guitar(
    name="bright-electric",
    stretch=ELECTRIC_STRETCH,
    sustain_s=(5.0, 6.0, 6.5, 7.5, 8.5, 9.0),
    damping_hz=2200.0,
    pickup_mm=52.0,
    pick_mm=105.0,
    low_pass_hz=4800.0,
    low_pass_q=1.6,
    pick_noise_db=-24.0,
    room_s=0.22,
    room_db=-34.0,
)

DRIVEN_ELECTRIC = Guitar(
    name="driven-electric",
    stretch=ELECTRIC_STRETCH,
    sustain_s=(6.0, 7.0, 7.5, 8.5, 9.0, 10.0),
    damping_hz=2000.0,
    scale_mm=628.0,
    pickup_mm=150.0,
    pick_mm=120.0,
    low_pass_hz=4000.0,
    drive=6.0,
    room_s=0.35,
    room_db=-28.0,
    noise_db=-66.0,
)

STEEL_ACOUSTIC = Guitar(
    name="steel-acoustic",
    stretch=ACOUSTIC_STRETCH,
    sustain_s=(2.4, 3.0, 3.6, 4.4, 5.0, 5.4),
    damping_hz=1500.0,
    pick_mm=140.0,
    body=(
        Resonance(102.0, 14.0, 1.3),  # air of the box
        Resonance(205.0, 22.0, 1.1),  # top plate
        Resonance(390.0, 18.0, 0.7),
        Resonance(560.0, 16.0, 0.5),
        Resonance(910.0, 12.0, 0.4),
    ),
    brightness=0.35,
    low_pass_hz=8500.0,
    pick_noise_db=-18.0,
    room_s=0.4,
    room_db=-27.0,
    noise_db=-74.0,
    second_plane=0.5,
    plane_cents=0.6,
)

GUITARS = {guitar.name: guitar for guitar in (BRIGHT_ELECTRIC, DRIVEN_ELECTRIC, STEEL_ACOUSTIC)}
