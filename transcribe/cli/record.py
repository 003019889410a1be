"""``takesheet record``: a lick from the microphone, then its draft."""

from __future__ import annotations

import argparse
import math
import sys
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from transcribe.cli.draft import DEFAULT_FOLDER
from transcribe.cli.options import add_guitar_options, add_hearing_options, add_music_options
from transcribe.errors import SettingsError

if TYPE_CHECKING:
    from transcribe.audio.click import Click
    from transcribe.audio.record import Level, Microphone, TakeRecord

METER_WIDTH = 30  # signs, 2 dB each
METER_STEP_DB = 2.0
METER_EVERY_S = 0.1
OVERLOADED = "  OVERLOADED, turn it down"
QUIET_PEAK = 0.05  # -26 dB: too soft to be sure of quiet notes

EXAMPLE = """\
example:
  takesheet record --input 'usb' --tempo 92 --count-in 1 --key 'E minor' --name bend-etude

Press Enter to end the take. The recording grows on the disk while you play: whatever happens, what was played is kept.
The click plays through the default output. Wear headphones, and turn the volume down before the first tick.
"""


def add_parser(subparsers: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Add ``record`` to the command line."""
    parser = subparsers.add_parser(
        "record",
        help="record a lick from the microphone and draft it",
        description="Record a lick from a microphone or audio input to a WAV file, then draft it.",
        epilog=EXAMPLE,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--input", metavar="NAME", help="the input, by its name or a part of it; default the system's")
    parser.add_argument("--channel", type=int, default=1, metavar="N", help="channel of the input; default 1")
    parser.add_argument("--list-inputs", action="store_true", help="list the inputs and end")
    parser.add_argument(
        "--count-in",
        type=int,
        default=0,
        metavar="BARS",
        help="bars of click before the take; default 0; needs --tempo",
    )
    parser.add_argument("--click", action="store_true", help="let the click go on through the take; needs --tempo")
    parser.add_argument(
        "--seconds", type=float, metavar="N", help="length of the take in seconds; default until Enter, at most 10 min"
    )
    parser.add_argument("--name", metavar="NAME", help="name of the take; default take- and the date and time")
    parser.add_argument(
        "--out", type=Path, metavar="DIR", help=f"folder for the recording and its draft; default {DEFAULT_FOLDER}"
    )
    parser.add_argument("--no-draft", action="store_true", help="only record")
    add_music_options(parser)
    add_guitar_options(parser)
    add_hearing_options(parser)
    parser.set_defaults(run=run, from_time=None, to_time=None, first_beat=None)


def run(arguments: argparse.Namespace) -> int:
    """Record a take and draft it; returns 0, or what drafting returned."""
    from transcribe.audio.sound_card import SoundCard, choose_input, list_inputs, sound_library

    if arguments.list_inputs:
        print(_input_list(list_inputs(sound_library())))
        return 0
    click, path = check(arguments), take_path(arguments)
    library = sound_library()
    device = choose_input(list_inputs(library), arguments.input)
    microphone = SoundCard(library, device, channel=arguments.channel, click=click)
    taken = record_with(microphone, path, arguments.seconds, click)
    if arguments.no_draft or taken.duration_s == 0:
        return 0
    return _draft(arguments, taken, click)


def check(arguments: argparse.Namespace) -> Click | None:
    """Return the click asked for, or None; raises SettingsError on anything that would only fail after playing."""
    from transcribe.audio.click import Click
    from transcribe.cli.options import choices_from
    from transcribe.rhythm.beats import FOUR_FOUR

    choices = choices_from(arguments)
    seconds = arguments.seconds
    if seconds is not None and not (math.isfinite(seconds) and seconds > 0):
        raise SettingsError(f"--seconds is {seconds:g}", "Give a length above 0, for example --seconds 20.")
    if not (arguments.click or arguments.count_in):
        return None
    if choices.tempo_bpm is None:
        raise SettingsError("a click needs a tempo", "Add --tempo, in quarter notes a minute.")
    meter = choices.meter or FOUR_FOUR
    return Click(
        tick_s=60.0 / choices.tempo_bpm * 4 / meter.unit,
        ticks_a_bar=meter.beats,
        count_in_bars=arguments.count_in,
        through=arguments.click,
    )


def take_path(arguments: argparse.Namespace) -> Path:
    """Return where the recording goes; raises SettingsError for a name that is none."""
    name = arguments.name or time.strftime("take-%Y%m%d-%H%M%S")
    if name != Path(name).name or name.startswith("."):
        raise SettingsError(f"no such name for a take: {name!r}", "Give a plain name, and the folder with --out.")
    stem = name.removesuffix(".wav")
    return (arguments.out or DEFAULT_FOLDER) / f"{stem}.wav"


def record_with(microphone: Microphone, path: Path, seconds: float | None, click: Click | None) -> TakeRecord:
    """Record with a level meter on standard error, until Enter, Ctrl-C or the time is up; say what was got."""
    from transcribe.audio.record import record_take

    if click is not None:
        _say("The click plays through the default output: headphones on, volume low.")
    end = "Enter ends the take" if seconds is None else f"{seconds:g} s, or Enter to end sooner"
    _say(f"Recording from {microphone.name} to {path}. {end}.")
    taken = record_take(
        microphone, path, seconds=seconds, click=click, should_stop=enter_watch(sys.stdin), on_level=_meter()
    )
    if sys.stderr.isatty():
        print("\r\033[K", end="", file=sys.stderr)
    for line in told(taken):
        _say(line)
    return taken


def told(taken: TakeRecord) -> list[str]:
    """Return what a player should know about a take just recorded, one line each."""
    if taken.duration_s == 0:
        return ["Nothing was recorded."]
    why = {
        "device lost": "The input went away while recording; what came before is kept.",
        "disk full": "The disk is full; what came before is kept.",
        "longest take": "That is the longest take that can be drafted, so recording ended.",
    }
    lines = [why[taken.ended]] if taken.ended in why else []
    lines.append(f"Recorded {taken.duration_s:.1f} s, peak {_db(taken.peak)}: {taken.path}")
    if taken.clipped_s:
        lines.append(f"The input was overloaded {_times(taken.clipped_s)}: turn it down for the next take.")
    elif taken.peak < QUIET_PEAK:
        lines.append("That is very quiet: turn the input up for the next take.")
    if taken.dropped_s:
        lines.append(
            f"The sound card lost some sound {_times(taken.dropped_s)}: close other programs and take it again."
        )
    return lines


def enter_watch(stream: Any) -> Callable[[], bool]:
    """Return a function that tells, without waiting, whether Enter was pressed; never where there is no keyboard."""
    if sys.platform == "win32":
        import msvcrt

        return lambda: bool(msvcrt.kbhit()) and msvcrt.getwch() in "\r\n"
    import select

    closed = False

    def pressed() -> bool:
        nonlocal closed
        if closed:
            return False
        try:
            ready = bool(select.select([stream], [], [], 0)[0])
        except (ValueError, OSError, TypeError, AttributeError):  # no file behind it
            closed = True
            return False
        if not ready:
            return False
        closed = not stream.readline()  # its end is no Enter
        return not closed

    return pressed


def _draft(arguments: argparse.Namespace, taken: TakeRecord, click: Click | None) -> int:
    """Draft the take just recorded; the count-in tells where bar 1 begins, and a pickup may lie in its last bar."""
    from transcribe.cli import draft

    arguments.takes, arguments.json, arguments.jobs, arguments.also = [taken.path], False, 1, ()
    if click is not None and taken.downbeat_s is not None:
        arguments.first_beat = f"{taken.downbeat_s:.4f}"
        heard_from_s = max(0.0, taken.downbeat_s - click.bar_s)
        if heard_from_s < taken.duration_s:
            arguments.from_time = f"{heard_from_s:.3f}"
    return draft.run(arguments)


def _meter() -> Callable[[Level], None]:
    """Return a function that redraws one line: time, a bar of the level, and a warning that stays after clipping."""
    clipped, peak, shown_s = False, 0.0, 0.0

    def show(level: Level) -> None:
        nonlocal clipped, peak, shown_s
        clipped, peak = clipped or level.clipped, max(peak, level.peak)
        if level.duration_s < shown_s + METER_EVERY_S:
            return
        if sys.stderr.isatty():
            line = meter_line(replace(level, peak=peak), clipped)
            print(f"\r{line}", end="", file=sys.stderr, flush=True)
        peak, shown_s = 0.0, level.duration_s

    return show


def meter_line(level: Level, clipped: bool) -> str:
    """Return the meter: 60 dB wide, full scale at its right end."""
    db = 20 * math.log10(max(level.peak, 1e-6))
    n = max(0, min(METER_WIDTH, METER_WIDTH + math.ceil(db / METER_STEP_DB)))
    warning = OVERLOADED if clipped else " " * len(OVERLOADED)
    return f"{level.duration_s:6.1f} s |{'#' * n}{'.' * (METER_WIDTH - n)}| {_db(level.peak):>10}{warning}"


def _db(peak: float) -> str:
    return f"{20 * math.log10(peak):.0f} dB" if peak > 1e-6 else "silence"


def _times(times_s: tuple[float, ...]) -> str:
    shown = ", ".join(f"{t:.1f}" for t in times_s[:3])
    return f"at {shown} s" + (f" and {len(times_s) - 3} more times" if len(times_s) > 3 else "")


def _input_list(inputs: Any) -> str:
    return "\n".join(
        f"{device.name}  ({device.channels} channel{'s' if device.channels != 1 else ''}, {device.rate_hz} Hz"
        f"{', default' if device.is_default else ''})"
        for device in inputs
    )


def _say(line: str) -> None:
    print(line, file=sys.stderr)
