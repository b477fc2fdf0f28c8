"""Rows in people's words: checked first, then written in the log's own unit; what cannot be is refused whole."""

import subprocess
import sys
from datetime import date
from pathlib import Path

import pytest

from pipeline.contract.log_columns import LOGS
from pipeline.recording import record_and_undo, row_change
from tests.books import write

DAY = date(2027, 1, 1)

HARVEST = {"harvest": "A1", "date": "2025-06-01", "comb": "cappings", "mass": "5 lb 4 oz"}


def book(folder: Path, **logs: str) -> Path:
    (folder / "book.toml").write_text('name = "Larkmoor"\n', encoding="utf-8")
    for name, text in logs.items():
        (folder / f"{name}.csv").write_text(text, encoding="utf-8", newline="")
    return folder


def rules(outcome: record_and_undo.Outcome) -> list[str]:
    return [f.rule for f in outcome.findings]


@pytest.mark.parametrize(
    ("unit", "cell"),
    [("lb", "5.25"), ("oz", "84"), ("kg", "2.381359943"), ("g", "2381.359943")],  # 1 lb = 453.59237 g exactly
)
def test_a_weight_said_aloud_is_written_in_the_logs_unit(tmp_path: Path, unit: str, cell: str) -> None:
    book(tmp_path, harvests=f"harvest,date,comb,mass_{unit}\n")
    assert record_and_undo.record(tmp_path, {"harvests": [HARVEST]}, "harvest A1", DAY).written == (record_and_undo.Written("harvests", 2),)
    assert (tmp_path / "harvests.csv").read_text() == f"harvest,date,comb,mass_{unit}\nA1,2025-06-01,cappings,{cell}\n"


def test_a_log_with_decimal_commas_gets_decimal_commas(tmp_path: Path) -> None:
    book(tmp_path, harvests="date;harvest;mass_kg;comb\n2025-06-01;A0;1,5;cappings\n")
    record_and_undo.record(tmp_path, {"harvests": [HARVEST | {"mass": "1234 g"}]}, "A1", DAY)
    assert (tmp_path / "harvests.csv").read_text().endswith("\n2025-06-01;A1;1,234;cappings\n")


def test_a_header_without_unit_gets_cells_with_one_and_no_bare_number(tmp_path: Path) -> None:
    book(tmp_path, harvests="harvest,date,comb,mass\n")
    assert rules(record_and_undo.record(tmp_path, {"harvests": [HARVEST | {"mass": "5"}]}, "A1", DAY)) == ["unit-missing"]
    record_and_undo.record(tmp_path, {"harvests": [HARVEST | {"mass": "500 g"}]}, "A1", DAY)
    assert (tmp_path / "harvests.csv").read_text() == "harvest,date,comb,mass\nA1,2025-06-01,cappings,0.5 kg\n"


def test_a_missing_column_is_added_when_needed_and_said(tmp_path: Path) -> None:
    book(tmp_path, harvests="harvest,date,comb,mass_kg,shed\nA0,2025-05-01,mixed,1,north\n")
    outcome = record_and_undo.record(tmp_path, {"harvests": [HARVEST | {"mass": "1", "apiary": "hill", "shed": "south"}]}, "A1", DAY)
    assert outcome.said == ("harvests.csv got the column apiary",)
    assert (tmp_path / "harvests.csv").read_text() == (
        "harvest,date,comb,mass_kg,shed,apiary\nA0,2025-05-01,mixed,1,north,\nA1,2025-06-01,cappings,1,south,hill\n"
    )


def test_a_log_that_is_not_there_is_started_with_every_column(tmp_path: Path) -> None:
    record_and_undo.record(book(tmp_path), {"harvests": [HARVEST | {"mass": "2.5 kg"}]}, "A1", DAY)
    header = (tmp_path / "harvests.csv").read_text().splitlines()[0].split(",")
    assert [h.removesuffix("_kg") for h in header] == [c.name for c in LOGS["harvests"].columns]


