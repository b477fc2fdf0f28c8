"""Small books for tests: CSV literals in, a folder out, and the command run on it as a person would."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path
from textwrap import dedent
from typing import Any

import duckdb

ROOT = Path(__file__).parent.parent
TODAY = "2026-11-01"


def write(folder: Path, settings: str = 'name = "test"\n', **logs: str) -> Path:
    """A book folder with these logs; every literal may be indented."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "book.toml").write_text(dedent(settings), "utf-8")
    for log, text in logs.items():
        (folder / f"{log}.csv").write_text(dedent(text).strip() + "\n", "utf-8")
    return folder


@dataclass(frozen=True)
class Ran:
    """What a command left: its exit code and what it printed."""

    code: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        return json.loads(self.out)


def run(*words: object, stdin: str = "", today: str | None = TODAY, cwd: Path = ROOT) -> Ran:
    """``combtally`` with these words, in a process of its own."""
    command = [sys.executable, "-m", "pipeline", *map(str, words)]
    if today:
        command += ["--today", today]
    env = os.environ | {"PYTHONPATH": str(ROOT)}
    done = subprocess.run(command, input=stdin, capture_output=True, encoding="utf-8", cwd=cwd, env=env, timeout=120)
    assert "Traceback" not in done.stderr, done.stderr
    return Ran(done.returncode, done.stdout, done.stderr)


def kept_rows(database: Path, sql: str) -> list[dict[str, Any]]:
    """What a client of its own reads in a database file, as dictionaries."""
    with duckdb.connect(str(database), read_only=True) as client:
        cursor = client.execute(sql)
        names = [column[0] for column in cursor.description or ()]
        return [dict(zip(names, row, strict=True)) for row in cursor.fetchall()]
