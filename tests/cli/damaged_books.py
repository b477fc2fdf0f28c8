"""Damaged copies of books, every command on them, and the law that a command ends as it may.

Law: no traceback; an exit code of the contract, and the right one (0 done, 1 the book has errors, 2 wrong use, 3 the
machine failed); JSON that parses; never more than ``MOST_CPU_S`` of processor time; nothing that steers a terminal.
"""

from __future__ import annotations

import json
import os
import pickle
import re
import resource
import shutil
import signal
import subprocess
import zipfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from random import Random
from types import FrameType
from typing import Any
from unittest.mock import patch

from pipeline import flow
from pipeline.contract.log_columns import LOGS
from pipeline.database.made_from import made_from
from pipeline.flow import Loaded
from pipeline.report import build as report_build
from pipeline.report.chart_drawing_process import ChartProcess
from pipeline.report.page_dataclasses import Drawing, Picture
from tests.books import ROOT, TODAY, Ran, run
from tests.strategies import made_book, write_book

MOST_CPU_S = 10.0
STEERS = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2060-\u206f\ud800-\udfff\ufff9-\ufffb]")
"""What a table may not send: C0 but the line end and tab, C1, marks and overrides of bidirectional text."""


@dataclass(frozen=True)
class Broken:
    """What a command did that it may not."""

    kind: str
    words: tuple[str, ...]
    told: str


# ---------------------------------------------------------------- damage

CELLS = [
    b"", b'"', b'""', b'"\n', b",", b";", b"\t", b"\n", b"\r", b"\x00", b"\xff\xfe", b"\xef\xbb\xbf", b"\x1b[2J", "\u202e".encode(), b"\xc2\x9b31m",
    b"=HYPERLINK(\"http://x\")", b"+1", b"@x", b"-", b"-5", b"0", b"1e308", b"1e-308", b"9" * 40, b"9" * 400, b"nan", b"inf", b"-inf", b"1/0", b"0x10",
    b"4,230", b"4.230,5", b"99999999999999999999 kg", b"1 stone", b"5 lb 40 oz", b"3 fl oz", b"0001-01-01", b"9999-12-31", b"2025-02-30", b"01/02/03",
    b"10000-01-01", b"yes", b"S1", b"H1", b"B1", b"P1", b"block 3", b"harvest 3", b"session ", b"slumgum", b"wax", b"poured", b"planned", b"x" * 41,
    b"y" * 11_000, b"{{7*7}}", b"</script><script>", b"%s%s%n", b"'; DROP TABLE loads; --", b"../../etc", b"12" * 9, "½ lb".encode(), "٣".encode(),
    "🐝".encode(), "e\u0301".encode(), b"#", b"100", b"1000000", b"0.0000001",
]  # fmt: skip
TOML = [
    'name = "\\u0001\\u001B[2J"', "name = \"=HYPERLINK('x')\"", 'name = ""', "name = 3", "[" * 5000, "a." * 20_000 + "b = 1", "x = " + "9" * 5000,
    'dates = "day-first"', 'dates = "month-first"', 'dates = 5', 'decimal = "comma"', 'decimal = "dot"', 'season_starts = "02-29"', 'season_starts = "13-99"',
    'season_starts = ""', 'currency = "\\u202E"', 'currency = "JPY"', '[show]\nmass = "lb oz"\nlength = "in"\ntemperature = "F"', '[show]\nmass = "stone"',
    "[scale]\nstep_g = 0", "[scale]\nstep_g = -5", "[scale]\nstep_g = 1e308", "[scale]\nstep_g = nan", "[scale]\nrelative = 99", '[scale]\nstep = "x oz"',
    "[scale.harvests]\nstep_g = 1e-300", "[densities]\nwax = 0", "[densities]\nwax = inf", "[densities]\noil = -1", "[costs]\nwax = 1e308", "[costs]\nhour = -5",
    "[costs]\nwax = nan", "[forecast]\npour_loss_pct = 100", "[forecast]\npour_loss_pct = 1e9", '[vessels]\n"\\u0000" = "1 kg"', "[vessels]\na = 5",
    '[comb_kinds]\n"x" = { low = 0.9, high = 0.1 }', '[comb_kinds]\n"x" = { low = nan, high = 1 }', '[comb_kinds]\ncappings = { low = 0, high = 0 }',
    "[comb_kinds]\nx = 3", "[methods]\nnames = 3", '[methods]\nnames = ["", "solar", "\\u001B"]', '[changes]\n"2025-04-01" = "\\u202E"', '[changes]\n"x" = 1',
    '[changes]\n"0001-01-01" = "a"\n"9999-12-31" = "b"', "logs = 1", "[[show]]", "name = 'a'\nname = 'b'", "\x00", "\ufeff", "when = 2025-99-99", "t = 25:61:61",
]  # fmt: skip
WORKSHOP = [
    b"", b"{}", b"null", b"[" * 50_000, b'{"steps": []}', b'{"steps": 3}', b"\x00" * 100, b"DUCK" * 5000, b"{\"what\": \"\x1b[2J\", \"steps\": []}",
    b'{"what":"x","steps":[{"name":"../../victim","before":null,"after":null,"head":0,"tail":0,"old":""}],"takes_back":"../x"}',
    b'{"what":"x\\u202e","steps":[{"name":"blocks.csv","before":null,"after":"' + b"a" * 64 + b'","head":0,"tail":0,"old":""}],"when":"\\u001b"}',
    b'{"kind":"load","answers":[["loads",-1,"x","y"]],"kept":[],"pages":[],"saved":""}', b'{"kind":"nope","answers":1}', b"1e999", b'{"when": "9999"}',
]  # fmt: skip
NAMES = [
    "plain", "md:y", "a b", "-dash", "--json", "what?", "a'b", 'a"b', "a;b", "a$b", "*", "=HYPERLINK(1)", "new\nline", "esc\x1b[2J", "rtl\u202e", "c1\x9b", "ünï",
    "\udcff\udcfe", "x" * 200, "[red]x[/red]", "{{7*7}}", "a%20b", "#x", "memory:", ":memory:", "s3:x", "con", "tab\tx", "a\\b", "~",
]  # fmt: skip
ENCODINGS = ("utf-16", "utf-16-be", "utf-8-sig", "cp1252", "utf-32", "utf-7", "cp037")


