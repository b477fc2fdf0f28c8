"""What is answered from the database file is what the logs would give, byte for byte; any doubt means a full run."""

from __future__ import annotations

import json
import os
import shutil
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from itertools import cycle
from pathlib import Path
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline import flow
from pipeline.database import made_from as origin
from pipeline.database.connection import Warehouse
from tests.books import ROOT, run, write_kept
from tests.strategies import LAST_DAY, made_book, write_book

DEMO = ROOT / "data" / "demo"
COMMANDS = (
    ("check",), ("yields", "--by", "session"), ("yields", "--by", "hive"), ("losses", "--by", "comb"), ("flow", "--by", "season"),
    ("stock",), ("stock", "--on", "2024-06-30"), ("plan",), ("capacity",), ("trend",), ("backtest",), ("suspects",), ("mix",),
)  # fmt: skip
EARLIER = LAST_DAY.replace(year=LAST_DAY.year - 1)


def clean(source: Path, target: Path) -> Path:
    """The files of a book without all that is derived from them."""
    return Path(shutil.copytree(source, target, ignore=shutil.ignore_patterns(".combtally", "*.duckdb", "reports")))


def told(book: Path, today: str, words: tuple[str, ...], *more: str) -> tuple[int, str, str]:
    ran = run(*words, book, *more, today=today)
    return ran.code, ran.out, ran.err


def kept(book: Path) -> Path:
    return book / "combtally.duckdb"


def add_row(book: Path, rng: Random) -> None:
    """The last row of a log once more: another stocktake, draw or sale, or a double key."""
    log = rng.choice(sorted(book.glob("*.csv")))
    lines = log.read_text("utf-8").splitlines()
    log.write_text("\n".join([*lines, lines[-1]]) + "\n", "utf-8")


def change_a_digit(book: Path, rng: Random) -> None:
    log = rng.choice(sorted(book.glob("*.csv")))
    data = bytearray(log.read_bytes())
    digits = [n for n, byte in enumerate(data) if chr(byte).isdigit() and n > data.find(b"\n")]
    if digits:
        data[rng.choice(digits)] = ord(rng.choice("0123456789"))
    log.write_bytes(bytes(data))


def change_a_digit_and_hide_it(book: Path, rng: Random) -> None:
    """Same size, same time of change: only the bytes tell."""
    logs = sorted(book.glob("*.csv"))
    times = {log: (log.stat().st_atime_ns, log.stat().st_mtime_ns) for log in logs}
    change_a_digit(book, rng)
    for log, ns in times.items():
        os.utime(log, ns=ns)


def touch(book: Path, rng: Random) -> None:
    os.utime(rng.choice(sorted(book.glob("*.csv"))), (0, rng.randrange(1, 2_000_000_000)))


def set_units(book: Path, rng: Random) -> None:
    toml = book / "book.toml"
    toml.write_text(toml.read_text("utf-8") + f"\n# {rng.random()}\n", "utf-8")


def remove_a_log(book: Path, rng: Random) -> None:
    rng.choice(sorted(book.glob("*.csv"))).unlink()


def second_file_of_a_log(book: Path, rng: Random) -> None:
    log = rng.choice(sorted(book.glob("*.csv")))
    log.with_suffix(".txt").write_bytes(log.read_bytes())


def cut_the_database(book: Path, rng: Random) -> None:
    data = kept(book).read_bytes() if kept(book).exists() else b""
    kept(book).write_bytes(data[: rng.randrange(len(data) + 1)])


def flip_a_byte_of_the_database(book: Path, rng: Random) -> None:
    if kept(book).exists():
        data = bytearray(kept(book).read_bytes())
        data[rng.randrange(len(data))] ^= 1 << rng.randrange(8)
        kept(book).write_bytes(bytes(data))


def lay_down_text(book: Path, rng: Random) -> None:
    kept(book).write_text("no database", "utf-8")


