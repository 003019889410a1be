"""What a person sees: help for every command, and two lines for every mistake."""

import re
from pathlib import Path

import pytest

from transcribe.cli.commands import main

ROOT = Path(__file__).parents[3]
COMMANDS = ("draft", "positions", "record", "sheet", "bends", "score")


def help_of(capsys, *words: str) -> str:
    with pytest.raises(SystemExit) as stop:
        main([*words, "--help"])
    assert stop.value.code == 0
    return capsys.readouterr().out


@pytest.mark.parametrize("command", COMMANDS)
def test_each_command_has_help_with_an_example_a_teacher_would_type(capsys, command):
    text = help_of(capsys, command)
    assert re.search(rf"example:\n +takesheet {command} ", text)


def test_the_list_of_commands_names_each(capsys):
    text = help_of(capsys)
    assert all(command in text for command in COMMANDS)


@pytest.mark.parametrize("command", COMMANDS)
def test_each_command_and_each_option_is_documented_in_the_readme_or_its_help(capsys, command):
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    assert f"takesheet {command}" in readme
    for option in re.findall(r"^ +(--[a-z-]+)(?: .*)?$", help_of(capsys, command), flags=re.MULTILINE):
        after = help_of(capsys, command).split(option, 1)[1]
        assert re.search(r"[a-z]{3}", after.split("\n  --", 1)[0]), f"{option} of {command} is not explained"


def test_the_readme_names_no_option_that_does_not_exist(capsys):
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    for command in COMMANDS:
        known = set(re.findall(r"--[a-z][a-z-]*", help_of(capsys, command)))
        for line in re.findall(rf"takesheet {command} [^\n`]*", readme):
            assert set(re.findall(r"--[a-z][a-z-]*", line)) <= known, line


@pytest.mark.parametrize(
    ("words", "found", "mend"),
    [
        ("draft a.wav --tempo fast", "--tempo 'fast' is no number", "Give a number."),
        ("draft a.wav --jobs 1.5", "--jobs '1.5' is no whole number", "Give a whole number."),
        ("draft a.wav --feel bouncy", "--feel 'bouncy' is none of the choices", "Choose from straight, swing."),
        ("sheet a.wav --png", "takesheet sheet has no option --png", "Perhaps --formats png: "),
        ("sheet a.wav --titel=x", "takesheet sheet has no option --titel", "Perhaps --title: "),
        ("score a.json b.json c.json", "takesheet score has no use for 'c.json'", "takesheet score --help lists"),
        ("sheet", "something is left out: TAKE_OR_DOCUMENT", "takesheet sheet --help shows"),
        ("draw a.wav", "COMMAND 'draw' is none of the choices", "Choose from draft, positions, "),
        ("", "something is left out: COMMAND", "takesheet --help shows"),
    ],
)
def test_words_that_mean_nothing_get_one_line_and_one_on_how_to_mend_it(capsys, words, found, mend):
    assert main(words.split()) == 2
    out, told = capsys.readouterr()
    first, second = told.splitlines()
    assert out == ""
    assert first == f"takesheet: {found}"
    assert second.startswith(f"  {mend}")