def damaged_book(rng: Random, folder: Path) -> tuple[Path, list[str]]:
    """A damaged copy in a folder of an odd name, and what was done to it."""
    name = rng.choice(NAMES) if rng.randrange(3) == 0 else "book"
    book = folder / name
    _sound(rng, book)
    done = [f"in {name!r}"]
    for _ in range(rng.choice((0, 1, 1, 1, 2, 3, 6))):
        damage = rng.choice(DAMAGE)
        told = damage(rng, book)
        done.append(f"{damage.__name__.strip('_')} {told}")
    return book, done


def _sound(rng: Random, book: Path) -> None:
    kind = rng.randrange(40)  # the demo takes as long as ten small books
    if kind < 1:
        shutil.copytree(ROOT / "data" / "demo", book)
    elif kind < 22:
        shutil.copytree(ROOT / "tests" / "checks" / "good_book", book)
    else:
        book.mkdir(parents=True)
        write_book(made_book(rng), book)


def _log(rng: Random, book: Path) -> Path:
    there = sorted(p for p in book.glob("*.csv") if p.is_file() and not p.is_symlink())
    return rng.choice(there) if there else book / "loads.csv"


def _lines(path: Path) -> list[bytes]:
    return path.read_bytes().split(b"\n") if path.is_file() else [b"session,source,mass_g"]


