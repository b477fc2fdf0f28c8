"""A book in pounds and ounces, inches, degrees F and dates with the month first, walked through: its session at a real terminal."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pytest

from tests.books import Keyboard, run
from tests.recording.test_terminal import Terminal, logs

Talk = Sequence[tuple[str, str]]

A_NEW_BOOK: Talk = [
    ("Whose book", "Ridge"), ("Weights", "pounds and ounces"), ("Lengths in mm or in [in]", ""), ("Temperatures in C or F [F]", "<"),
    ("Lengths", ""), ("Temperatures", ""), ("Money, as three letters [USD]", ""), ("[month-first]", ""), ("season", ""),
    ("smallest step", "0.1 oz"), ("A pot that you weigh with", "crock = 2 lb 2 oz"), ("A pot", ""),
]  # fmt: skip
A_SESSION: Talk = [
    ("record a harvest first", ""), ("harvest – your name", ""), ("date – the day the comb came off [7/4/2025]", ""), ("comb –", "cappings"),
    ("weight (lb)", "8 lb 6 oz - crock"), ("apiary", "Mill"), ("hive –", "H1, H2 & H3"), ("is that 3 hives?", "H1 + H2 + H3"),
    ("save?", "yes."), ("Record another harvest?", "maybe"), ("answer yes or no", "N"),
    ("session – a new name", "2026-1"), ("What went into the pot?", "1"), ("weight of H1 (lb) – Enter: all that is left", ""),
    ("Anything else in the pot?", ""), ("Is the wax out yet? [yes]", "Yes"), ("[7/4/2025]", "7/5/25"), ("method –", "crock pot"),
    ("is slow cooker meant?", "1"), ("weight in", ""), ("wax out", "1O lb"), ("write 10 lb", "3 lb 1 oz"), ("residue", "15 oz"),
    ("honey in it, or something not weighed?", "3 lb"), ("hottest (°F)", "74"), ("did you mean 74 °C?", "165"),
    ("time (min)", "2:30"), ("Write minutes, such as 150", "4"), ("4 minutes, or 4 hours?", "4 h"), ("filter", "cheesecloth"),
    ("Another pass? [no]", "y"), ("[7/5/2025]", ""), ("[solar]", "2"), ("weight in", ""), ("wax out", "3 lb"), ("residue", "1 oz"),
    ("hottest", "206"), ("206 °F is 21 °F over 185 °F", "Y"), ("time", "-"), ("filter", ""), ("Another pass?", ""),
    ("block –", "B1"), ("date –", ""), ("weight (lb)", "<"), ("date –", ""), ("weight (lb)", "2 lb 15 oz"), ("color", "3"),
    ("place", "garage"), ("next block – Enter if none", ""), ("a yield of 47.0 %", ""), ("Record another session?", "no"),
]  # fmt: skip
A_SALE: Talk = [
    ("date – the day [7/20/2025]", ""), ("candle", "taper"), ("count", "3"), ("Who must call candles back needs it", "2"),
    ("price", "$4"), ("place", ""), ("save?", ""), ("Record another sale?", "y"),
    ("date –", ""), ("candle", "taper"), ("count", "3"), ("call candles back", "2"), ("price", "4 USD"), ("place", ""),
    ("the same sale stands on line 2: entered twice?", "n"), ("Record another sale?", "Yes"),
    ("date –", ""), ("candle", "taper"), ("count", "40"), ("call candles back", "1"), ("price", ""), ("place", ""),
    ("that makes 43 of taper sold, and 25 were on the shelf: 18 too many", "No"), ("Record another sale?", ""),
]  # fmt: skip
A_DRAW: Talk = [
    ("date –", ""), ("block –", "B1"), ("weight (lb)", "3 lb"), ("3 lb is 1 oz more than is left of B1 (2 lb 15 oz)", "1 lb 3 oz - crock"),
    ("comes to nothing or less", "3 lb 3 oz - crock"), ("use", "given"), ("weight 3 lb 3 oz - crock", ""), ("Record another draw?", ""),
]  # fmt: skip
A_COUNT: Talk = [
    ("date", ""), ("item", "taper"), ("weight", "-"), ("count", "20"),
    ("counted 20, the book has 22: 2 less; from now on so many are on the shelf", ""), ("Record another stocktake?", ""),
]  # fmt: skip
TWO_POURS = {
    "blends": "blend,wax_pct\npure,100\n",
    "candles": "candle,form,blend,fill_mass_oz\ntaper,dipped,pure,1\n",
    "batches": "batch,date,candle,count,status,good\nP1,7/10/2025,taper,12,poured,12\nP2,7/12/2025,taper,13,poured,13\n",
}


def talk_at_a_terminal(said: Talk, *command: str) -> str:
    """The command at a terminal, answered as the talk goes; what was seen. Each answer follows words that must be seen first."""
    terminal = Terminal(*command)
    for words, answer in said:
        terminal.wait_for(words)
        terminal.type(answer)
    assert terminal.end() == 0, terminal.seen
    assert "Traceback" not in terminal.seen
    return " ".join(terminal.seen.split())


def talk(said: Talk, *command: str) -> str:
    """The same in this process."""
    keyboard = Keyboard(said)
    ran = run(*command, keyboard=keyboard, today=None)
    assert (ran.code, keyboard.done()) == (0, True), ran
    return " ".join((ran.err + ran.out).split())


def test_from_a_new_book_to_a_sale_and_back_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Loaded 8 lb 6 oz - 2 lb 2 oz = 6 lb 4 oz; 2 lb 15 oz cast of it: 47 oz of 100 oz are 47 %."""
    monkeypatch.setenv("COLUMNS", "200")  # so that no sentence is broken where it is waited for
    book = tmp_path / "Ridge"
    talk(A_NEW_BOOK, "new", str(book))
    empty = logs(book)
    seen = talk_at_a_terminal(A_SESSION, "record", str(book), "session", "--today", "7/4/2025")
    assert "session 2026-1: 2 lb 15 oz of wax from 6 lb 4 oz of comb" in seen
    assert "written: block B1, line 2 of blocks.csv" in seen
    assert not any(name in seen for name in ("wax_out", "mass_in", "residue_lb", "peak_temp ("))
    assert (book / "harvests.csv").read_text().splitlines()[1].endswith("H1 + H2 + H3,,,,,mass: 8 lb 6 oz - crock")
    passes = [line.split(",") for line in (book / "passes.csv").read_text().splitlines()[1:]]
    assert [row[:4] for row in passes] == [["2026-1", "1", "2025-07-05", "solar"], ["2026-1", "2", "2025-07-05", "water bath"]]
    for name, text in TWO_POURS.items():
        (book / f"{name}.csv").write_text(text, "utf-8")
    poured = logs(book)
    talk(A_SALE, "record", str(book), "sale", "--today", "7/20/2025")
    assert (book / "sales.csv").read_text().splitlines()[1] == "2025-07-20,taper,3,P1,4,,"
    talk(A_DRAW, "record", str(book), "draw", "--today", "7/20/2025")
    seen = talk([("take it back? [yes]", "perhaps"), ("take it back? [yes]", "n")], "undo", str(book))
    assert seen.startswith("draw 7/20/2025, B1, 3 lb 3 oz - crock, given, made on ")
    assert seen.endswith("nothing was taken back")
    assert "taken back: draw" in talk([("take it back? [yes]", "Y")], "undo", str(book))
    talk(A_COUNT, "record", str(book), "stocktake", "--today", "7/20/2025")
    counted = logs(book)
    assert "Wax on hand on Dec 1, 2025" in run("stock", book, "--on", "12/1/2025", today="7/21/2025").out
    letter = next(line for line in run("sheet", book, today=None).out.split() if line.endswith("letter.html"))
    assert all(words in Path(letter).read_text("utf-8") for words in ("gross", "tare", "net", "crock 2 lb 2 oz", "8/14/2025"))
    taken_back_and_done_again(book, poured, counted)
    for name in TWO_POURS:
        (book / f"{name}.csv").write_bytes(empty[f"{name}.csv"])
    assert run("undo", book, today=None).code == run("undo", book, today=None).code == 0
    assert logs(book) == empty


