"""Damaged logs, and the law that no line of one vanishes; the law has a reader of its own, which knows lines alone.

Law: each line of a file that holds anything is the header, or begins a row, or stands in a text cell of the row above
it, or a finding names it, gives its range or is about the file as a whole.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

from pipeline.book.book_settings import Book
from pipeline.contract.log_columns import LOGS
from pipeline.database.connection import Warehouse
from pipeline.reading.one_log import LogRead, read_log

ROWS = [
    ["H{}", "2025-05-0{d}", "cappings", "1{d}00", "4", "Heath", "clean, dry"],
    ["L-{}", "2025-06-1{d}", "brood comb", "5 lb 4 oz", "", "", 'said "wet"; left'],
    ["{}", "2025-07-2{d}", "mixed", "85{d}", "12", "Mill", "two\nlines of it"],
    ["box {}", "", "burr comb", "x", "1", "Mill", ""],
]
HEADER = ["harvest", "date", "comb", "mass_g", "frames", "apiary", "notes"]
SCRAPS = [
    b'"', b'""', b'"\n', b'\n"', b',"', b'",', b"\n", b"\r", b"\r\n", b",", b";", b"\t", b",,,,,,,", b" ", b' "', b"\xff", b"\xe4", b"\xc3\xa4",
    "\u2028".encode(), "\x85".encode(), b"\x0c", b"\x1c", b"\x1e", b"\x0b", b"\xef\xbb\xbf", b"\xa0", b"sep=;", b"x" * 11_000, b"5 lb", b"#",
]  # fmt: skip
ENCODINGS = {"utf-8-sig": b"\xef\xbb\xbf", "utf-16": (b"\xff\xfe", b"\xfe\xff")}


@dataclass(frozen=True)
class Broken:
    """A line that vanished."""

    line: int
    text: str


def damaged(rng: Random) -> bytes:
    """A log in some dialect, with up to eight things done to its bytes."""
    mark = rng.choice(",,;\t")
    rows = [[cell.format(n, d=n % 9 + 1) for cell in rng.choice(ROWS)] for n in range(rng.randint(1, 12))]
    lines = [mark.join(_quoted(cell, mark, rng) for cell in row) for row in [HEADER, *rows]]
    data = rng.choice(("\n", "\n", "\r\n", "\r")).join([*lines, *[""] * rng.choice((0, 1, 1, 3))]).encode(
        rng.choice(("utf-8", "utf-8", "utf-8-sig", "utf-16", "cp1252"))
    )
    for _ in range(rng.choice((0, 1, 1, 2, 3, 8))):
        at, upto = sorted((rng.randrange(len(data) + 1), rng.randrange(len(data) + 1)))
        kind = rng.randrange(6)
        if kind < 3:
            data = data[:at] + rng.choice(SCRAPS) + data[at:]
        elif kind == 3:
            data = data[:at] + data[at + 1 :]
        elif kind == 4:
            data = data[:at] + data[min(upto, at + 20) :]
        else:
            data += data[at : at + 60]
    return data


def _quoted(cell: str, mark: str, rng: Random) -> str:
    if any(c in cell for c in (mark, '"', "\n")) or rng.randrange(8) == 0:
        return rng.choice(("", "", " ")) + '"' + cell.replace('"', '""') + '"'
    return cell


def vanished(data: bytes, folder: Path) -> list[Broken]:
    """The lines that break the law."""
    path = folder / "harvests.csv"
    path.write_bytes(data)
    warehouse = Warehouse()
    with TemporaryDirectory() as aside:
        read = read_log(LOGS["harvests"], [path], Book(folder, "test"), warehouse, Path(aside))
    rows = warehouse.rows('SELECT * FROM "harvests" ORDER BY row')
    warehouse.close()
    if any(f.line is None and f.severity == "error" for f in read.findings) or not read.lines:
        return [] if read.findings or not _lines(data)[1:] else [Broken(0, "nothing was read, and nothing said")]
    texts = {line: _told(row) for line, row in zip(read.lines, rows, strict=True)}
    header = min(read.lines) - 1
    return [
        Broken(n, text) for n, text in enumerate(_lines(data), 1) if n > header and not is_there(n, text, texts, read)
    ]


def is_there(line: int, text: str, texts: dict[int, str], read: LogRead) -> bool:
    """Whether a line is empty, begins a row (``texts``: by its line), is named, or continues the row above."""
    if not text.strip(' ,;\t"') or line in texts:
        return True
    if any(f.line == line or str(line) in re.findall(r"[0-9]+", f.message) for f in read.findings):
        return True
    above = texts.get(max((n for n in texts if n < line), default=0), "")
    return _plain(text.partition('"')[0]) in above


def _told(row: dict[str, object]) -> str:
    return _plain(" ".join(str(value) for value in row.values()))


def _plain(text: str) -> str:
    return re.sub(r"\s+", " ", text.replace('""', '"')).strip()


def _lines(data: bytes) -> list[str]:
    """The physical lines; UTF-8, UTF-16 by its mark, else one letter a byte."""
    if data.startswith(ENCODINGS["utf-16"]):
        text = data.decode("utf-16", "replace")
    else:
        try:
            text = data.decode("utf-8-sig")
        except UnicodeDecodeError:
            text = data.decode("cp1252", "replace")
    return re.split(r"\r\n|\r|\n", text)