def _cell(rng: Random, book: Path) -> str:
    path, lines = (found := _log(rng, book)), _lines(found)
    at = rng.randrange(len(lines))
    cells = lines[at].split(b",")
    column = rng.randrange(len(cells))
    cells[column] = rng.choice(CELLS) if rng.randrange(4) else cells[column] + rng.choice(CELLS)
    lines[at] = b",".join(cells)
    path.write_bytes(b"\n".join(lines))
    return f"{path.name}:{at + 1}:{column} {cells[column][:30]!r}"


def _a_whole_column(rng: Random, book: Path) -> str:
    path, lines = (found := _log(rng, book)), _lines(found)
    column, value = rng.randrange(lines[0].count(b",") + 1), rng.choice(CELLS)
    for at in range(1, len(lines) - 1):
        cells = lines[at].split(b",")
        if column < len(cells):
            cells[column] = value
            lines[at] = b",".join(cells)
    path.write_bytes(b"\n".join(lines))
    return f"{path.name}:{column} {value[:30]!r}"


def _header(rng: Random, book: Path) -> str:
    path, lines = (found := _log(rng, book)), _lines(found)
    cells = lines[0].split(b",")
    at = rng.randrange(len(cells))
    other = rng.choice([c.field.encode() for log in LOGS.values() for c in log.columns])
    cells[at] = rng.choice((b"", other, cells[at] + b"_lb", cells[at] + b"_g", b"\x1b[31m" + cells[at], cells[rng.randrange(len(cells))], b"x" * 5000))
    if rng.randrange(4) == 0:
        cells += [b"extra%d" % n for n in range(rng.choice((1, 50, 2000)))]
    lines[0] = b",".join(cells)
    path.write_bytes(b"\n".join(lines))
    return f"{path.name} {cells[at][:30]!r}"


def _bytes(rng: Random, book: Path) -> str:
    path = _log(rng, book)
    data = path.read_bytes() if path.is_file() else b""
    for _ in range(rng.randrange(1, 6)):
        at = rng.randrange(len(data) + 1)
        data = data[:at] + rng.choice(CELLS) + data[at + rng.choice((0, 1, 20)) :]
    path.write_bytes(data)
    return path.name


def _cut(rng: Random, book: Path) -> str:
    path = rng.choice((_log(rng, book), book / "book.toml"))
    data = path.read_bytes() if path.is_file() else b""
    path.write_bytes(data[: rng.randrange(len(data) + 1)])
    return path.name


def _encoding(rng: Random, book: Path) -> str:
    path, encoding = _log(rng, book), rng.choice(ENCODINGS)
    text = path.read_bytes().decode("utf-8", "replace") if path.is_file() else "x"
    path.write_bytes(text.encode(encoding, "replace"))
    return f"{path.name} {encoding}"


def _swapped(rng: Random, book: Path) -> str:
    one, other = _log(rng, book), _log(rng, book)
    if one != other:
        aside = one.with_suffix(".aside")
        one.rename(aside)
        other.rename(one)
        aside.rename(other)
    return f"{one.name} {other.name}"


def _gone(rng: Random, book: Path) -> str:
    path = _log(rng, book)
    path.unlink(missing_ok=True)
    return path.name


def _twice(rng: Random, book: Path) -> str:
    path, lines = (found := _log(rng, book)), _lines(found)
    path.write_bytes(b"\n".join([*lines[:-1], *rng.choices(lines[1:] or lines, k=rng.choice((1, 3, 40))), b""]))
    return path.name


def _shuffled(rng: Random, book: Path) -> str:
    path, lines = (found := _log(rng, book)), _lines(found)
    rows = [line.split(b",") for line in lines[1:] if line]
    if rows:
        column = rng.randrange(len(rows[0]))
        values = [row[column] if column < len(row) else b"" for row in rows]
        rng.shuffle(values)
        for row, value in zip(rows, values, strict=True):
            if column < len(row):
                row[column] = value
    path.write_bytes(b"\n".join([lines[0], *map(b",".join, rows), b""]))
    return path.name


