"""Sheets as different as people are, invented before their reader was looked at: taken over right, or asked about, never wrong in silence.

Each is read, proposed and worked out into rows, without a book on disk; ``asked`` are the keys of the questions still open.
"""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from openpyxl.styles import PatternFill

from pipeline.book.book_settings import Book
from pipeline.contract.quantities import Refusal
from pipeline.old_records.prepared_import import Prepared, prepare
from pipeline.old_records.proposed_rows import InTheBook
from tests.old_records.ods import ods

STEAM = {"method": "steam"}


def read(folder: Path, sheet: str | list[list[Any]], **answers: str) -> Prepared | Refusal:
    """The sheet as text, or as the rows of a workbook, with these answers."""
    file = folder / ("sheet.csv" if isinstance(sheet, str) else "sheet.xlsx")
    if isinstance(sheet, str):
        file.write_text(sheet, "utf-8")
    else:
        book = openpyxl.Workbook()
        for row in sheet:
            book.active.append(row)
        book.save(file)
    return prepare(file, answers, InTheBook(Book(folder, "test"), frozenset(), frozenset()))


def sessions(prepared: Prepared) -> list[tuple[str, ...]]:
    """A line for each session: day, comb, what went in, then each pass's wax."""
    rows = prepared.rows
    combs = {load["session"]: h for h in rows.get("harvests", []) for load in rows.get("loads", []) if load["source"] == h["harvest"]}
    told: dict[str, tuple[str, ...]] = {}
    for p in rows.get("passes", []):
        comb = combs.get(p["session"], {})
        told.setdefault(p["session"], (p["date"], comb.get("comb", ""), comb.get("mass", "")))
        told[p["session"]] += (p["wax_out"],)
    return list(told.values())


def asked(prepared: Prepared) -> list[str]:
    return [q.key for q in prepared.proposal.questions]


def left_out(prepared: Prepared) -> list[int]:
    return [s.line for s in prepared.taken.skipped]


GERMAN = """Wachsbuch Imkerei Lindner 2025
Datum;Wabenart;Waben (kg);Wachs (kg);Trester (kg);Bemerkung
14.05.2025;Deckelwachs;3,20;2,55;0,40;
28.05.2025;Altwaben;8,40;2,10;4,90;sehr dunkel
Summe;;11,60;4,65;5,30;
"""
FRENCH = """Date;Nature;Poids brut (kg);Cire obtenue (kg);Déchets (kg);Procédé;Remarques
03/06/2025;opercules;4,2;3,4;0,5;solaire;beau temps
21/06/2025;vieux cadres;9,0;2,2;5,1;vapeur;
Total;;13,2;5,6;5,6;;
"""
US = """Date,Comb lbs,Wax lbs,Slumgum,Notes
6/14/25,12.5,3.25,6,old brood
7/2/25,4,3.1,0.5,cappings
,16.5,6.35,6.5,
"""
SUBTOTALS = """Date,Type,Comb (kg),Wax (kg)
2024-06-01,cappings,3.0,2.4
2024-07-15,brood,8.0,2.0
2024,,11.0,4.4
2025-06-03,cappings,4.0,3.2
2025-08-01,brood,7.0,1.6
2025,,11.0,4.8
Grand total,,22.0,9.2
"""
OUNCES = """When,What,In 1,Out 1,In 2,Out 2,In 3,Out 3
May 14 2025,cappings,7 lb 2 oz,5 lb 10 oz,5 lb 10 oz,5 lb 8 oz,,
June 3 2025,brood,20 lb,5 lb,5 lb,4 lb 12 oz,4 lb 12 oz,4 lb 11 oz
"""
LONG = """Batch no\tMelt\tDate\tHow\tBefore (kg)\tAfter (kg)
17\t1\t2025-06-01\tsteam\t8.0\t2.2
17\t2\t2025-06-02\twater bath\t2.2\t2.1
18\t1\t2025-07-01\tsolar\t3.0\t2.4
"""
TWO_TABLES = """Season 2024
Date,Comb type,Comb kg,Wax kg
2024-06-01,cappings,3.0,2.4

Season 2025
Date,Comb type,Comb kg,Wax kg
2025-06-03,cappings,4.0,3.2
2025-08-01,brood comb,7.0,1.6
"""
RUNNING = """Date,Comb type,Raw kg,Wax kg,Total wax so far
2025-06-03,cappings,4.0,3.2,3.2
2025-08-01,brood comb,7.0,1.6,4.8
"""
UNSAID_TOTAL = """date;hives;cappings kg;wax kg
2025-06-03;1+2;4,0;3,2
2025-08-01;3;3,0;2,3
2025-12-31;;7,0;5,5
"""