@pytest.mark.parametrize(
    ("log", "row", "rule"),
    [
        ("harvests", {"mass": "-1 kg"}, "not-above"),
        ("harvests", {"mass": "1,234"}, "number-ambiguous"),
        ("harvests", {"date": "03/04/2025"}, "date-order"),
        ("harvests", {"date": ""}, "required"),
        ("harvests", {"comb": "honeycomb"}, "unknown-word"),
        ("harvests", {"harvest": "A;1"}, "id-form"),
        ("harvests", {"harvest": "A0"}, "double-key"),
        ("harvests", {"mass": ""}, "any-of-several"),
        ("harvests", {"frames": "2.5"}, "number-whole"),
        ("harvests", {"massa": "1"}, "unknown-column"),
        ("loads", {"session": "S1", "source": "A9"}, "unknown-source"),
        ("loads", {"session": "S1", "source": "S1", "part": "wax"}, "own-source"),
        ("loads", {"session": "S2", "source": "S1"}, "part-missing"),
        ("loads", {"session": "S2", "source": "X"}, "ambiguous-source"),
        ("loads", {"session": "S2", "source": "MIX"}, "blended-loaded"),
        ("loads", {"session": "S2", "source": "session S1", "part": "slumgum"}, "slumgum-unweighed"),
        ("loads", {"session": "S1", "source": "S2", "part": "wax", "mass": "1 kg"}, "source-loop"),
        ("blends", {"blend": "soft", "wax_pct": "80", "oil": "coconut", "oil_pct": "10"}, "recipe-sum"),
        ("stocktakes", {"date": "2025-06-01", "item": "A0", "count": "3"}, "stocktake-measure"),
        ("blocks", {"block": "B1", "date": "2025-06-01", "mass": "1 kg", "session": "S9"}, "unknown-reference"),
        ("blocks", {"block": "B1", "date": "2025-06-01", "mass": "1 kg"}, "one-of-several"),
        (
            "blocks",
            {"block": "B1", "date": "2025-06-01", "mass": "1 kg", "session": "S1", "supplier": "Ann"},
            "one-of-several",
        ),
    ],
)
def test_what_a_build_would_call_an_error_is_refused_and_nothing_is_written(
    tmp_path: Path, log: str, row: dict[str, str], rule: str
) -> None:
    book(
        tmp_path,
        harvests="harvest,date,comb,mass_kg,frames\nA0,2025-05-01,mixed,1,\nX,2025-05-01,mixed,1,\n",
        passes="session,pass,date,method,wax_out_kg\nS1,1,2025-05-02,solar,1\nS2,1,2025-05-03,solar,1\n",
        blocks="block,date,mass_kg,session,supplier,blend\nX,2025-05-02,1,S1,,\nX2,2025-05-02,1,S1,,\nMIX,2025-05-02,1,,Ann,soft\n",
        loads="session,source,part,mass_kg,pass\nS2,X2,,,\n",
        candles="candle,form,blend,fill_mass_g\npillar,mould,soft,100\n",
    )
    before = {p.name: p.read_bytes() for p in tmp_path.glob("*.csv")}
    base = HARVEST | {"mass": "2 kg"} if log == "harvests" else {}
    outcome = record_and_undo.record(tmp_path, {log: [base | row]}, "a try", DAY)
    assert rules(outcome) == [rule]
    assert outcome.refused
    assert {p.name: p.read_bytes() for p in tmp_path.glob("*.csv")} == before


def test_rows_of_one_entry_may_refer_to_one_another_and_stand_or_fall_together(tmp_path: Path) -> None:
    rows = {
        "harvests": [HARVEST],
        "loads": [{"session": "S1", "source": "A1"}],
        "passes": [{"session": "S1", "pass": "1", "date": "2025-06-02", "method": "solar", "wax_out": "1.5 kg"}],
        "blocks": [{"block": "B1", "date": "2025-06-02", "mass": "1.45 kg", "session": "S1"}],
    }
    refused = record_and_undo.record(
        book(tmp_path), rows | {"draws": [{"date": "2025-06-03", "block": "B7", "use": "sold"}]}, "all", DAY
    )
    assert rules(refused) == ["unknown-reference"]
    assert list(tmp_path.glob("*.csv")) == []
    assert [w.log for w in record_and_undo.record(tmp_path, rows, "all", DAY).written] == ["harvests", "loads", "passes", "blocks"]
    assert record_and_undo.undo(tmp_path) == "all"
    assert list(tmp_path.glob("*.csv")) == []


