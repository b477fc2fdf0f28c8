"""Small books for tests: CSV literals in, a folder out, and the command run on it as a person would."""

from __future__ import annotations

import atexit
import contextlib
import io
import json
import os
import shutil
import subprocess
import sys
import tempfile
from collections import deque
from collections.abc import Iterable
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass
from datetime import date
from functools import cache
from pathlib import Path
from textwrap import dedent
from typing import Any, cast
from unittest.mock import patch

import duckdb
import typer

from pipeline.book.book_settings import DATABASE

ROOT = Path(__file__).parent.parent
TODAY = "2026-11-01"


def write(folder: Path, settings: str = 'name = "test"\n', **logs: str) -> Path:
    """A book folder with these logs; every literal may be indented."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "book.toml").write_text(dedent(settings), "utf-8")
    for log, text in logs.items():
        (folder / f"{log}.csv").write_text(dedent(text).strip() + "\n", "utf-8")
    return folder


def write_kept(folder: Path, settings: str = 'name = "test"\n', today: str = TODAY, **logs: str) -> Path:
    """The same as somebody has it who asked it before: its figures are kept beside it, worked out once for all that begin alike."""
    return Path(shutil.copytree(_kept(folder.name, settings, today, tuple(logs.items())), folder, dirs_exist_ok=True))


@cache
def _kept(name: str, settings: str, today: str, logs: tuple[tuple[str, str], ...]) -> Path:
    from pipeline import flow

    place = tempfile.TemporaryDirectory()
    atexit.register(place.cleanup)  # it stays as long as the process
    book = write(Path(place.name) / name, settings, **dict(logs))
    loaded = flow.opened(book, date.fromisoformat(today))
    loaded.warehouse.close()
    assert (book / DATABASE).exists(), "figures of a book with errors are not kept"
    return book


@dataclass(frozen=True)
class Ran:
    """What a command left: its exit code and what it printed."""

    code: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        return json.loads(self.out)


class Keyboard:
    """Somebody at a terminal of this process: each answer is typed once the words before it were said; then Enter alone."""

    def __init__(self, talk: Iterable[tuple[str, str]]) -> None:
        self._left, self._heard = deque(talk), ["", ""]

    def isatty(self) -> bool:
        return True

    def readline(self) -> str:
        said = [_written(cast(io.TextIOWrapper, stream)) for stream in (sys.stdout, sys.stderr)]
        new = [text.removeprefix(heard) for text, heard in zip(said, self._heard, strict=True)]
        words, answer = self._left.popleft()
        assert any(words in text for text in new), f"{words!r} was not said: {new!r}"
        self._heard = said
        return f"{answer}\n"

    def done(self) -> bool:
        """Whether all was said and typed."""
        return not self._left


def run(
    *words: object, stdin: str = "", keyboard: Keyboard | None = None, today: str | None = TODAY, cwd: Path = ROOT
) -> Ran:
    """``combtally`` with these words, in this process: its exit code, and what it wrote to its two streams.

    What the command raises beside its exit fails the test by itself: no book and no argument may end in a traceback.
    """
    from pipeline.cli import exit_codes, running

    args = [*map(str, words), *(("--today", today) if today else ())]
    out, err = _stream(), _stream()
    given = keyboard or io.TextIOWrapper(io.BytesIO(stdin.encode()), encoding="utf-8")
    code = exit_codes.DONE
    with contextlib.chdir(cwd), redirect_stdout(out), redirect_stderr(err), patch.object(sys, "stdin", given):
        try:
            with running.faults_told():
                _command().main(args=args, prog_name="combtally")
        except SystemExit as ended:
            code = ended.code if isinstance(ended.code, int) else exit_codes.DONE
    return Ran(code, _written(out), _written(err))


def run_once(*words: object, **how: Any) -> Ran:
    """The same of a book that nothing more is asked of: its figures are not kept, which would take half as long again."""
    from pipeline import flow

    with patch.object(flow, "keep"):
        return run(*words, **how)


@cache
def _command() -> Any:
    """The command line, built once: building it takes longer than many a command."""
    from pipeline.cli import app

    return typer.main.get_command(app())


def _stream() -> io.TextIOWrapper:
    """A stream as the entry point makes it of stdout and stderr, kept in memory."""
    return io.TextIOWrapper(io.BytesIO(), encoding="utf-8", errors="replace", newline="\n")


def _written(stream: io.TextIOWrapper) -> str:
    """What a command wrote; one that closed its stream (nobody reads it) has nothing more to tell."""
    if stream.closed:
        return ""
    stream.flush()
    return cast(io.BytesIO, stream.buffer).getvalue().decode()


def run_process(*words: object, stdin: str = "", today: str | None = TODAY, cwd: Path = ROOT) -> Ran:
    """``python -m pipeline`` with these words, in a process of its own: for what only the entry point can show."""
    command = [sys.executable, "-m", "pipeline", *map(str, words), *(("--today", today) if today else ())]
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
