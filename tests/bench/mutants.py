"""Which changes of the code would no test notice? ``python -m tests.bench.mutants [--sample N] [--seed S] [--only PART]``.

A mutant is one small change: a sum made a difference, a sum of rows their greatest, a limit moved by one, a condition turned
round. N are drawn of all that the models, checks and analyses can have; each is tried on a copy of the tree, never in
place, by the tests of its own folder and those that hold figures as a whole, the first failure ending it. What survives is
printed with its line: either a test is missing, or the change makes no difference (which is then to be said).
"""

from __future__ import annotations

import argparse
import io
import os
import random
import re
import shutil
import subprocess
import sys
import tempfile
import time
import tokenize
from collections.abc import Iterator
from dataclasses import dataclass
from math import sqrt
from pathlib import Path

from tests.books import ROOT

TESTS = {
    "models": ("tests/models",),
    "checks": ("tests/checks", "tests/test_flow.py"),
    "analyses": ("tests/analyses",),
}
"""The tests that are run for a change in each folder of pipeline; of a module the test file of its own name comes first."""

SQL = (
    (r"\bsum\(", "max("), (r"\bmax\(", "min("), (r"\bmin\(", "max("), (r"\barg_max\(", "arg_min("), (r"\barg_min\(", "arg_max("),
    (r" \+ ", " - "), (r" - ", " + "), (r" \* ", " / "), (r" / ", " * "), (r" >= ", " > "), (r" <= ", " < "), (r" > ", " >= "),
    (r" < ", " <= "), (r" AND ", " OR "), (r" OR ", " AND "), (r"\bIS NULL\b", "IS NOT NULL"), (r"\bIS NOT NULL\b", "IS NULL"),
    (r"\bbool_or\(", "bool_and("), (r"\bbool_and\(", "bool_or("), (r"\bLEFT JOIN\b", "JOIN"), (r" = ", " <> "),
    (r"\bNOT (?=\w+\.?\w*\b(?! EXISTS| NULL| DISTINCT| MATERIALIZED))", ""), (r"(?<![\w.])(\d+)(?![\w.])", None),
)  # fmt: skip
"""What stands in a statement, and what a mutant has for it; a number is made one greater."""

PYTHON = {
    "+": "-", "-": "+", "*": "/", "/": "*", "<": "<=", "<=": "<", ">": ">=", ">=": ">", "==": "!=", "!=": "==", "**": "*",
    "and": "or", "or": "and", "not": "", "min": "max", "max": "min", "sum": "len", "True": "False", "False": "True",
}  # fmt: skip
"""The same for the tokens of a module; a number is made half as much again."""

PATIENCE_S = 300


@dataclass(frozen=True, slots=True)
class Mutant:
    """One change: the file, the offset of the text that is replaced, and what replaces it."""

    file: Path
    start: int
    end: int
    new: str

    def place(self, text: str) -> str:
        """Its line, as it was and as it is."""
        number = text.count("\n", 0, self.start) + 1
        old = text.splitlines()[number - 1].strip()
        return f"{self.file}:{number}: {text[self.start : self.end].strip()!r} -> {self.new.strip()!r} in: {old[:90]}"

    def applied(self, text: str) -> str:
        """The file's text with the change."""
        return text[: self.start] + self.new + text[self.end :]


def mutants(root: Path, only: str) -> list[Mutant]:
    """Every mutant there is, in the order of the files."""
    found: list[Mutant] = []
    for part in TESTS:
        for file in sorted((root / "pipeline" / part).rglob("*")):
            name = file.relative_to(root)
            if only in str(name) and file.suffix in (".sql", ".py"):
                text = file.read_text("utf-8")
                found += _of_sql(name, text) if file.suffix == ".sql" else _of_python(name, text)
    return found


def _of_sql(file: Path, text: str) -> Iterator[Mutant]:
    dumb = re.sub(r"--[^\n]*|'[^'\n]*'", lambda found: "~" * len(found[0]), text)  # comments and literals stay
    for pattern, new in SQL:
        for found in re.finditer(pattern, dumb):
            yield Mutant(file, found.start(), found.end(), str(int(found[0]) + 1) if new is None else new)


def _of_python(file: Path, text: str) -> Iterator[Mutant]:
    starts = [0]
    for line in text.splitlines(keepends=True):
        starts.append(starts[-1] + len(line))
    for token in tokenize.generate_tokens(io.StringIO(text).readline):
        at = starts[token.start[0] - 1] + token.start[1]
        if token.type == tokenize.NUMBER and re.fullmatch(r"[\d.]+(e-?\d+)?", token.string):
            yield Mutant(file, at, at + len(token.string), f"({token.string} * 1.5 + 0.1)")
        elif token.type in (tokenize.OP, tokenize.NAME) and token.string in PYTHON:
            yield Mutant(file, at, at + len(token.string), PYTHON[token.string])


def survives(mutant: Mutant, tree: Path) -> bool:
    """Whether the tests that matter pass with the change; the tree is as before afterwards."""
    file = tree / mutant.file
    text = file.read_text("utf-8")
    file.write_text(mutant.applied(text), "utf-8")
    try:
        return all(_passes(tests, tree) for tests in _tests(mutant.file, tree))
    finally:
        file.write_text(text, "utf-8")


def _tests(file: Path, tree: Path) -> list[list[str]]:
    """First the test file of its own name, then those of the folder."""
    part = file.parts[1]
    own = [str(f.relative_to(tree)) for f in (tree / "tests").rglob(f"test_{file.stem}.py")]
    return [own, [*TESTS[part]]] if own else [[*TESTS[part]]]


def _passes(tests: list[str], tree: Path) -> bool:
    command = [sys.executable, "-m", "pytest", "-n", "0", "-x", "-q", "--no-header", *tests]
    clean = {k: v for k, v in os.environ.items() if k != "PYTHONPATH"} | {"PYTHONDONTWRITEBYTECODE": "1"}
    try:
        return subprocess.run(command, cwd=tree, env=clean, capture_output=True, timeout=PATIENCE_S, check=False).returncode == 0
    except subprocess.TimeoutExpired:  # a change that never ends is noticed
        return False


def main() -> None:
    """Read the command line, copy the tree, try the sample, print what survived."""
    parser = argparse.ArgumentParser(description="which changes of the code would no test notice")
    parser.add_argument("--sample", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", default="", help="only files with this in their path")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as room:
        tree = Path(room) / "tree"
        shutil.copytree(ROOT, tree, ignore=shutil.ignore_patterns(".git", ".venv*", "__pycache__", "reports", ".*_cache"))
        there = mutants(tree, asked.only)
        drawn = random.Random(asked.seed).sample(there, min(asked.sample, len(there)))
        for part in sorted({m.file.parts[1] for m in drawn}):
            if not _passes([*TESTS[part]], tree):
                sys.exit(f"the tests of {part} fail without any change: nothing can be said of mutants")
        begun, left = time.monotonic(), 0
        for mutant in drawn:
            if survives(mutant, tree):
                left += 1
                print(mutant.place((tree / mutant.file).read_text("utf-8")), flush=True)
    killed = 1 - left / len(drawn)
    sure = sqrt(killed * (1 - killed) / len(drawn))
    print(f"{len(drawn)} of {len(there)} mutants tried in {time.monotonic() - begun:.0f} s: {killed:.0%} killed (± {sure:.0%}), {left} left")


if __name__ == "__main__":
    main()