def test_what_was_foreseen_is_taken_over_only_while_the_book_is_what_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder, rows = book(tmp_path), {"harvests": [HARVEST]}
    shown = record_and_undo.foreseen(folder, rows, DAY)
    other = {"harvests": [HARVEST | {"comb": "honeycomb"}]}
    assert rules(record_and_undo.record(folder, other, "other rows than those shown", DAY, judged=shown)) == ["unknown-word"]
    assert record_and_undo.record(folder, rows, "by somebody else meanwhile", DAY).written
    assert rules(record_and_undo.record(folder, rows, "the one shown", DAY, judged=shown)) == ["double-key"]
    assert record_and_undo.undo(folder) == "by somebody else meanwhile"
    monkeypatch.setattr(record_and_undo, "new_findings", lambda *_: pytest.fail("judged twice"))
    assert record_and_undo.record(folder, rows, "the one shown", DAY, judged=shown).written == (record_and_undo.Written("harvests", 2),)


def test_lines_count_the_breaks_inside_cells(tmp_path: Path) -> None:
    book(tmp_path, harvests='harvest,date,comb,mass_kg,notes\r\nA0,2025-05-01,mixed,1,"two\r\nlines"')
    outcome = record_and_undo.record(tmp_path, {"harvests": [HARVEST | {"notes": "a\nb"}, HARVEST | {"harvest": "A2"}]}, "two", DAY)
    assert [w.line for w in outcome.written] == [4, 6]


def test_a_planned_batch_is_poured_in_place(tmp_path: Path) -> None:
    text = "batch,date,candle,count,status,good\nP1,2025-11-01,pillar,10,planned,\nP2,2025-11-08,pillar,12,planned,\n"
    book(tmp_path, batches=text)
    outcome = row_change.change(tmp_path, LOGS["batches"], "P1", {"status": "poured", "good": "9"}, DAY)
    assert [(c.line, c.column, c.old, c.new) for c in outcome.changed] == [
        (2, "status", "planned", "poured"),
        (2, "good", "", "9"),
    ]
    assert (tmp_path / "batches.csv").read_text() == text.replace("10,planned,", "10,poured,9")
    record_and_undo.undo(tmp_path)
    assert (tmp_path / "batches.csv").read_text() == text


@pytest.mark.parametrize(
    ("key", "cells", "rule"),
    [
        ("S9/1", {"residue": "1 kg"}, "no-such-row"),
        ("S1/1", {"residue": "heavy"}, "number-form"),
        ("S1/1", {"date": ""}, "required"),
        ("S1/1", {"pass": "2"}, "double-key"),
        ("S1/1", {"colour": "white"}, "unknown-column"),
    ],
)
def test_a_change_that_would_spoil_the_row_is_refused(
    tmp_path: Path, key: str, cells: dict[str, str], rule: str
) -> None:
    text = "session,pass,date,method,wax_out_kg,residue_kg\nS1,1,2025-05-02,solar,2,\nS1,2,2025-05-02,solar,1,\n"
    assert rules(row_change.change(book(tmp_path, passes=text), LOGS["passes"], key, cells, DAY))[0] == rule
    assert (tmp_path / "passes.csv").read_text() == text


def test_a_row_without_a_name_is_changed_by_its_line(tmp_path: Path) -> None:
    book(
        tmp_path,
        blocks="block,date,mass_kg,supplier\nB1,2025-05-01,1,Ann\n",
        draws="date,block,mass_kg,use\n2025-05-02,B1,0.2,sold\n",
    )
    row_change.change(tmp_path, LOGS["draws"], "2", {"mass": "250 g"}, DAY)
    assert (tmp_path / "draws.csv").read_text() == "date,block,mass_kg,use\n2025-05-02,B1,0.25,sold\n"