def _settings(rng: Random, book: Path) -> str:
    path, line = book / "book.toml", rng.choice(TOML)
    old = path.read_text("utf-8", "replace") if path.is_file() else ""
    if rng.randrange(2) or line.startswith("name"):
        old = 'name = "x"\n' if not line.startswith("name") else ""
    path.write_text(f"{line}\n{old}" if rng.randrange(2) else f"{old}\n{line}\n", "utf-8")
    return repr(line[:40])


def _another_thing(rng: Random, book: Path) -> str:
    """A folder, pipe, link or workbook where a log is expected."""
    path = _log(rng, book)
    data = path.read_bytes() if path.is_file() else b"a,b\n1,2\n"
    path.unlink(missing_ok=True)
    kind = rng.choice(("folder", "pipe", "dead link", "loop", "link out", "device", "lock", "xlsx", "broken xlsx", "ods", "tsv too", "upper", "zip bomb"))
    match kind:
        case "folder":
            path.mkdir()
        case "pipe":
            os.mkfifo(path)
        case "dead link":
            path.symlink_to("nowhere")
        case "loop":
            path.symlink_to(path.name)
        case "link out":
            path.symlink_to(ROOT / "data" / "demo" / "loads.csv")
        case "device":
            path.symlink_to("/dev/zero")
        case "lock":
            path.write_bytes(data)
            path.with_name(f".#{path.name}").symlink_to("me@there.1")
        case "tsv too":
            path.write_bytes(data)
            path.with_suffix(".tsv").write_bytes(data.replace(b",", b"\t"))
        case "upper":
            path.with_suffix(".CSV").write_bytes(data)
        case _:
            _workbook(rng, path, data, kind)
    return f"{path.name} {kind}"


def _workbook(rng: Random, path: Path, data: bytes, kind: str) -> None:
    target = path.with_suffix(".ods" if kind == "ods" else ".xlsx")
    if kind == "zip bomb":
        with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
            archive.writestr("xl/sharedStrings.xml", b" " * 210_000_000)
        return
    import openpyxl

    book = openpyxl.Workbook()
    sheet = book.worksheets[0]
    for line in data.split(b"\n")[:200]:
        words = [re.sub("[\x00-\x1f]", "", word)[:32_000] for word in line.decode("utf-8", "replace").split(",")]
        sheet.append([float(w) if re.fullmatch(r"\d+(\.\d+)?", w) and rng.randrange(2) else w for w in words])
    if rng.randrange(3) == 0:
        sheet.cell(2, 1).value = "=1+1"
    book.save(target)
    if kind != "xlsx":
        whole = target.read_bytes()
        at = rng.randrange(len(whole))
        target.write_bytes(whole[:at] + (b"" if rng.randrange(2) else rng.randbytes(40) + whole[at + 40 :]))


def _workshop(rng: Random, book: Path) -> str:
    """Things of anybody in the folder that the program keeps for itself."""
    place = rng.choice((
        "journal", "history/00000001", "history/99999999", "history/x", "again/00000001", "drafts/0123456789abcdef.json", "drafts/0123456789abcdef.new",
        "taken", "lock", "imports/x.toml", "answers/x", "chances", "pictures/x", "../combtally.duckdb", "../combtally.duckdb.sha256", "combtally.duckdb", ".new",
    ))  # fmt: skip
    path = book / ".combtally" / place
    kind = rng.choice(("bytes", "bytes", "bytes", "folder", "link", "pipe"))
    with suppress(OSError):  # a file or a link may stand there already
        (book / ".combtally").mkdir(exist_ok=True)
        path.parent.mkdir(exist_ok=True)
    if path.exists() or path.is_symlink() or not path.parent.is_dir():
        return "nothing: there already"
    if kind == "bytes":
        path.write_bytes(rng.choice(WORKSHOP))
    elif kind == "folder":
        path.mkdir()
    elif kind == "link":
        path.symlink_to(rng.choice(("nowhere", "../loads.csv", "/dev/null")))
    else:
        os.mkfifo(path)
    return f"{place} {kind}"


