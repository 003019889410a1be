"""Options that several commands share: the guitar, the music, the passage; words typed to TakeChoices."""

from __future__ import annotations

import argparse
import re
from fractions import Fraction

from fingering.fretboard import Fretboard, tuning_from_text
from transcribe.choices import TakeChoices
from transcribe.errors import SettingsError
from transcribe.harmony.backing import bars_from_text
from transcribe.harmony.key import key_from_text
from transcribe.rhythm.rhythm import meter_from_text


def add_guitar_options(parser: argparse.ArgumentParser, *, frets_option: str = "--frets") -> None:
    """Add tuning, capo, frets, scale length and reference pitch."""
    group = parser.add_argument_group("the guitar")
    group.add_argument(
        "--tuning",
        default="standard",
        metavar="NAME_OR_NOTES",
        help="a name (standard, 'drop D', 'open G', 'half a step down') or notes from low to high "
        "('D A D G B E'); default standard",
    )
    group.add_argument("--capo", type=int, default=0, metavar="FRET", help="fret of the capo; default 0, none")
    group.add_argument(
        frets_option, dest="frets", type=int, default=22, metavar="COUNT", help="frets on the neck; default 22"
    )
    group.add_argument(
        "--scale-length", type=float, default=648.0, metavar="MM", help="nut to bridge in millimetres; default 648"
    )
    group.add_argument(
        "--reference", type=float, default=440.0, metavar="HZ", help="pitch of A above middle C; default 440 Hz"
    )


def add_music_options(parser: argparse.ArgumentParser) -> None:
    """Add tempo, meter, feel, pickup and key."""
    group = parser.add_argument_group("the music")
    group.add_argument(
        "--tempo", type=float, metavar="BPM", help="quarter notes a minute; without it, found from the notes"
    )
    group.add_argument(
        "--taps",
        metavar="TIMES",
        help="when you tapped the beat along with the take, as seconds or MIN:SEC with commas between; "
        "in place of --tempo",
    )
    group.add_argument("--meter", metavar="BEATS/UNIT", help="time signature; without it, found from the notes")
    group.add_argument(
        "--feel", choices=("straight", "swing"), help="how eighths are played; without it, found from the notes"
    )
    group.add_argument(
        "--pickup",
        metavar="BEATS",
        help="quarter notes before bar 1, such as 1 or 1/2; without it, found from the notes",
    )
    group.add_argument(
        "--key", metavar="KEY", help="key, such as A or 'F# minor'; without it, estimated from the notes"
    )
    group.add_argument("--vamp", metavar="CHORD", help="the one chord that the backing stays on, such as G or A7")
    group.add_argument(
        "--chords",
        metavar="BARS",
        help="chords of the backing from bar 1, bars apart with |, such as 'G | C G | D7'; repeated to the end",
    )


def add_passage_options(parser: argparse.ArgumentParser) -> None:
    """Add the start and end of the passage to hear, and where its bar 1 begins."""
    group = parser.add_argument_group("the passage")
    group.add_argument("--from", dest="from_time", metavar="TIME", help="start in the file, as seconds or MIN:SEC")
    group.add_argument("--to", dest="to_time", metavar="TIME", help="end in the file, as seconds or MIN:SEC")
    group.add_argument(
        "--first-beat",
        metavar="TIME",
        help="when bar 1 begins in the file, as seconds or MIN:SEC; notes before it are the pickup",
    )


def add_hearing_options(parser: argparse.ArgumentParser) -> None:
    """Add how the take is listened to."""
    group = parser.add_argument_group("listening")
    group.add_argument(
        "--network",
        choices=("tiny", "full"),
        default="tiny",
        help="size of the pitch network; full is slower and needs the extra crepe-full; default tiny",
    )
    group.add_argument(
        "--voices",
        choices=("auto", "one", "several"),
        default="auto",
        help="listen for one string at a time or for several at once; auto decides by what is heard; default auto",
    )
    group.add_argument(
        "--second-opinion",
        action="store_true",
        help="let a second pitch tracker listen too and doubt the notes where the two disagree (slower)",
    )
    group.add_argument("--accept-clipping", action="store_true", help="go on although the recording is overloaded")


def choices_from(arguments: argparse.Namespace) -> TakeChoices:
    """Return the choices typed; raises SettingsError or TuningError on what nobody could play."""
    return TakeChoices(
        from_s=seconds_from_text(arguments.from_time),
        to_s=seconds_from_text(arguments.to_time),
        tempo_bpm=arguments.tempo,
        first_downbeat_s=seconds_from_text(arguments.first_beat),
        meter=meter_from_text(arguments.meter) if arguments.meter else None,
        pickup_beats=_beats_from_text(arguments.pickup),
        feel=arguments.feel,
        taps_s=_times_from_text(arguments.taps),
        key=key_from_text(arguments.key) if arguments.key else None,
        vamp=arguments.vamp,
        chords=bars_from_text(arguments.chords) if arguments.chords else (),
        fretboard=Fretboard(
            open_midi=tuning_from_text(arguments.tuning),
            frets=arguments.frets,
            capo=arguments.capo,
            scale_length_mm=arguments.scale_length,
        ),
        reference_hz=arguments.reference,
        network=arguments.network,
        voices=arguments.voices,
        second_opinion=arguments.second_opinion,
        accept_clipping=arguments.accept_clipping,
    )


def _beats_from_text(text: str | None) -> Fraction | None:
    if text is None:
        return None
    try:
        return Fraction(text.strip())
    except (ValueError, ZeroDivisionError):
        raise SettingsError(
            f"no such number of beats: {text!r}", "Give quarter notes, for example 1, 1/2 or 1.5."
        ) from None


def _times_from_text(text: str | None) -> tuple[float, ...]:
    if text is None:
        return ()
    return tuple(seconds for part in text.split(",") if (seconds := seconds_from_text(part)) is not None)


def seconds_from_text(text: str | None) -> float | None:
    """Return seconds for ``83.5``, ``1:23.5`` or ``1:02:03``; None for None.

    >>> seconds_from_text("1:23.5")
    83.5
    """
    if text is None:
        return None
    match = re.fullmatch(r"(?:(?:(\d+):)?(\d{1,2}):)?(\d+(?:\.\d+)?)", text.strip())
    if not match:
        raise SettingsError(f"no such time: {text!r}", "Give seconds or minutes:seconds, for example 83.5 or 1:23.5.")
    hours, minutes, seconds = (float(part or 0) for part in match.groups())
    return hours * 3600 + minutes * 60 + seconds
