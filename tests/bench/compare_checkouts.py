"""Where ``--json`` differs between this checkout and another: ``python -m tests.bench.compare_checkouts OTHER [BOOKS] [FIRST]``.

Every read command is asked of the demo and of so many random books (20, from seed FIRST on) by both, each book copied afresh for each. Prints for
each command the kinds of difference (a field that is new, gone, or holds something else; lists count as one), in how many books
each was seen, and the first example. ``OTHER`` is the folder of the other checkout (``git worktree add``). Ends with 1 where a
command that both answer differs.
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import tempfile
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path
from random import Random
from typing import Any

from tests.books import ROOT, TODAY
from tests.strategies import made_book, write_book

COMMANDS = (
    "check", "yields", "yields --by season", "yields --by method", "yields --by comb", "yields --by hive", "yields --by session",
    "yields --reconciled", "losses", "losses --by session", "flow", "flow --by season", "flow --by session", "stock", "plan",
    "capacity", "trend", "suspects", "backtest", "mix",
)  # fmt: skip
_ASKED = """
import io, json, runpy, sys, warnings
warnings.simplefilter("ignore")
books, commands, today = json.loads(sys.stdin.read())
real, told, last = sys.stdout, [], {}
from pipeline import flow
if not hasattr(flow, "opened"):  # a checkout that works a book out anew for every command: once is enough for all of them
    whole = flow.load
    def load(folder, today, *, on=None, meanwhile=None):
        if last.get("of") != (folder, today, on):
            last.update(of=(folder, today, on), loaded=whole(folder, today, on=on))
        if meanwhile:
            meanwhile(last["loaded"].warehouse)
        return last["loaded"]
    flow.load = load
for book in books:
    for command in commands:
        name, *more = command.split()
        leave_out = [] if name in ("check", "suspects") else ["--leave-out"]
        sys.argv = ["combtally", name, book, *more, "--json", *leave_out, "--today", today]
        sys.stdout, sys.stderr = (io.TextIOWrapper(io.BytesIO(), encoding="utf-8") for _ in range(2))
        try:
            runpy.run_module("pipeline", run_name="__main__")
            code = 0
        except SystemExit as ended:
            code = ended.code
        if "--reconciled" in more:  # such a checkout reckons on in the same tables
            last.clear()
        sys.stdout.flush()
        told.append([code, sys.stdout.buffer.getvalue().decode()])
real.write(json.dumps(told))
"""
"""What each checkout does, in one process of its own for all books: a process a command would start two thousand."""


def answers(checkout: Path, books: list[Path]) -> list[tuple[int, str]]:
    """Exit code and what was printed for each book and command, in that order."""
    asked = json.dumps([[str(b) for b in books], COMMANDS, TODAY])
    env = os.environ | {"PYTHONPATH": str(checkout)}
    command = [sys.executable, "-P", "-c", _ASKED]
    done = subprocess.run(command, input=asked, capture_output=True, encoding="utf-8", cwd=checkout, env=env, check=False)
    assert done.returncode == 0, done.stderr
    return [(code, text) for code, text in json.loads(done.stdout)]


def differences(before: Any, after: Any, at: str = "") -> Iterator[tuple[str, Any, Any]]:
    """Where two JSON values part: the path without places in lists, and what stands there."""
    if isinstance(before, dict) and isinstance(after, dict):
        for key in sorted({*before, *after}):
            where = f"{at}.{key}" if at else key
            if key not in before:
                yield f"{where} is new", None, after[key]
            elif key not in after:
                yield f"{where} is gone", before[key], None
            else:
                yield from differences(before[key], after[key], where)
    elif isinstance(before, list) and isinstance(after, list) and len(before) == len(after):
        for one, other in zip(before, after, strict=True):
            yield from differences(one, other, f"{at}[]")
    elif before != after and not _same(before, after):
        yield f"{at or 'the answer'} is another", before, after


def _same(before: Any, after: Any) -> bool:
    """Figures that part by less than rounding are the same."""
    numbers = all(isinstance(v, int | float) and not isinstance(v, bool) for v in (before, after))
    return numbers and abs(before - after) <= 1e-9 * max(1.0, abs(before))


def read(answer: tuple[int, str]) -> Any:
    """The exit code and the JSON document; text where it is none."""
    code, text = answer
    try:
        return {"exit": code, "answer": json.loads(text)}
    except ValueError:
        return {"exit": code, "answer": text}


def copies(room: Path, seeds: range) -> list[Path]:
    """The demo and so many random books."""
    ignored = shutil.ignore_patterns(".combtally", "*.duckdb", "reports")
    demo = Path(shutil.copytree(ROOT / "data" / "demo", room / "demo", ignore=ignored))
    return [demo, *(write_book(made_book(Random(seed)), room / f"book{seed}") for seed in seeds)]


def main() -> None:
    """Ask both, compare, print."""
    other, *numbers = sys.argv[1:]
    many, first = (*map(int, numbers), *(20, 0)[len(numbers) :])
    seeds = range(first, first + many)
    with tempfile.TemporaryDirectory() as folder:
        books = copies(Path(folder) / "books", seeds)
        before = answers(Path(other).resolve(), books)
        shutil.rmtree(Path(folder) / "books")
        after = answers(ROOT, copies(Path(folder) / "books", seeds))
    asked = [(book.name, command) for book in books for command in COMMANDS]
    assert not [asked[n] for n, (code, _) in enumerate(after) if code == 2], "a command that is not taken compares nothing"
    kinds: dict[str, dict[str, list[tuple[str, Any, Any]]]] = defaultdict(lambda: defaultdict(list))
    for (book, command), one, two in zip(asked, before, after, strict=True):
        for kind, was, now in differences(read(one), read(two)):
            kinds[command][kind].append((book, was, now))
    for command in COMMANDS:
        print(f"{command}: {'no difference' if command not in kinds else ''}")
        for kind, seen in sorted(kinds[command].items()):
            book, was, now = seen[0]
            told = f"{json.dumps(was)[:80]} -> {json.dumps(now)[:80]}"
            print(f"  {kind}, in {len({b for b, _, _ in seen})} of {len(books)} books; {book}: {told}")
    sys.exit(1 if any(kinds.values()) else 0)


if __name__ == "__main__":
    main()
