"""Who may import whom, held by reading every import in the tree."""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
ENGINE_MAY = {"engine", "numpy", "pydantic"}
ENGINE_NEVER = {
    "socket", "sqlite3", "random", "pathlib", "os", "shutil", "tempfile", "io", "threading",
    "subprocess", "time", "asyncio",
}  # fmt: skip
DECODERS = {"adapters.wits0", "adapters.ascii_line"}


def modules(package: str) -> list[Path]:
    return sorted((ROOT / package).rglob("*.py"))


def imports(path: Path) -> Iterator[str]:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative import"
            yield str(node.module)


def top(name: str) -> str:
    return name.split(".")[0]


@pytest.mark.parametrize("path", modules("engine"), ids=str)
def test_the_engine_imports_only_arithmetic(path: Path) -> None:
    allowed = {"asyncio"} if path.name == "run.py" else set()
    for name in imports(path):
        first = top(name)
        assert first in ENGINE_MAY or first in sys.stdlib_module_names, name
        assert first not in ENGINE_NEVER - allowed, name


@pytest.mark.parametrize("path", modules("adapters"), ids=str)
def test_adapters_never_import_the_screen(path: Path) -> None:
    assert not {top(n) for n in imports(path)} & {"tui", "textual", "rich"}


@pytest.mark.parametrize("path", modules("tui"), ids=str)
def test_screens_never_import_adapters(path: Path) -> None:
    if path.parent.name == "commands":
        return
    found = {top(n) for n in imports(path)}
    assert not found & {"adapters", "serial", "sqlite3"}


def test_no_file_is_over_three_hundred_lines() -> None:
    long = {
        str(path.relative_to(ROOT)): lines
        for package in ("engine", "adapters", "tui", "tests")
        for path in modules(package)
        if (lines := len(path.read_text(encoding="utf-8").splitlines())) > 300
    }
    assert long == {}


@pytest.mark.parametrize(
    "command", ["review", "export", "import", "record", "doctor", "well", "evaluate"]
)
def test_headless_commands_never_load_the_screen(command: str) -> None:
    """R-45: the recorder and the reports must not depend on a terminal library."""
    names = {"import": "importing"}
    code = (
        f"import sys, tui.cli, tui.commands.{names.get(command, command)}\n"
        "bad = {'textual', 'rich'} & set(sys.modules)\n"
        "sys.exit(f'loaded {bad}' if bad else 0)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, cwd=ROOT)
    assert done.returncode == 0, done.stderr
