"""Which changes of the code would no test notice? ``python -m tests.bench.mutants [--sample N] [--seed S] [--only PART] [--minutes M]``.

A mutant is one small change: a sum made a difference, a sum of rows their greatest, a limit moved by one, a condition turned
round. N are drawn of all that the models, checks and analyses can have; each is tried on a copy of the tree, never in
place, by the tests that speak of what was changed (by its name, or by the name of what imports it), quick ones first, the
first failure ending it. Tests that take longer than some seconds are passed over, so what is said is the least that the tests
notice. What survives is printed with its line: either a test is missing, or the change makes no difference.
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
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from math import sqrt
from pathlib import Path

ROOT = Path(__file__).parents[2]
PARTS = ("models", "checks", "analyses")
ALWAYS = {
    "models": ("tests/models/test_models.py", "tests/models/test_losses.py", "tests/models/test_shelf.py", "tests/models/test_demo.py",
               "tests/models/test_yield_uncertainty.py", "tests/models/test_long_books.py", "tests/models/test_against_oracle.py", "tests/report/test_report.py::test_golden_pages"),
    "checks": ("tests/checks/test_rule_limits_of_masses_and_dates.py", "tests/checks/test_rule_limits_of_names_and_links.py",
               "tests/checks/test_rows_left_out.py", "tests/checks/test_rule_engine.py", "tests/checks/test_checking.py"),
    "analyses": ("tests/analyses/test_values.py", "tests/report/test_report.py::test_golden_pages"),
}  # fmt: skip
"""What is run for a change in each folder of pipeline, beside the test files that name what was changed."""
LONGEST_S = 6.0
"""Tests that take longer are passed over."""
PATIENCE_S = 150
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
    for part in PARTS:
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


class Runs:
    """The tests of a copy of the tree; ``seconds``: what each took without any change."""

    def __init__(self, tree: Path) -> None:
        self.tree = tree
        self.seconds: dict[str, float] = {}
        self.texts = {f: f.read_text("utf-8") for f in (tree / "tests").rglob("test_*.py")}
        modules = (tree / "pipeline" / "analyses").glob("*.py")
        self.imports = {m.stem: set(re.findall(r"analyses\.(\w+) import", m.read_text("utf-8"))) for m in modules}

    def files(self, file: Path) -> list[str]:
        """The test files that speak of a file of the pipeline, or of what imports it."""
        part, names = file.parts[1], {file.stem}
        while part == "analyses" and (more := {m for m, of in self.imports.items() if of & names} - names):
            names |= more
        spoken = re.compile(r"(?<![\w-])(" + "|".join(map(re.escape, sorted(names))) + r")(?![\w-])")
        found = [f for f, text in self.texts.items() if f.parent.name in (part, "answers") and spoken.search(text)]
        told = [str(f.relative_to(self.tree)) for f in found if "oracle" not in f.name]
        return sorted({*ALWAYS[part], *told}, key=self._took)

    def _took(self, file: str) -> float:
        return sum(s for test, s in self.seconds.items() if test.startswith(file) and s <= LONGEST_S)

    def learn(self, files: Sequence[str]) -> bool:
        """Whether the tests pass without any change; how long each takes."""
        code, told = self._pytest(["--durations=0", "-vv", *files], PATIENCE_S * 10)
        if code:
            failed = re.findall(r"^(?:FAILED|ERROR) \S+", told, re.MULTILINE)
            print("\n".join(failed) or f"no test failed within {PATIENCE_S * 10} s: the machine is too busy", flush=True)
        for seconds, test in re.findall(r"^([\d.]+)s \w+ +(\S+)$", told, re.MULTILINE):
            self.seconds[test] = self.seconds.get(test, 0.0) + float(seconds)
        return code == 0

    def passes(self, files: Sequence[str]) -> bool:
        """Whether the tests pass, the first failure ending them; the long ones are passed over."""
        long = [f"--deselect={test}" for test, s in self.seconds.items() if s > LONGEST_S]
        return self._pytest(["-x", "-q", *long, *files], PATIENCE_S)[0] == 0

    def _pytest(self, asked: Sequence[str], patience_s: float) -> tuple[int, str]:
        command = [sys.executable, "-m", "pytest", "-n", "0", "-p", "no:cacheprovider", "--no-header", *asked]
        clean = {k: v for k, v in os.environ.items() if k != "PYTHONPATH"} | {"PYTHONDONTWRITEBYTECODE": "1", "OPENBLAS_NUM_THREADS": "1"}
        try:
            done = subprocess.run(command, cwd=self.tree, env=clean, capture_output=True, text=True, timeout=patience_s, check=False)
        except subprocess.TimeoutExpired:  # a change that never ends is noticed
            return 1, ""
        return done.returncode, done.stdout


def survives(mutant: Mutant, runs: Runs) -> bool:
    """Whether the tests that matter pass with the change; the tree is as before afterwards."""
    file = runs.tree / mutant.file
    text = file.read_text("utf-8")
    file.write_text(mutant.applied(text), "utf-8")
    try:
        return runs.passes(runs.files(mutant.file))
    finally:
        file.write_text(text, "utf-8")


def main() -> None:
    """Read the command line, copy the tree, try the sample, print what survived."""
    parser = argparse.ArgumentParser(description="which changes of the code would no test notice")
    parser.add_argument("--sample", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", default="", help="only files with this in their path")
    parser.add_argument("--minutes", type=float, default=600, help="stop after so many")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as room:
        tree = Path(room) / "tree"
        shutil.copytree(ROOT, tree, ignore=shutil.ignore_patterns(".git", ".venv*", "__pycache__", "reports", ".*_cache"))
        there = mutants(tree, asked.only)
        drawn = random.Random(asked.seed).sample(there, min(asked.sample, len(there)))
        runs = Runs(tree)
        needed = sorted({f for m in drawn for f in runs.files(m.file)})
        if not runs.learn(needed):
            sys.exit("the tests fail without any change: nothing can be said of mutants")
        begun, tried, left = time.monotonic(), 0, 0
        for mutant in drawn:
            if time.monotonic() - begun > asked.minutes * 60:
                break
            tried += 1
            if survives(mutant, runs):
                left += 1
                print(mutant.place((tree / mutant.file).read_text("utf-8")), flush=True)
    killed = 1 - left / tried
    sure = sqrt(killed * (1 - killed) / tried)
    print(f"{tried} of {len(there)} mutants tried in {time.monotonic() - begun:.0f} s: {killed:.0%} killed (± {sure:.0%}), {left} left")


if __name__ == "__main__":
    main()