def taken_back_and_done_again(book: Path, poured: dict[str, bytes], counted: dict[str, bytes]) -> None:
    """``undo`` and ``undo --again`` step by step; a new entry ends what could be done again, as the contract has it."""
    assert [each["what"].split()[0] for each in run("undo", book, "--list", "--json", today=None).json["undoable"]][:2] == ["stocktake", "sale"]
    for _ in range(2):
        assert run("undo", book, today=None).code == 0
    assert logs(book) == poured
    for _ in range(2):
        assert run("undo", book, "--again", today=None).code == 0
    assert logs(book) == counted
    assert run("undo", book, today=None).code == 0
    assert run("record", book, "sale", "date=7/21/25", "candle=taper", "count=1", "batch=P1", today="7/21/2025").code == 0
    assert run("undo", book, today=None).code == 0
    assert "done again: sale 7/21/25, taper, 1, P1" in run("undo", book, "--again", today=None).out
    ended = run("undo", book, "--again", today=None)
    assert (ended.code, ended.err.strip()) == (2, "there is nothing that can be done again; a new entry ends what could be")
    assert run("remove", book, "sale", "3", today="7/21/2025").out.strip() == "removed: sale, line 3 of sales.csv"
    assert "names it" in run("remove", book, "harvest", "H1", today="7/21/2025").err
    for _ in range(3):
        assert run("undo", book, today=None).code == 0