def _derived(rng: Random, book: Path) -> str:
    """Bytes of what the program derived, after a run, are changed."""
    if not (book / "book.toml").is_file():
        return "nothing"
    tried("check", book)
    files = [p for p in sorted(book.rglob("*")) if p.is_file() and p.suffix not in (".csv", ".toml", ".md") and not p.is_symlink()]
    if not files:
        return "nothing kept"
    path = rng.choice(files)
    data = path.read_bytes()
    at = rng.randrange(len(data) + 1)
    path.write_bytes(rng.choice((b"", data[:at], data[:at] + rng.randbytes(30) + data[at + 30 :], b"DUCK", data + b"x")))
    return str(path.relative_to(book))


def _workshop_is_a_file(rng: Random, book: Path) -> str:
    place = book / rng.choice((".combtally", "reports", "combtally.duckdb"))
    if not place.exists():
        place.symlink_to("nowhere") if rng.randrange(3) == 0 else place.write_bytes(b"x")
    return place.name


DAMAGE: tuple[Callable[[Random, Path], str], ...] = (
    _cell, _cell, _cell, _cell, _a_whole_column, _header, _bytes, _bytes, _cut, _encoding, _swapped, _gone, _gone, _twice, _shuffled, _settings, _settings,
    _another_thing, _another_thing, _workshop, _workshop, _derived, _workshop_is_a_file,
)  # fmt: skip

# ---------------------------------------------------------------- commands

ODD = ["", " ", "-", "x", "\x1b[2J", "\u202e", "\udcff", "P1", "B1", "H1", "R1", "S1", "jar", "block ", "block B1", "harvest H1", "sale 2", "sale 99999999999999999999",
       "hive a/b", "9" * 5000, "x" * 100_000, "%s", "'", "=1", "B24-03", "P25-01", "pillar", "batch P1", "candle jar", "session S1", "apiary ", "1/2/3", "0", "-1", "1e400"]  # fmt: skip
DAYS = ["0001-01-01", "9999-12-31", "2026-11-01", "2026-11-01", "1970-01-01", "2025-02-30", "x", "", "10000-01-01", "1/2/2026", "٢٠٢٦-01-01"]
NUMBERS = ["0", "-1", "1e308", "1e-300", "nan", "inf", "-inf", "9" * 400, "x", "", "5", "0.9", "366", "1_000", "٣"]


