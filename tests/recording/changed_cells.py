"""Random logs in random dialects, a random cell of each changed: every other cell and byte stays as it was.

The log is made here from a table of cells, so that the bytes of each cell are known without any reader.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

from pipeline.book.book_settings import Book
from pipeline.contract.log_columns import LOGS
from pipeline.database.connection import Warehouse
from pipeline.reading.one_log import read_log
from pipeline.recording.log_layout import shape_of

HEADER = ["session", "pass", "date", "method", "filter", "wax_out_g", "residue_g", "notes"]
ENCODINGS = ("utf-8", "utf-8", "utf-8-sig", "utf-16", "cp1252")
NOTES = ("", "felt, double", "9\" frames", 'said "wet"', "two\nlines", "a; b", "Höhe", " spaced ", "66 2/3 %", "tab\there")


@dataclass(frozen=True)
class Made:
    """A log's text, its encoding, what its cells say, and where in the text each begins and ends."""

    text: str
    encoding: str
    cells: list[list[str]]
    spans: list[list[tuple[int, int]]]


def made(rng: Random) -> Made:
    """A log of one to eight passes."""
    mark, newline = rng.choice(",,;\t"), rng.choice(("\n", "\r\n", "\r"))
    cells = [HEADER] + [
        [f"S{n}", str(rng.randint(1, 3)), f"2026-05-0{rng.randint(1, 9)}", rng.choice(("solar", "steam")), rng.choice(NOTES),
         str(rng.randint(1, 999)), rng.choice(("", "200", "1 lb")), rng.choice(NOTES)]
        for n in range(rng.randint(1, 8))
    ]  # fmt: skip
    text, spans = "", []
    for row in cells:
        spans.append([])
        for n, cell in enumerate(row):
            written = _written(cell.replace("\n", newline), mark, rng)
            spans[-1].append((len(text), len(text) + len(written)))
            text += written + (mark if n < len(row) - 1 else "")
        text += newline * rng.choice((1, 1, 1, 2))
    text = text if rng.randrange(3) else text.rstrip("\r\n")
    return Made(text, rng.choice(ENCODINGS), cells, spans)


def _written(cell: str, mark: str, rng: Random) -> str:
    space = " " * rng.choice((0, 0, 0, 1, 2))
    must = any(c in cell for c in (mark, "\n", "\r")) or cell.startswith('"') or cell != cell.strip()
    if must or rng.randrange(4) == 0:
        return f'{space}"' + cell.replace('"', '""') + '"'
    return space + cell


def misplaced(rng: Random, folder: Path) -> str | None:
    """What a change of one cell did besides; None where it did nothing else."""
    log = made(rng)
    path = folder / "passes.csv"
    path.write_bytes(log.text.encode(log.encoding))
    row, column = rng.randrange(1, len(log.cells)), rng.randrange(len(HEADER))
    new = rng.choice(("150", 'a "b", c; d', "", "x")) if column in (4, 7) else "77"
    shape = shape_of(Book(folder, "test"), LOGS["passes"])
    after = shape.file.with_cell(shape.file.records[row], column, new)
    start, stop = log.spans[row][column]
    if not (after.text.startswith(log.text[:start]) and after.text.endswith(log.text[stop:])):
        return f"bytes beside row {row}, column {column} changed: {log.text!r} became {after.text!r}"
    path.write_bytes(after.encoded())
    expected = [list(cells) for cells in log.cells[1:]]
    expected[row - 1][column] = new
    return _differences(expected, folder, path)


def _differences(expected: list[list[str]], folder: Path, path: Path) -> str | None:
    """Names and texts as the reader of builds finds them, against what was written."""
    warehouse = Warehouse()
    with TemporaryDirectory() as aside:
        read_log(LOGS["passes"], [path], Book(folder, "test"), warehouse, Path(aside), judged=True)
    rows = warehouse.rows("SELECT session, filter, notes, pass FROM passes ORDER BY row")
    warehouse.close()
    found = [[r["session"], r["filter"] or "", r["notes"] or "", r["pass"]] for r in rows]
    meant = [[r[0], r[4].strip(" "), r[7].strip(" "), int(r[1])] for r in expected]
    return None if found == meant else f"{meant} was meant, {found} was read"
