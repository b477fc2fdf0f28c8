"""The house rules that a machine can hold: imports point one way, pieces stay small, tools are content."""

from __future__ import annotations

import ast
import os
import re
import statistics
import subprocess
import sys
from functools import cache
from pathlib import Path

import pytest

from tests.books import ROOT

MODULES = sorted((ROOT / "pipeline").rglob("*.py"))
QUERIES = sorted((ROOT / "pipeline").rglob("*.sql"))

ROOMS = {
    "contract": 0, "book": 1,
    "wording.rounding": 1, "wording.american_spelling": 1, "wording.visible_text": 1, "wording.amounts": 2, "database": 2, "reading": 3, "checks": 3, "analyses": 3,
    "flow": 4, "old_records": 4,
    "answers": 5, "wording": 5, "recording": 6, "report": 6, "export": 6, "web": 7, "cli": 8, "__main__": 9, "__init__": 9,
}  # fmt: skip
"""The line that the data takes: a module imports from its own room or an earlier one, never from a later."""

HOMES = {
    "duckdb": {"database"}, "pandera": {"contract"}, "altair": {"report"}, "vl_convert": {"report"}, "typer": {"cli"},
    "starlette": {"web"}, "openpyxl": {"recording", "export"}, "python_calamine": {"reading"},
}  # fmt: skip
"""Heavy libraries, each with the only room that may name it."""


def room(module: Path) -> str:
    """The room of a module; what makes text of amounts stands early in the line, because messages of checks and entries are filled by it."""
    return place(".".join(module.relative_to(ROOT / "pipeline").with_suffix("").parts))


def place(name: str) -> str:
    """The room of a dotted name inside the package."""
    inner = ".".join(name.split(".")[:2])
    return inner if inner in ROOMS else name.split(".", maxsplit=1)[0]


@cache
def nodes(module: Path) -> list[ast.AST]:
    """All nodes of a module's syntax tree."""
    return [*ast.walk(ast.parse(module.read_text("utf-8")))]


def imports(module: Path) -> set[str]:
    names: set[str] = set()
    for node in nodes(module):
        if isinstance(node, ast.Import):
            names |= {a.name for a in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            names |= {f"{node.module}.{a.name}" for a in node.names} if node.module == "pipeline" else {node.module}
    return names


@pytest.mark.parametrize("module", MODULES, ids=lambda m: str(m.relative_to(ROOT)))
def test_imports_point_one_way(module: Path) -> None:
    here = room(module)
    assert here in ROOMS, f"{here} has no place on the line: give it one in ROOMS"
    for name in imports(module):
        first, *rest = name.split(".")
        if first == "pipeline" and rest and rest != ["__version__"]:
            assert ROOMS[place(".".join(rest))] <= ROOMS[here], f"{here} imports {name}, which stands after it"
        assert here in HOMES.get(first, {here}), f"{first} is named in {here}; its home is {HOMES[first]}"


def functions(module: Path) -> list[ast.FunctionDef]:
    return [n for n in nodes(module) if isinstance(n, ast.FunctionDef | ast.AsyncFunctionDef)]  # type: ignore[misc]


def lines(function: ast.FunctionDef) -> int:
    body = function.body[1:] if ast.get_docstring(function) else function.body
    return sum(s.end_lineno - s.lineno + 1 for s in body if s.end_lineno)


def test_functions_can_be_read_at_a_glance() -> None:
    sizes = {f"{m.name}:{f.name}": lines(f) for m in MODULES for f in functions(m)}
    assert statistics.median(sizes.values()) < 10
    assert not {name: n for name, n in sizes.items() if n > 50}


@pytest.mark.parametrize("module", [m for m in MODULES if room(m) == "cli"], ids=lambda m: m.name)
def test_a_command_parses_calls_and_prints_in_fifteen_lines(module: Path) -> None:
    assert not {f.name: lines(f) for f in functions(module) if lines(f) > 15}


def test_modules_fit_one_sitting() -> None:
    assert not {str(m): n for m in MODULES if (n := len(m.read_text("utf-8").splitlines())) > 300}


def test_queries_fit_one_page_and_say_what_a_row_is() -> None:
    for query in QUERIES:
        text = query.read_text("utf-8")
        assert len(text.splitlines()) <= 60, query
        assert text.startswith("-- "), query


def texts(module: Path) -> set[str]:
    """The texts in a module that are no docstrings, with what is filled into them left out."""
    said = {ast.get_docstring(n, clean=False) for n in nodes(module) if isinstance(n, ast.Module | ast.ClassDef | ast.FunctionDef)}
    return {n.value for n in nodes(module) if isinstance(n, ast.Constant) and isinstance(n.value, str)} - said


def test_queries_stand_in_files_of_their_own() -> None:
    """What is asked of the database in one line may stand where it is asked, but never in a command."""
    for module in MODULES:
        asked = {t for t in texts(module) if re.search(r"\bSELECT\b", t) and (room(module) == "cli" or "\n" in t.strip())}
        assert not asked, module


def test_only_commands_print() -> None:
    for module in (m for m in MODULES if room(m) != "cli"):
        used = {ast.unparse(n) for n in nodes(module) if isinstance(n, ast.Attribute | ast.Name)}
        assert not used & {"print", "sys.stdout", "sys.stderr", "sys.exit"}, module


def test_nothing_catches_everything() -> None:
    for module in MODULES:
        for node in nodes(module):
            if isinstance(node, ast.ExceptHandler):
                caught = {n.id for n in ast.walk(node.type) if isinstance(n, ast.Name)} if node.type else {"Exception"}
                assert not caught & {"Exception", "BaseException"}, f"{module}:{node.lineno}"


UNKEPT = ["--cache-dir", os.devnull] if os.environ.get("CI") else []  # what a run for others would keep is never read again
MYPY = pytest.param(["mypy", *UNKEPT], marks=pytest.mark.slow)


@pytest.mark.parametrize("tool", [["ruff", "check", "."], ["ruff", "format", "--check", "pipeline"], MYPY], ids=" ".join)
def test_tools_are_content(tool: list[str]) -> None:
    done = subprocess.run([sys.executable, "-m", *tool], cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout + done.stderr