@pytest.mark.parametrize(
    ("sheet", "answers", "expected", "lines"),
    [
        pytest.param(GERMAN, STEAM, [("2025-05-14", "cappings", "3.2 kg", "2.55 kg"), ("2025-05-28", "brood comb", "8.4 kg", "2.1 kg")], [5], id="german"),
        pytest.param(FRENCH, {}, [("2025-06-03", "cappings", "4.2 kg", "3.4 kg"), ("2025-06-21", "brood comb", "9 kg", "2.2 kg")], [4], id="french"),
        pytest.param(
            US, STEAM | {"comb": "mixed"}, [("2025-06-14", "mixed", "12.5 lb", "3.25 lb"), ("2025-07-02", "mixed", "4 lb", "3.1 lb")], [4], id="us, total unsaid"
        ),
        pytest.param(
            SUBTOTALS, STEAM,
            [("2024-06-01", "cappings", "3 kg", "2.4 kg"), ("2024-07-15", "brood comb", "8 kg", "2 kg"), ("2025-06-03", "cappings", "4 kg", "3.2 kg"), ("2025-08-01", "brood comb", "7 kg", "1.6 kg")],
            [4, 7, 8], id="subtotals by year",
        ),
        pytest.param(
            OUNCES, STEAM,
            [("2025-05-14", "cappings", "7 lb 2 oz", "5 lb 10 oz", "5 lb 8 oz"), ("2025-06-03", "brood comb", "20 lb", "5 lb", "4 lb 12 oz", "4 lb 11 oz")],
            [], id="passes side by side",
        ),
        pytest.param(LONG, {"comb": "brood comb"}, [("2025-06-01", "brood comb", "8 kg", "2.2 kg", "2.1 kg"), ("2025-07-01", "brood comb", "3 kg", "2.4 kg")], [], id="a line a pass"),
        pytest.param(
            TWO_TABLES, STEAM, [("2024-06-01", "cappings", "3 kg", "2.4 kg"), ("2025-06-03", "cappings", "4 kg", "3.2 kg"), ("2025-08-01", "brood comb", "7 kg", "1.6 kg")], [5, 6], id="two tables"
        ),
        pytest.param(RUNNING, STEAM, [("2025-06-03", "cappings", "4 kg", "3.2 kg"), ("2025-08-01", "brood comb", "7 kg", "1.6 kg")], [], id="running total"),
        pytest.param(UNSAID_TOTAL, STEAM | {"comb": "cappings"}, [("2025-06-03", "cappings", "4 kg", "3.2 kg"), ("2025-08-01", "cappings", "3 kg", "2.3 kg")], [4], id="total with a date"),
    ],
)  # fmt: skip
def test_taken_over_right(sheet: str, answers: dict[str, str], expected: list[tuple[str, ...]], lines: list[int], tmp_path: Path) -> None:
    found = read(tmp_path, sheet, **answers)
    assert isinstance(found, Prepared)
    assert (sessions(found), left_out(found), asked(found)) == (expected, lines, [])


@pytest.mark.parametrize(
    ("sheet", "keys"),
    [
        pytest.param("Date,Comb,Comb weight kg,Wax weight kg\n03/04/2025,cappings,3.0,2.4\n05/06/2025,cappings,8.0,2.1\n", ["dates", "method"], id="day or month first"),
        pytest.param("Date;Comb;Comb g;Wax g\n2025-06-01;cappings;3,200;2,600\n", ["decimal", "method"], id="thousands or decimals"),
        pytest.param("Date,Comb type,Comb,Wax\n2025-06-03,cappings,4.0 kg,7 lb\n2025-08-09,cappings,5,1.2\n", ["units.Comb", "units.Wax", "method"], id="some without a unit"),
        pytest.param("Wax 2025\nDay,Kind,Comb (lb),Wax (lb)\n14 Jun,cappings,7,5.5\n3 Sep,brood comb,20,4.5\n", ["year", "method"], id="no year"),
        pytest.param(US, ["comb", "method"], id="nothing is asked about a total"),
    ],
)
def test_asked_about(sheet: str, keys: list[str], tmp_path: Path) -> None:
    found = read(tmp_path, sheet)
    assert isinstance(found, Prepared)
    assert asked(found) == keys