def lay_down_the_demos(book: Path, rng: Random) -> None:
    """Another book's database and digest, whole and of this program."""
    run("yields", DEMO)
    shutil.copy(kept(DEMO), kept(book))
    (book / ".combtally").mkdir(exist_ok=True)
    shutil.copy(DEMO / ".combtally" / "database.sha256", book / ".combtally" / "database.sha256")


def lose_the_workshop(book: Path, rng: Random) -> None:
    shutil.rmtree(book / ".combtally", ignore_errors=True)


def nothing(book: Path, rng: Random) -> None:
    """Asked again."""


EDITS: tuple[Callable[[Path, Random], None], ...] = (
    add_row, change_a_digit, change_a_digit_and_hide_it, touch, set_units, remove_a_log, second_file_of_a_log, cut_the_database,
    flip_a_byte_of_the_database, lay_down_text, lay_down_the_demos, lose_the_workshop, nothing,
)  # fmt: skip
EXAMPLES = int(os.environ.get("LOOK_HARDER", "1"))


@settings(max_examples=EXAMPLES)
@given(st.integers(0, 2**32), st.lists(st.sampled_from(EDITS), min_size=1, max_size=3))
def test_whatever_happens_to_a_book_its_answers_are_those_of_its_logs(
    tmp_path_factory: pytest.TempPathFactory, seed: int, edits: list[Callable[[Path, Random], None]]
) -> None:
    rng, folder = Random(seed), tmp_path_factory.mktemp("recall")
    book = write_book(made_book(rng), folder / "book")
    run("yields", book, today=LAST_DAY.isoformat())
    for edit in edits:
        edit(book, rng)
        today = rng.choice((LAST_DAY, LAST_DAY, EARLIER)).isoformat()
        for words in rng.sample(COMMANDS, 2):
            form = rng.choice(((), ("--json",)))
            shutil.rmtree(folder / "fresh", ignore_errors=True)
            fresh = clean(book, folder / "fresh" / "book")
            expected = told(fresh, today, words, *form)
            answer = told(book, today, words, *form)
            expected = tuple(str(x).replace(str(fresh), str(book)) for x in expected)
            assert tuple(map(str, answer)) == expected, (edit.__name__, words)
            assert tuple(map(str, told(book, today, words, *form))) == expected, (edit.__name__, words, "asked again")
    shutil.rmtree(folder)


@pytest.fixture
def book(built_demo: Path, tmp_path: Path) -> Path:
    """The demo at another place, with its figures and pictures."""
    return Path(shutil.copytree(built_demo, tmp_path / "demo"))


