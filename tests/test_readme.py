"""What the README shows is what happens: its first command's output, its Python examples, its test command."""

import re
import shlex
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")


def block(mark: str) -> list[str]:
    """Contents of the code blocks between ``<!-- mark -->`` and the next ``<!-- end -->``."""
    inside = re.findall(rf"<!-- {mark} -->(.*?)<!-- end -->", README, flags=re.DOTALL)
    return [re.sub(r"^\s*```\w*\n|\n```\s*$", "", text) for text in inside]


def run_python(*words: str, cwd: Path) -> str:
    environment = {"PYTHONPATH": str(ROOT), "COLUMNS": "100", "PYTHONUTF8": "1", "PATH": "/usr/bin:/bin"}
    done = subprocess.run(
        [sys.executable, *words], capture_output=True, text=True, cwd=cwd, env=environment, check=False
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_the_first_command_prints_what_the_readme_shows(tmp_path):
    command = next(line for line in README.splitlines() if line.startswith("python3 -m venv") and "draft" in line)
    words = shlex.split(command.split("takesheet ", 1)[1])
    words[1] = str(ROOT / words[1])
    printed = run_python("-m", "transcribe", *words, cwd=tmp_path)
    assert printed.strip().splitlines() == block("output of the first command")[0].strip().splitlines()


def test_the_python_examples_run():
    examples = block("python example")
    assert len(examples) == 3
    for example in examples:
        assert run_python("-c", example, cwd=ROOT).strip()


def test_the_test_command_is_the_one_that_ci_reads():
    lines = [line for line in block("test command")[0].splitlines() if line.startswith("python")]
    assert len(lines) == 1
    assert "pytest" in lines[0]


def test_no_figure_was_left_open():
    prose = re.sub(r"```.*?```", "", README, flags=re.DOTALL)
    assert not re.search(r"\{[A-Z0-9_]+\}", prose)