def test_two_lines_of_headings_that_were_merged(tmp_path: Path) -> None:
    sheet = [
        ["My wax records"], [None, "First melt", None, "Second melt", None, None], ["Date", "In (g)", "Out (g)", "In (g)", "Out (g)", "Comb"],
        [date(2025, 6, 14), 5200, 1400, 1400, 1350, "brood comb"], [date(2025, 7, 2), 3100, 2500, 2500, 2440, "cappings"], ["Totals", 8300, 3900, 3900, 3790],
    ]  # fmt: skip
    found = read(tmp_path, sheet, **STEAM)
    assert isinstance(found, Prepared)
    assert sessions(found) == [("2025-06-14", "brood comb", "5200 g", "1400 g", "1350 g"), ("2025-07-02", "cappings", "3100 g", "2500 g", "2440 g")]
    assert left_out(found) == [6]


def test_colours_that_mean_something_are_not_read_and_the_comb_is_asked(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    for n, row in enumerate([["Date", "Comb kg", "Wax kg"], [date(2025, 5, 3), 3.0, 2.4], [date(2025, 6, 9), 8.0, 2.1]], 1):
        book.active.append(row)
        book.active[f"A{n}"].fill = PatternFill("solid", fgColor="FFFF00")
    book.save(tmp_path / "sheet.xlsx")
    found = prepare(tmp_path / "sheet.xlsx", {}, InTheBook(Book(tmp_path, "test"), frozenset(), frozenset()))
    assert isinstance(found, Prepared)
    assert asked(found) == ["comb", "method"]


def test_a_list_of_blocks_keeps_its_numbers(tmp_path: Path) -> None:
    found = read(tmp_path, "No.,Poured on,Weight oz,Colour,From melt,Gone to\n1,2025-06-02,16.2,yellow,17,candles\n2,2025-06-02,15.9,yellow,17,\n")
    assert isinstance(found, Prepared)
    assert [(b["block"], b["mass"], b["session"]) for b in found.rows["blocks"]] == [("1", "16.2 oz", "17"), ("2", "15.9 oz", "17")]
    assert [c.heading for c in found.proposal.columns if not c.meaning] == ["Gone to"]
    assert {found.proposal.place(c) for c in found.proposal.columns if c.meaning in ("date", "session")} == {("blocks", "date"), ("blocks", "session")}


def test_a_dutch_sheet_of_open_document(tmp_path: Path) -> None:
    ods(tmp_path / "was.ods", [["Wasopbrengst"], [], ["Datum", "Soort raat", "Raat kg", "Was kg"], [date(2025, 6, 1), "zegelwas", 3.5, 2.8], [date(2025, 6, 20), "broedraat", 9.0, 2.3], ["Totaal", None, 12.5, 5.1]])
    found = prepare(tmp_path / "was.ods", STEAM, InTheBook(Book(tmp_path, "test"), frozenset(), frozenset()))
    assert isinstance(found, Prepared)
    assert sessions(found) == [("2025-06-01", "cappings", "3.5 kg", "2.8 kg"), ("2025-06-20", "brood comb", "9 kg", "2.3 kg")]
    assert left_out(found) == [6]


@pytest.mark.parametrize(("heading", "cell"), [("Wax %", "80"), ("Yield wax", "80"), ("Honey (lb)", "60")])
def test_what_is_no_weight_of_wax_or_comb_is_left_out(heading: str, cell: str, tmp_path: Path) -> None:
    found = read(tmp_path, f"Date,Kind,Comb kg,{heading}\n2025-06-03,cappings,4.0,{cell}\n")
    assert isinstance(found, Prepared)
    (column,) = (c for c in found.proposal.columns if c.heading == heading)
    assert column.meaning is None
    assert column.why


@pytest.mark.parametrize(
    "sheet",
    [
        pytest.param("Wax notes\n2025-06-01 3.2 kg cappings -> 2.6 kg wax\n2025-06-20 8 kg old brood -> 1.9 kg wax\n", id="notes from a phone"),
        pytest.param("Date,2025-06-01,2025-06-20\nComb kg,3.2,8\nWax kg,2.6,1.9\nType,cappings,brood\n", id="days side by side"),
    ],
)
def test_what_is_no_table_is_refused_with_what_to_do(sheet: str, tmp_path: Path) -> None:
    found = read(tmp_path, sheet)
    assert isinstance(found, Refusal)
    assert "understood as a weight" in found.sentence()
    assert "one line for each melt" in found.sentence()
