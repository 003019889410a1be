"""All commands under one name, and what a person sees when something is wrong."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Sequence
from typing import Any

from fingering.errors import FingeringError
from transcribe.cli import bends, draft, positions, record, score, sheet
from transcribe.cli.parsing import Parser, parsed
from transcribe.errors import TakesheetError

EXIT_OK, EXIT_MISTAKE, EXIT_STOPPED = 0, 2, 130  # 130: ended by Ctrl-C, as shells count it

DESCRIPTION = "Draft notation, tab and fingering from a recorded guitar lick, and say what is unsure."


def main(words: Sequence[str] | None = None) -> int:
    """Run one command and return its exit code: 0 done, 2 a mistake a person can mend, 130 stopped by Ctrl-C."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):  # a console without our signs shows "?" instead of failing
            stream.reconfigure(errors="replace")
    try:
        arguments = parsed(_parser(), words)
        exit_code: int = arguments.run(arguments)
        return exit_code
    except (TakesheetError, FingeringError) as error:
        say_mistake(error.found, error.mend)
        return EXIT_MISTAKE
    except BrokenPipeError:  # the reader of our output went away, for example `| head`
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return EXIT_OK
    except OSError as error:
        say_mistake(f"the system says: {error}", "Check that the disk has room and that you may read and write there.")
        return EXIT_MISTAKE
    except KeyboardInterrupt:
        say_mistake("stopped; files already finished are kept")
        return EXIT_STOPPED


def say_mistake(found: str, mend: str = "") -> None:
    """Print one line on what is wrong and one on what to do, on standard error."""
    print(f"takesheet: {found}" + (f"\n  {mend}" if mend else ""), file=sys.stderr)


def _parser() -> argparse.ArgumentParser:
    parser = Parser(prog="takesheet", description=DESCRIPTION)
    parser.add_argument("--version", action=_TellVersion, nargs=0, help="show program's version number and exit")
    subparsers = parser.add_subparsers(dest="command", metavar="COMMAND", required=True)
    for command in (draft, positions, record, sheet, bends, score):
        command.add_parser(subparsers)
    return parser


class _TellVersion(argparse.Action):
    """Looked up when asked for: that costs more than all other words of the command line."""

    def __call__(self, parser: argparse.ArgumentParser, *_: Any) -> None:
        print(f"takesheet {_version()}")
        parser.exit()


def _version() -> str:
    from importlib.metadata import PackageNotFoundError, version

    try:
        return version("takesheet")
    except PackageNotFoundError:  # run from a folder that was never installed
        return "not installed"