def questions(rng: Random, book: Path, out: Path) -> list[tuple[str, ...]]:
    """One line of words for each way to ask, BOOK standing for the book's folder."""
    odd, number = (lambda: rng.choice(ODD)), (lambda: rng.choice(NUMBERS))
    by = lambda *groups: rng.choice(groups) if rng.randrange(8) else odd()  # noqa: E731
    pair = lambda: f"{rng.choice((odd(), 'mass', 'date', 'notes', 'count', 'mass_g', 'harvest', 'block'))}={rng.choice((odd(), number(), '5 lb 4 oz'))}"  # noqa: E731
    kind = lambda: rng.choice(("harvest", "load", "pass", "block", "draw", "stocktake", "blend", "candle", "batch", "wick", "burn", "sale", "session", odd()))  # noqa: E731
    other = str(rng.choice((ROOT / "tests" / "checks" / "good_book", book, out / "nowhere", out)))
    theirs = str(rng.choice((*sorted(book.glob("*")), ROOT / "data" / "demo" / "harvests.csv", ROOT / "tests" / "reading" / "files" / "harvests.ods", out)))
    row = json.dumps({rng.choice((*LOGS, odd())): [{"date": odd(), "block": odd(), "mass": number(), odd(): odd()}]})
    (out / "rows.json").write_bytes(rng.choice((row.encode("utf-8", "replace"), *WORKSHOP)))
    groups = ("season", "method", "comb", "apiary", "hive", "session")
    return [
        ("check", "BOOK"), ("check", "BOOK", "--rules"),
        ("yields", "BOOK"), ("yields", "BOOK", "--by", by(*groups)), ("yields", "BOOK", "--reconciled", "--by", by(*groups)), ("yields", "BOOK", other),
        ("losses", "BOOK"), ("losses", "BOOK", "--by", by("season", "method", "filter", "comb", "session")), ("losses", "BOOK", other, "--leave-out"),
        ("flow", "BOOK"), ("flow", "BOOK", "--by", by("session", "season", "method")), ("flow", "BOOK", "--reconciled"),
        ("stock", "BOOK"), ("stock", "BOOK", "--on", rng.choice(DAYS)), ("capacity", "BOOK"), ("plan", "BOOK"), ("plan", "BOOK", "--method", rng.choice(("solar", odd()))),
        ("mix", "BOOK", "--aim", by("income", "margin", "count")), ("mix", "BOOK", "--min", f"{odd()}={number()}", "--max", f"jar={number()}"),
        ("mix", "BOOK", "--hours", number()), ("mix", "BOOK", "--wax", rng.choice((number(), "5 kg", "1e300 kg", odd()))),
        ("trend", "BOOK"), ("trend", "BOOK", other), ("backtest", "BOOK"), ("suspects", "BOOK"), ("suspects", "BOOK", "--show", odd()),
        ("trace", "BOOK", odd()), ("trace", "BOOK", odd(), "--all"), ("pour", "BOOK", odd()), ("pour", "BOOK", _named(rng, book, "batches"), "--light", "--html", str(out / "p.html")),
        ("pour", "BOOK", _named(rng, book, "batches")), ("wick", "BOOK", odd()), ("wick", "BOOK", _named(rng, book, "candles")), ("trace", "BOOK", _named(rng, book, "blocks")),
        ("trace", "BOOK", _named(rng, book, "batches")), ("flaws", "BOOK"), ("market", "BOOK"), ("market", "BOOK", "--days", number(), "--sure", number(), "--place", odd()),
        ("label", "BOOK", odd(), "--out", str(out)), ("label", "BOOK", _named(rng, book, "batches"), "--out", str(out)), ("sheet", "BOOK", "--out", str(out)),
        ("sheet", "BOOK", "--xlsx", "--out", str(out)), ("export", "BOOK", str(out / "e"), "--as", by("csv", "parquet", "xlsx", "package")), ("compare", "BOOK", other, "--out", str(out)),
        ("import", "BOOK", theirs, "--yes"), ("import", "BOOK", theirs, "--map", theirs), ("record", "BOOK", kind(), pair(), pair(), "--yes"), ("record", "BOOK", kind(), "date=2026-10-01", pair(), pair()),
        ("record", "BOOK", "block", "block=NEW", "date=2026-10-01", "mass=1 kg", "supplier=Ann", "--yes"), ("record", "BOOK", "--from", str(out / "rows.json"), "--yes"),
        ("record", "BOOK", kind()), ("change", "BOOK", kind(), odd(), pair(), "--yes"), ("change", "BOOK", "block", _named(rng, book, "blocks"), "notes=wet", "--yes"),
        ("change", "BOOK", kind(), str(rng.randrange(60)), pair(), "--yes"), ("remove", "BOOK", kind(), rng.choice((odd(), str(rng.randrange(60)))), "--yes"),
        ("undo", "BOOK"), ("undo", "BOOK", "--list"), ("undo", "BOOK", "--again"), ("new", "BOOK"),
    ]  # fmt: skip


def _named(rng: Random, book: Path, log: str) -> str:
    """A name that stands first in some row of a log, where there is one."""
    path = book / f"{log}.csv"
    lines = _lines(path) if path.is_file() and not path.is_symlink() else []
    names = [line.split(b",")[0].decode("utf-8", "surrogateescape") for line in lines[1:] if line]
    return rng.choice(names) if names else "P1"