def reading_logs(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What is read anew from here on, by the names of the books."""
    read: list[str] = []
    load = flow.load
    monkeypatch.setattr(flow, "load", lambda folder, *made_from: read.append(folder.name) or load(folder, *made_from))
    return read


def test_an_unchanged_book_is_not_read_again_and_says_the_same(built_demo: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    asked = [(words, *form) for words, form in zip(COMMANDS, cycle([(), ("--json",)]), strict=False)]
    book, worked_out = built_demo, flow.load(built_demo, date(2026, 11, 1))
    with monkeypatch.context() as anew:  # every command on figures that were worked out from the logs
        anew.setattr(flow, "recalled", lambda folder, *made_from: replace(worked_out, warehouse=worked_out.warehouse.beside()))
        fresh = [told(book, "2026-11-01", *words) for words in asked]
    read = reading_logs(monkeypatch)
    assert [told(book, "2026-11-01", *words) for words in asked] == fresh
    assert read == []


def test_a_book_that_was_moved_is_not_read_again_and_one_of_another_name_is(book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    read = reading_logs(monkeypatch)
    expected = run("yields", book, "--json")
    assert read == []
    assert run("yields", book.rename(book.parent / "spring"), "--json") == expected
    assert read == ["spring"]  # a folder's name stands where the book has none


def test_reconciled_figures_are_worked_out_from_the_logs_and_change_nothing_that_is_kept(built_demo: Path) -> None:
    book = built_demo
    before = kept(book).read_bytes()
    assert told(book, "2026-11-01", ("yields", "--reconciled"))[0] == 0
    assert kept(book).read_bytes() == before


def test_an_edit_of_the_program_is_another_program(book: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    copy = Path(shutil.copytree(ROOT / "pipeline", tmp_path / "pipeline", ignore=shutil.ignore_patterns("__pycache__")))
    monkeypatch.setattr(origin, "_PACKAGE", copy)
    monkeypatch.setattr(origin, "program", origin.program.__wrapped__)  # looked at once in a process, and this is the next one
    told_before = origin.program()
    rule = next(copy.rglob("pass-order.sql"))
    looks, text = rule.stat(), rule.read_text("utf-8")
    rule.write_text(text.replace("pass", "PASS", 1), "utf-8")
    os.utime(rule, ns=(looks.st_atime_ns, looks.st_mtime_ns))
    assert rule.stat().st_size == looks.st_size
    assert origin.program() != told_before
    read = reading_logs(monkeypatch)
    assert run("yields", book).code == 0
    assert read == ["demo"], "figures of another program were believed"


def test_a_log_that_changes_while_it_is_read_is_not_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    book = write_kept(tmp_path / "book", harvests="harvest,date,comb,mass_g\nH1,2026-05-01,cappings,900")
    log = book / "harvests.csv"
    log.write_text(log.read_text("utf-8").replace("900", "800"), "utf-8")
    before, beside = kept(book).read_bytes(), Warehouse.beside

    def meanwhile(self: Warehouse) -> Warehouse:
        log.write_text(log.read_text("utf-8") + "\n", "utf-8")
        return beside(self)

    monkeypatch.setattr(Warehouse, "beside", meanwhile)
    assert run("yields", book).code == 0
    assert kept(book).read_bytes() == before
    refused = run("build", book, "--out", book.parent)
    assert (refused.code, "was changed while it was read" in refused.err) == (3, True)


@pytest.mark.skipif(os.name == "nt", reason="folders are made unwritable by POSIX")
def test_a_folder_that_cannot_be_written_only_costs_time(book: Path) -> None:
    expected = told(book, "2026-11-01", ("yields", "--json"))
    (book / "sales.csv").write_text((book / "sales.csv").read_text("utf-8") + "\n", "utf-8")
    (book / ".combtally" / "build").unlink()
    (book / ".combtally" / "build").mkdir()  # no lock can be had, not even by root
    before = kept(book).read_bytes()
    assert told(book, "2026-11-01", ("yields", "--json")) == expected
    assert kept(book).read_bytes() == before


def test_what_the_file_was_made_from_stands_in_it(built_demo: Path) -> None:
    book = built_demo
    found = Warehouse.of_file(kept(book))
    assert found
    rows = {r["what"]: r["value"] for r in found.rows("FROM made_from")}
    found.close()
    assert rows["loads.csv"] == origin.sha256(book / "loads.csv")
    assert rows["today"] == "2026-11-01"
    assert rows["program"] == origin.program()


def test_an_unchanged_build_writes_nothing_and_a_lost_page_is_the_same_again(book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    first = run("build", book, "--json")
    page = Path(json.loads(first.out)["report"])
    text, looks = page.read_bytes(), page.stat().st_mtime_ns
    read = reading_logs(monkeypatch)
    assert run("build", book, "--json") == first
    assert page.stat().st_mtime_ns == looks
    page.unlink()
    monkeypatch.setattr("pipeline.report.chart_drawing_process.ChartProcess.start", lambda self: pytest.fail("a picture was drawn again"))
    assert run("build", book, "--json") == first
    assert page.read_bytes() == text
    page.write_bytes(text[:-1])
    assert run("build", book, "--json") == first
    assert page.read_bytes() == text
    assert read == []
