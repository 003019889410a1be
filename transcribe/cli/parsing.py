"""Words typed that no command knows: one line on what is wrong, one on how to mend it, as for every mistake."""

from __future__ import annotations

import argparse
import re
from collections.abc import Sequence
from typing import NoReturn

from transcribe.errors import SettingsError

NUMBERS = {"float": "number", "int": "whole number"}
ONE_WORD = re.compile(r"(?:argument )?(?P<name>[^:]+): (?P<what>.*)", re.DOTALL)


class Parser(argparse.ArgumentParser):
    """A parser that raises SettingsError where it would print all its usage and leave."""

    def error(self, message: str) -> NoReturn:
        """Raise what is wrong, in words of this tool."""
        found, mend = in_our_words(message)
        raise SettingsError(found, mend or f"{self.prog} --help shows what may be typed, with an example.")


def parsed(parser: argparse.ArgumentParser, words: Sequence[str] | None) -> argparse.Namespace:
    """Return the words typed as choices; raises SettingsError for words that nothing here knows.

    The parser's commands are the destination ``command``.
    """
    arguments, unknown = parser.parse_known_args(words)
    if not unknown:
        return arguments
    command = _command_of(parser, arguments.command)
    options = [word.partition("=")[0] for word in unknown if word.startswith("-")]
    first = options[0] if options else unknown[0]
    near = _near(command, first) if options else ""
    raise SettingsError(
        f"{command.prog} has no option {first}" if options else f"{command.prog} has no use for {first!r}",
        (f"Perhaps {near}: " if near else "") + f"{command.prog} --help lists what there is.",
    )


def in_our_words(message: str) -> tuple[str, str]:
    """Return a parser's message as what is wrong and how to mend it; no mend where the help alone tells.

    >>> in_our_words("argument --tempo: invalid float value: 'fast'")
    ("--tempo 'fast' is no number", 'Give a number.')
    """
    told = ONE_WORD.fullmatch(message)
    if told is None:
        return message, ""
    name, what = told["name"], told["what"]
    if value := re.fullmatch(r"invalid (\w+) value: (.*)", what):
        kind = NUMBERS.get(value[1], "value that fits")
        return f"{name} {value[2]} is no {kind}", f"Give a {kind}."
    if choice := re.fullmatch(r"invalid choice: (.*) \(choose from (.*)\)", what):
        return f"{name} {choice[1]} is none of the choices", f"Choose from {choice[2].replace(chr(39), '')}."
    if name == "the following arguments are required":
        return f"something is left out: {what}", ""
    return f"{name}: {what}", ""


def _command_of(parser: argparse.ArgumentParser, name: str) -> argparse.ArgumentParser:
    for action in parser._actions:
        if isinstance(action, argparse._SubParsersAction):
            found: argparse.ArgumentParser = action.choices[name]
            return found
    return parser


def _near(command: argparse.ArgumentParser, typed: str) -> str:
    """Return the option most like the one typed, or one whose choices name it: --formats for --png."""
    from difflib import get_close_matches

    options = {name: action for action in command._actions for name in action.option_strings if name.startswith("--")}
    alike = get_close_matches(typed, list(options), n=1, cutoff=0.75)
    if alike:
        return alike[0]
    word = re.compile(rf"\b{re.escape(typed.lstrip('-'))}\b")
    naming = [name for name, action in options.items() if action.help and word.search(action.help)]
    return f"{naming[0]} {typed.lstrip('-')}" if len(naming) == 1 else ""