def test_a_log_kept_as_a_spreadsheet_is_looked_up_and_never_written(tmp_path: Path) -> None:
    openpyxl = pytest.importorskip("openpyxl", reason="the xlsx extra is not installed")
    book(tmp_path, passes="session,pass,date,method,wax_out_kg\nS1,1,2025-06-02,solar,0.5\n")
    sheet = openpyxl.Workbook()
    sheet.active.append(["harvest", "date", "comb", "mass_lb"])
    sheet.active.append(["A1", date(2025, 6, 1), "cappings", 5.25])
    sheet.save(tmp_path / "harvests.xlsx")
    kept = (tmp_path / "harvests.xlsx").read_bytes()
    assert record_and_undo.record(tmp_path, {"loads": [{"session": "S1", "source": "A1", "mass": "2 lb"}]}, "load", DAY).written
    assert rules(record_and_undo.record(tmp_path, {"loads": [{"session": "S1", "source": "A2"}]}, "load", DAY)) == ["source-not-logged"]
    (tmp_path / "blocks.csv").write_text("block,date,mass_kg,session\nB1,2025-05-02,1,S1\n")
    assert rules(record_and_undo.record(tmp_path, {"loads": [{"session": "S1", "source": "A3"}]}, "load", DAY)) == ["unknown-source"]
    for refused in (
        record_and_undo.record(tmp_path, {"harvests": [HARVEST | {"harvest": "A2"}]}, "harvest", DAY),
        row_change.change(tmp_path, LOGS["harvests"], "A1", {"mass": "6 lb"}, DAY),
    ):
        assert rules(refused) == ["log-unfit"]
        assert "harvests.xlsx is a spreadsheet" in refused.findings[0].message
        assert "save it as harvests.csv" in refused.findings[0].message
    assert (tmp_path / "harvests.xlsx").read_bytes() == kept


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("Harvests 2025\n\nharvest,date,comb,mass_kg\nA0,2025-05-01,mixed,1\n", "delete what stands above"),
        ("harvest,date,comb,mass_kg,mass_g\nA0,2025-05-01,mixed,1,\n", "keep one of them"),
        ("harvest,date,comb,mass_ml\nA0,2025-05-01,mixed,1\n", "measures a volume"),
    ],
)
def test_a_log_that_a_build_could_not_read_is_not_written_into(tmp_path: Path, text: str, words: str) -> None:
    book(tmp_path, harvests=text)
    outcome = record_and_undo.record(tmp_path, {"harvests": [HARVEST]}, "A1", DAY)
    assert rules(outcome) == ["log-unfit"]
    assert words in outcome.findings[0].sentence()
    assert (tmp_path / "harvests.csv").read_text() == text


def test_a_row_is_not_given_another_name_while_others_use_the_old_one(tmp_path: Path) -> None:
    book(
        tmp_path,
        harvests="harvest,date,comb,mass_kg\nA0,2025-05-01,mixed,1\nA1,2025-05-01,mixed,1\n",
        loads="session,source,mass_kg\nS1,harvest A0,1\n",
        passes="session,pass,date,method,wax_out_kg\nS1,1,2025-05-02,solar,0.5\n",
        blocks="block,date,mass_kg,session\nB1,2025-05-02,0.5,S1\n",
    )
    outcome = row_change.change(tmp_path, LOGS["harvests"], "A0", {"harvest": "A9"}, DAY)
    assert [(f.log, f.line, f.rule, str(f.severity)) for f in outcome.findings] == [("loads.csv", 2, "unknown-source", "error")]
    assert not outcome.changed


def test_the_last_wax_taken_away_is_said(tmp_path: Path) -> None:
    book(tmp_path, passes="session,pass,date,method,wax_out_kg\nS1,1,2025-05-02,solar,1\n")
    assert rules(row_change.change(tmp_path, LOGS["passes"], "S1/1", {"wax_out": ""}, DAY)) == ["wax-out-missing"]


