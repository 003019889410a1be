"""The rules of the layout that prose alone would not keep: one direction of data, light start-up, documented names."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
SOURCES = sorted((ROOT / "transcribe").rglob("*.py")) + sorted((ROOT / "fingering").rglob("*.py"))

# Rooms in the order in which data flows: a room may import those before it. Values shared by all come first.
ROOMS = ["audio", "evidence", "notes", "rhythm", "harmony", "document", "score", "write"]
SHARED = {"errors", "units", "settings"}
SEAMS = {
    "choices",
    "hearing",
    "listening",
    "long_take",
    "measured",
    "placing",
    "stringing",
    "shape_words",
    "wishes",
    "positions",
    "reasons",
    "opening",
    "pipeline",
}
AFTER_ROOMS = SEAMS | {"cli", "__main__", "evaluate", "training"}


def name_of(path: Path) -> str:
    return ".".join(path.relative_to(ROOT).with_suffix("").parts)


def imported(path: Path, *, at_module_level_only: bool = False) -> set[str]:
    """Modules that a file imports, as dotted names."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    nodes = tree.body if at_module_level_only else list(ast.walk(tree))
    names: set[str] = set()
    for node in nodes:
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path} uses a relative import"
            names.add(node.module or "")
    return names


def room_of(module: str) -> str:
    parts = module.split(".")
    return parts[1] if parts[0] == "transcribe" and len(parts) > 1 else parts[0]


@pytest.mark.parametrize("path", SOURCES, ids=name_of)
def test_imports_follow_the_data(path):
    room = room_of(name_of(path))
    for module in imported(path):
        if not module.startswith(("transcribe.", "fingering")):
            continue
        other = room_of(module)
        if name_of(path).startswith("fingering"):
            assert module.startswith("fingering"), f"fingering must stay free of {module}"
        elif room in ROOMS:
            assert other not in AFTER_ROOMS, f"{name_of(path)} reaches forward to {module}"
            if other in ROOMS:
                assert ROOMS.index(other) <= ROOMS.index(room), f"{name_of(path)} reaches forward to {module}"
        elif room in SHARED:
            assert other in SHARED, f"{name_of(path)} reaches forward to {module}"
        if room not in {"evaluate", "cli", "training"}:
            assert other != "evaluate", f"{name_of(path)} judges its own work"
        if room != "training":
            # the one exception: the full network is converted on first use
            assert other != "training" or name_of(path) == "transcribe.evidence.crepe", f"{name_of(path)} trains"


@pytest.mark.parametrize("path", [p for p in SOURCES if "fingering" in p.parts], ids=name_of)
def test_fingering_needs_numpy_alone(path):
    outside = {module.split(".")[0] for module in imported(path)} - set(sys.stdlib_module_names)
    assert outside <= {"fingering", "numpy"}


@pytest.mark.parametrize("path", SOURCES, ids=name_of)
def test_heavy_libraries_are_imported_late(path):
    if "training" in path.parts:
        return
    heavy = {"tensorflow", "keras", "librosa", "numba", "av", "sounddevice", "ai_edge_litert", "lxml", "resvg_py"}
    assert not heavy & {module.split(".")[0] for module in imported(path, at_module_level_only=True)}


@pytest.mark.parametrize("path", SOURCES, ids=name_of)
def test_every_public_name_is_documented(path):
    tree = ast.parse(path.read_text(encoding="utf-8"))
    assert ast.get_docstring(tree), f"{path} does not say what it is for"
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef | ast.ClassDef) and not node.name.startswith("_"):
            inside_function = any(
                isinstance(parent, ast.FunctionDef) and node in ast.walk(parent) and parent is not node
                for parent in ast.walk(tree)
            )
            assert inside_function or ast.get_docstring(node), f"{name_of(path)}.{node.name} has no docstring"


def test_help_starts_without_numerics_beyond_numpy():
    """Start-up first: asking for help loads no network runtime, decoder, or scientific library."""
    code = (
        "import sys\n"
        "from transcribe.cli.commands import main\n"
        "try:\n    main(['--help'])\nexcept SystemExit:\n    pass\n"
        "heavy = {'scipy', 'av', 'ai_edge_litert', 'librosa', 'numba', 'tensorflow', 'lxml', 'mido'}\n"
        "heavy &= set(sys.modules)\n"
        "sys.exit(f'loaded {heavy}' if heavy else 0)\n"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=ROOT)
    assert done.returncode == 0, done.stderr


def test_code_examples_in_docstrings_hold():
    import doctest
    import importlib

    tried = 0
    for path in SOURCES:
        if ">>>" not in path.read_text(encoding="utf-8") or "training" in path.parts:
            continue
        result = doctest.testmod(importlib.import_module(name_of(path).removesuffix(".__init__")))
        assert result.failed == 0, f"an example in {name_of(path)} does not hold"
        tried += result.attempted
    assert tried > 5