SEVERAL = {"yields", "losses", "flow", "trend", "compare"}
FIGURES = SEVERAL | {"stock", "capacity", "plan", "mix", "backtest", "trace", "pour", "wick", "flaws", "market", "label", "export", "build"}
"""Commands that give figures, and so refuse a book with errors unless its faulty rows are left out."""

WRITING = {"record", "change", "remove", "undo", "import", "new"}


# ---------------------------------------------------------------- the law


class TooLong(BaseException):
    """A command that is cut off; no part of the program may catch it."""


@contextmanager
def cut_off(after_s: float) -> Iterator[None]:
    """Cut what runs too long, by processor time and, for what waits, by the clock."""

    def end(number: int, frame: FrameType | None) -> None:
        raise TooLong(f"cut off after {after_s:.0f} s")

    old = signal.signal(signal.SIGALRM, end)
    signal.setitimer(signal.ITIMER_REAL, after_s)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0)
        signal.signal(signal.SIGALRM, old)


def _cpu_s() -> float:
    used = (resource.getrusage(resource.RUSAGE_SELF), resource.getrusage(resource.RUSAGE_CHILDREN))
    return sum(each.ru_utime + each.ru_stime for each in used)


def tried(*words: object, today: str | None = None) -> tuple[Ran | BaseException, float]:
    """What the words came to, or what was raised; with the processor's seconds."""
    began = _cpu_s()
    try:
        with cut_off(12 * MOST_CPU_S):
            ran: Ran | BaseException = run(*words, today=today)
    except (Exception, TooLong, RecursionError) as fault:  # whatever a command raises is what is looked for
        ran = fault
    return ran, _cpu_s() - began


@contextmanager
def opened_once() -> Iterator[None]:
    """A book with errors, of which no figures are kept, is opened once while its files stay as they are; then remembered."""
    really, seen = flow.opened, dict[object, Loaded]()

    def opened(folder: Path, today: date, on: date | None = None) -> Loaded:
        origin = made_from(folder, today)
        if origin is None or origin.origin not in seen:
            loaded = really(folder, today)
            seen.clear()
            if origin is None or not loaded.blocked:
                return flow.with_shelf_of(on or today, loaded)
            seen[origin.origin] = loaded
        loaded = seen[origin.origin]
        return flow.with_shelf_of(on or today, replace(loaded, warehouse=loaded.warehouse.beside()))

    with patch.object(flow, "opened", opened):
        yield


@contextmanager
def drawn_by_one() -> Iterator[None]:
    """One process draws for all builds, and each picture once, as starting it takes longest."""
    drawn = dict[bytes, Drawing]()
    with ChartProcess() as one:

        class Lent(ChartProcess):
            def start(self) -> subprocess.Popen[bytes]:
                if one._process and one._process.poll() is not None:  # it could not draw a picture
                    one._process = None
                return one.start()

            def _drawn(self, picture: Picture) -> Drawing:
                told = pickle.dumps(picture.chart)
                if told not in drawn:
                    self.start()
                    drawn[told] = one._drawn(picture)
                return drawn[told]

        with patch.object(report_build, "ChartProcess", Lent):
            yield


def broken_by(
    rng: Random, book: Path, done: list[str], out: Path, most: int | None, build: bool
) -> Iterator[tuple[int, list[Broken]]]:
    """So many command lines on a book, or (None) one of each command, in any order: how many ran, and what broke the law.

    Exit 3 is right only where something that is no file, or was put into the program's own folder, stands in the way.
    """
    asked = questions(rng, book, out)
    rng.shuffle(asked)
    chosen = list({words[0]: words for words in asked}.values()) if most is None else asked[:most]
    day = rng.choice(DAYS) if rng.randrange(4) == 0 else TODAY
    if build:
        chosen.append(("build", "BOOK", "--out", str(out / "r"), *(("--leave-out",) if rng.randrange(2) else ())))
    known: list[bool | None] = []  # asked of the check where a command's exit code hangs on it
    machine = any(told.startswith(("another_thing", "workshop", "derived")) for told in done)
    for words in chosen:
        if words[0] in FIGURES - SEVERAL and not known:
            known.append(_has_errors(book, day))
        asked_for = day if rng.randrange(8) else rng.choice(DAYS)
        found = one(rng, book, words, asked_for, known[0] if known and asked_for == day else None)
        yield 1, [b for b in found if not (machine and b.kind == "machine" and "could not be drawn" not in b.told)]
        if words[0] in WRITING:
            known.clear()