def test_a_recording_loads_no_library_that_it_does_not_need(tmp_path: Path) -> None:
    book(tmp_path, harvests="harvest,date,comb,mass_kg\nA0,2025-05-01,mixed,1\n")
    told = (
        "import sys; from datetime import date; from pathlib import Path; from pipeline.recording import record_and_undo; "
        f"done = record_and_undo.record(Path({str(tmp_path)!r}), {{'loads': [{{'session': 'S1', 'source': 'A0'}}]}}, 'load', date(2027, 1, 1)); "
        "assert done.written; print(*{'pandas', 'pandera', 'numpy', 'altair', 'jinja2'} & sys.modules.keys())"
    )
    done = subprocess.run([sys.executable, "-c", told], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == ""


def test_a_later_pass_of_a_session_whose_slumgum_was_loaded_whole_needs_its_residue(tmp_path: Path) -> None:
    book(
        tmp_path,
        passes="session,pass,date,method,wax_out_kg,residue_kg\nS1,1,2025-05-02,solar,1,0.5\nS2,1,2025-05-13,press,0.1,\n",
        loads="session,source,part\nS2,S1,slumgum\n",
    )
    row = {"session": "S1", "pass": "2", "date": "2025-05-04", "method": "solar", "wax_out": "0.9 kg"}
    assert rules(record_and_undo.record(tmp_path, {"passes": [row]}, "pass", DAY)) == ["slumgum-unweighed"]
    assert record_and_undo.record(tmp_path, {"passes": [row | {"residue": "50 g"}]}, "pass", DAY).written


def test_a_changed_cell_is_the_cell_that_was_named(tmp_path: Path) -> None:
    text = 'session,pass,date,method,filter,wax_out_g,residue_g,notes\nS1,1,2026-05-02,solar, "felt, double",1000,200,\n'
    folder = book(tmp_path, passes=text)
    outcome = row_change.change(folder, LOGS["passes"], "S1/1", {"residue_g": "150"}, DAY)
    assert [(c.column, c.old, c.new) for c in outcome.changed] == [("residue", "200", "150")]
    assert (folder / "passes.csv").read_text() == text.replace(",200,", ",150,")


def test_a_count_answers_with_what_the_book_had_and_what_becomes_of_the_difference(tmp_path: Path) -> None:
    book(tmp_path, blocks="block,date,mass_kg,supplier\nB1,2025-05-01,1,Ann\nB2,2025-05-01,2,Ann\n")
    of_block = record_and_undo.record(tmp_path, {"stocktakes": [{"date": "2025-06-01", "item": "B1", "mass": "900 g"}]}, "count", DAY)
    assert "block B1: counted 900 g, the book has 1.000 kg: 100 g less; from now on the block weighs what was counted" in of_block.said
    of_shelf = record_and_undo.record(tmp_path, {"stocktakes": [{"date": "2025-06-02", "mass": "3 kg"}]}, "count", DAY)
    assert "the shelf: counted 3.000 kg, the book has 2.900 kg: 100 g more; the difference is not placed in any block" in of_shelf.said


@pytest.mark.parametrize("typed", ["2:30", "2h30m later", "1 fortnight"])
def test_a_time_that_cannot_be_read_is_told_how_to_be_written(tmp_path: Path, typed: str) -> None:
    row = {"session": "S1", "pass": "9", "date": "2025-07-01", "method": "solar", "wax_out": "1 kg", "time": typed}
    outcome = record_and_undo.record(book(tmp_path), {"passes": [row]}, "a pass", DAY)
    assert [f.fix for f in outcome.findings if f.column == "time"] == ["Write minutes, such as 150"]


def test_a_count_says_what_the_book_had_and_what_becomes_of_the_difference(tmp_path: Path) -> None:
    """Harvest: 5 kg less 2 loaded; candles: 12 + 13 poured less 3 sold; the latest count of the day is the last in the file."""
    ridge = write(
        tmp_path, harvests="harvest,date,comb,mass_kg\nA1,2026-05-01,cappings,5\nA2,2026-05-01,mixed,4",
        loads="session,source,mass_kg\nS1,A1,2", passes="session,pass,date,method,wax_out_kg\nS1,1,2026-06-01,solar,1",
        blocks="block,date,mass_kg,session\nB1,2026-06-01,1,S1", blends="blend,wax_pct\npure,100",
        candles="candle,form,blend,fill_mass_g\ntaper,dipped,pure,30",
        batches="batch,date,candle,count,status,good\nP1,2026-07-01,taper,12,poured,12\nP2,2026-07-02,taper,14,poured,13",
        sales="date,candle,count\n2026-07-03,taper,3", stocktakes="date,item,mass_kg,count\n",
    )  # fmt: skip
    day = {"date": "2026-07-04"}
    counts = [day | {"item": "A1", "mass": "2.5 kg"}, day | {"item": "A2", "mass": "0 kg"}, day | {"item": "taper", "count": "20"}]
    assert record_and_undo.foreseen(ridge, {"stocktakes": [*counts, day | {"item": "taper", "count": "20"}]}, DAY).outcome.said == (
        "harvest A1: counted 2.500 kg, the book has 3.000 kg: 500 g less; from now on so much of it waits to be rendered",
        "harvest A2: counted 0.000 kg, the book has 4.000 kg: 4.000 kg less; the harvest is closed: nothing of it waits, and what is "
        "missing counts as lost in store",
        "candle taper: counted 20, the book has 22: 2 less; from now on so many are on the shelf",
        "candle taper: counted 20, as the book has it",
    )
