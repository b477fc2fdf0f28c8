"""What people read at a terminal: 80 columns, figures under each other, colour there only and never alone."""

from __future__ import annotations

import os
import pty
import re
import subprocess
import sys
from pathlib import Path

import pytest
from rich.cells import cell_len

from pipeline.cli.tables import Head, drawn
from pipeline.wording.amounts import Units
from tests import books
from tests.books import ROOT, write

COMMANDS = (
    "yields --by season", "yields --by hive", "losses --by method", "losses --by filter", "flow", "flow --by season",
    "stock", "capacity", "plan", "mix", "backtest", "suspects", "trend",
)  # fmt: skip
COLOUR = re.compile(r"\x1b\[[0-9;]*m")


def run(command: str, book: Path | str = "data/demo") -> str:
    name, *options = command.split()
    return books.run(name, book, *options).out


def at_terminal(command: str, book: Path, **env: str) -> str:
    """What a command writes to a terminal of its own."""
    ours, theirs = pty.openpty()
    call = [sys.executable, "-m", "pipeline", command, str(book), "--today", "2026-11-01"]
    clean = {k: v for k, v in os.environ.items() if k != "NO_COLOR"}
    running = subprocess.Popen(call, cwd=ROOT, stdout=theirs, stderr=subprocess.DEVNULL, env=clean | {"TERM": "xterm"} | env)
    os.close(theirs)
    told = b""
    try:
        while part := os.read(ours, 65536):
            told += part
    except OSError:  # a terminal whose other side is gone ends in an error, not in nothing
        pass
    running.wait()
    os.close(ours)
    return told.decode().replace("\r\n", "\n")


@pytest.mark.parametrize("command", COMMANDS)
def test_tables_fit_eighty_columns(command: str) -> None:
    lines = run(command).splitlines()
    assert len(lines) >= 2
    assert [line for line in lines if len(line) > 80] == []
    assert not any(COLOUR.search(line) for line in lines)


@pytest.fixture
def faulty(tmp_path: Path) -> Path:
    return write(
        tmp_path / "book", 'name = "Larkmoor"\n',
        harvests="harvest,date,comb,mass_kg\nH1,2026-05-01,cappings,4\nH2,2026-05-32,cappings,4",
        passes="session,pass,date,method,mass_in_kg,wax_out_kg\nR1,1,2026-05-03,solar,4,4.31",
    )  # fmt: skip


def test_findings_are_wrapped_and_coloured_on_a_terminal_and_one_on_a_line_in_a_pipe(faulty: Path) -> None:
    coloured, plain, piped = at_terminal("check", faulty), at_terminal("check", faulty, NO_COLOR="1"), run("check", faulty)
    assert COLOUR.sub("", coloured) == plain
    assert COLOUR.search(coloured)
    assert not COLOUR.search(plain + piped)
    assert max(map(len, plain.splitlines())) <= 80
    named = run("check --rules", faulty)
    assert [re.sub(r" \[[\w-]+\]$", "", line) for line in named.splitlines()] == piped.splitlines()
    found = [line for line in named.splitlines() if re.match("(error|warning|note): ", line)]
    assert found
    assert all(re.search(r" \[[\w-]+\]$", line) for line in found)
    assert "".join(plain.split()) == "".join(piped.split())
    assert re.match(r"\x1b\[31merror\x1b\[0m: ", coloured)


def test_figures_stand_under_each_other_with_their_unit_in_the_head() -> None:
    rows = [{"block": "B1", "mass_g": 12_340.0}, {"block": "B2", "mass_g": 0.0}, {"block": "B3", "mass_g": -5.0}, {"block": "B4", "mass_g": None}]
    head, *told = drawn(rows, [Head("block", "block"), Head("mass_g", "wax", "mass")], Units()).splitlines()
    assert head.split() == ["block", "wax", "kg"]
    assert [line.split()[1] for line in told] == ["12.34", "0.00", "-0.01", "–"]
    assert {len(line) for line in told[:3]} == {len(told[0])}
    assert drawn([], [Head("block", "block")], Units(), "blocks") == "blocks: nothing yet"


def test_a_weight_in_pounds_and_ounces_never_breaks_over_lines() -> None:
    rows = [{"name": "x", **{f"m{n}": 4309.0 + n for n in range(9)}}]
    lines = drawn(rows, [Head("name", "name"), *(Head(f"m{n}", "some mass", "mass") for n in range(9))], Units("lb oz")).splitlines()
    assert lines[-1].split("  ")[-1] == "9 lb 8.3 oz"
    assert len(re.findall(r"9 lb 8(\.\d)? oz", lines[-1])) == 9


def test_a_figure_is_never_cut_short_where_a_table_is_wider_than_the_terminal() -> None:
    heads = [Head("how", "method"), *(Head(f"m{n}", words, "mass") for n, words in enumerate(("in", "wax out", "residue", "unaccounted", "set aside")))]
    rows = [{"how": "double boiler", **{f"m{n}": 28519.0 for n in range(5)}}]
    told = drawn(rows, heads, Units("lb oz"))
    assert told.count("62 lb 14 oz") == 5  # 28519 g are 62.87 lb
    assert "unaccounted" in told
    assert "…" not in told
    assert {"double", "boiler"} <= set(told.split())


def test_what_stops_a_row_is_said_once(tmp_path: Path) -> None:
    ran = books.run("record", write(tmp_path, harvests="harvest,date,comb,mass_g\n"), "harvest", "harvest=H1", "date=2026-06-31", "comb=mixed")
    assert (ran.code, (ran.out + ran.err).count("nothing was written")) == (1, 1)


def test_words_wider_than_their_letters_are_counted_as_the_terminal_shows_them() -> None:
    """A wide letter takes two columns (Unicode Standard Annex 11); nothing is cut, and the next column stands straight."""
    rows = [{"comb": "蜜蜡 " * 12, "where": "shed", "n": 1}, {"comb": "蜡", "where": "shed  2", "n": 23}]
    told = drawn(rows, [Head("comb", "comb"), Head("where", "where it is kept in the winter", "text"), Head("n", "n", "number")], Units()).splitlines()
    assert sum(line.count("蜜蜡") for line in told) == 12
    assert {cell_len(line) for line in told if line[-1].isdigit()} == {max(map(cell_len, told))}
    assert max(map(cell_len, told)) <= 80
    assert "shed  2" in told[-1]