def one(rng: Random, book: Path, words: tuple[str, ...], day: str, errors: bool | None) -> list[Broken]:
    """One command on the book, as a table or as JSON; ``errors``: whether the book has any, where that is known."""
    as_json = rng.randrange(2) == 0
    leave_out = words[0] in FIGURES and "--leave-out" not in words and rng.randrange(2) == 0
    line = [str(book) if w == "BOOK" else w for w in words] + ["--json"] * as_json + ["--leave-out"] * leave_out
    if words[0] not in ("new",):
        line += ["--today", day]
    ran, cpu_s = tried(*line)
    return [Broken(kind, tuple(words) + tuple(line[len(words) :]), told) for kind, told in _faults(line, ran, cpu_s, as_json, errors)]


def _faults(line: list[str], ran: Ran | BaseException, cpu_s: float, as_json: bool, errors: bool | None) -> Iterator[tuple[str, str]]:
    if cpu_s > MOST_CPU_S:
        yield "slow", f"{cpu_s:.1f} s"
    if isinstance(ran, BaseException):
        yield "raised", _where(ran)
        return
    shown = ran.err if as_json else ran.out + ran.err
    if found := STEERS.search(shown):
        yield "steers", repr(shown[max(0, found.start() - 40) : found.end() + 20])
    if ran.code not in (0, 1, 2, 3):
        yield "exit code", f"{ran.code}"
    if ran.code and not (ran.err + ran.out).strip():
        yield "silent", f"exit {ran.code}"
    if ran.code == 0 and as_json and (told := _not_json(ran.out)):
        yield "json", told
    yield from _wrong_code(line, ran, as_json, errors)


def _wrong_code(line: list[str], ran: Ran, as_json: bool, errors: bool | None) -> Iterator[tuple[str, str]]:
    command = line[0]
    if ran.code == 3:
        yield "machine", (ran.err or ran.out)[-300:]
    if command == "check" and as_json and ran.code in (0, 1):
        has = any(p["severity"] == "error" for p in json.loads(ran.out)["problems"])
        if has != (ran.code == 1):
            yield "exit code", f"check: {ran.code} with errors {has}"
    if command in FIGURES - SEVERAL and errors is not None and ran.code in (0, 1):
        if errors and "--leave-out" not in line and ran.code == 0:
            yield "exit code", "0 on a book with errors"
        if not errors and ran.code == 1:
            yield "exit code", f"1 on a book without errors: {(ran.err or ran.out)[-200:]}"
        if errors and "--leave-out" in line and ran.code == 1:
            yield "exit code", f"1 with --leave-out: {(ran.err or ran.out)[-200:]}"


def _has_errors(book: Path, day: str) -> bool | None:
    ran, _ = tried("check", book, today=day)
    return ran.code == 1 if isinstance(ran, Ran) and ran.code in (0, 1) else None


def _not_json(text: str) -> str:
    def refuse(word: str) -> Any:
        raise ValueError(word)

    try:
        json.loads(text, parse_constant=refuse)
    except ValueError as fault:
        return f"{fault}: {text[:80]!r}"
    return ""


def _where(fault: BaseException) -> str:
    import traceback

    places = [f"{Path(f.filename).name}:{f.lineno} {f.name}" for f in traceback.extract_tb(fault.__traceback__) if "pipeline" in f.filename]
    return f"{type(fault).__name__}: {str(fault)[:200]} at {' < '.join(reversed(places[-4:]))}"
