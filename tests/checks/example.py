"""The slip that an example names, made in the good book.

``LOG: OLD -> NEW`` puts one text for another, once; ``LOG + ROW`` adds a row; ``FILE = TEXT`` writes a whole file, ``\\n``
being a line end. Several are joined by ``&&``.
"""

from __future__ import annotations

import csv
import re
import shutil
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

from pipeline.contract.columns import CellKind
from pipeline.contract.findings import Finding, log_name
from pipeline.contract.log_columns import LOGS
from tests.books import write

GOOD = Path(__file__).parent / "good_book"
_REPLACED = re.compile(r"(\w+): (.+?) -> (.*)")
_ADDED = re.compile(r"(\w+) \+ (.+)")
_WRITTEN = re.compile(r"([\w.]+) = (.*)")


def broken_book(folder: Path, example: str) -> Path:
    """The good book in a folder of its own, with the slip in it."""
    book = Path(shutil.copytree(GOOD, folder / "book"))
    for slip in example.split("&&"):
        _slipped(book, slip.strip())
    return book


def _slipped(book: Path, slip: str) -> None:
    if found := _REPLACED.fullmatch(slip):
        file = book / f"{found[1]}.csv"
        text = file.read_text("utf-8")
        assert found[2] in text, f"{file.name} does not hold {found[2]}"
        file.write_text(text.replace(found[2], found[3], 1), "utf-8")
    elif found := _ADDED.fullmatch(slip):
        with (book / f"{found[1]}.csv").open("a", encoding="utf-8") as file:
            file.write(f"{found[2]}\n")
    else:
        found = _WRITTEN.fullmatch(slip)
        assert found, f"{slip} is no slip"
        name = found[1] if "." in found[1] else f"{found[1]}.csv"
        (book / name).write_text(found[2].replace("\\n", "\n") + "\n", "utf-8")


class BooksTogether:
    """Many small books in one, so that all are asked at once: every name in a book gets the book's own mark behind it."""

    def __init__(self) -> None:
        """Without any book."""
        self._rows = defaultdict[str, list[tuple[str, int, dict[str, str]]]](list)
        self._marks: dict[str, str] = {}

    def add(self, name: str, book: Path) -> None:
        """A book, under a name of its own."""
        self._marks[name] = mark = f".{len(self._marks):02}"
        for log, kept in LOGS.items():
            names = {c.name for c in kept.columns if c.kind is CellKind.ID}
            with (book / f"{log}.csv").open(encoding="utf-8", newline="") as file:
                for line, row in enumerate(csv.DictReader(file), 2):
                    marked = {c: cell + mark if cell and c in names else cell or "" for c, cell in row.items()}
                    self._rows[log].append((name, line, marked))

    def written(self, folder: Path) -> Path:
        """The one book."""
        return write(folder, **{log: _text([row for _, _, row in rows]) for log, rows in self._rows.items()})

    def apart(self, findings: Iterable[Finding]) -> dict[str, list[Finding]]:
        """By book what was found in it, with its own lines and names; what is about no row belongs where its name does."""
        apart = defaultdict[str, list[Finding]](list)
        for finding in findings:
            if finding.line is None:
                (name,) = (name for name, mark in self._marks.items() if re.search(rf"{re.escape(mark)}\b", finding.message))
                line = None
            else:
                name, line, _ = self._rows[log_name(finding.log)][finding.line - 2]
            mark = self._marks[name]
            apart[name].append(
                replace(finding, line=line, message=finding.message.replace(mark, ""), fix=finding.fix.replace(mark, ""))
            )
        return apart


def _text(rows: list[dict[str, str]]) -> str:
    columns = list(dict.fromkeys(column for row in rows for column in row))
    return "\n".join(",".join(row.get(column, "") for column in columns) for row in [dict(zip(columns, columns, strict=True)), *rows])
