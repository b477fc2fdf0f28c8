"""Ten old sheets as different as people are: taken over right, or asked about, never wrong in silence.

The sheets are invented; the sums in them were worked out by hand.
"""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from tests.books import Ran, run, run_once, write_kept

LB = 453.59237  # international pound, exact since 1959


@pytest.fixture
def book(tmp_path: Path) -> Path:
    return write_kept(tmp_path / "book")


def sheet(tmp_path: Path, text: str, name: str = "old.csv") -> Path:
    path = tmp_path / name
    path.write_text("\n".join(line.strip() for line in text.strip().splitlines()) + "\n", "utf-8")
    return path


def answers(tmp_path: Path, **told: str) -> Path:
    path = tmp_path / "answers.toml"
    path.write_text("".join(f'"{key}" = "{value}"\n' for key, value in told.items()), "utf-8")
    return path


def taken(book: Path, file: Path, *more: object) -> dict[str, Any]:
    ran = run("import", book, file, "--yes", "--json", *more)
    assert ran.code == 0, ran.out + ran.err
    return ran.json  # type: ignore[no-any-return]


def asked(ran: Ran) -> set[str]:
    assert ran.code == 2
    assert ran.json["written"] == []
    return {q["key"] for q in ran.json["questions"]}


def sessions(book: Path) -> list[tuple[float, float | None]]:
    """Grams of comb and of wax of each session, in the order of the log."""
    rows = run_once("yields", book, "--by", "session", "--json").json
    return [(round(r["loaded_g"], 1), round(r["wax_g"], 1)) for r in rows]


def log(book: Path, name: str) -> list[dict[str, str]]:
    with (book / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


KATH = """
    My wax 2019,,,,
    ,,,,
    Date,Comb lbs,Wax lbs,Slumgum,Notes
    5/14/2019,12.5,3.25,6,first run of the year
    6/2/2019,8,2.1,4.5,
    7/25/2019,6.25,4.75,,cappings
    TOTAL,26.75,10.1,10.5,
    """


def test_one_row_a_session_in_pounds_with_a_title_and_a_total(tmp_path: Path, book: Path) -> None:
    file = sheet(tmp_path, KATH)
    assert asked(run("import", book, file, "--yes", "--json")) == {"comb", "method"}
    made = taken(book, file, "--map", answers(tmp_path, comb="brood comb", method="steam"))
    assert made["rows"] == {"harvests": 3, "loads": 3, "passes": 3}
    assert [(s["line"], "sums up" in s["why"]) for s in made["skipped"]] == [(7, True)]
    assert {(m["column"], m["log"], m["field"], m["unit"]) for m in made["mapping"]} >= {
        ("Comb lbs", "harvests", "mass", "lb"), ("Wax lbs", "passes", "wax_out", "lb"), ("Slumgum", "passes", "residue", "lb"),
    }  # fmt: skip
    assert sessions(book) == [(round(c * LB, 1), round(w * LB, 1)) for c, w in ((12.5, 3.25), (8, 2.1), (6.25, 4.75))]
    assert [r["date"] for r in log(book, "passes")] == ["2019-05-14", "2019-06-02", "2019-07-25"]


def test_the_same_file_grown_gives_its_new_rows_only_and_undo_takes_all_back(tmp_path: Path, book: Path) -> None:
    before = {f.name: f.read_bytes() for f in book.glob("*.csv")}
    file = sheet(tmp_path, KATH)
    taken(book, file, "--map", answers(tmp_path, comb="brood comb", method="steam"))
    assert taken(book, file)["rows"] == {}
    grown = sheet(tmp_path, KATH.replace("TOTAL", "8/1/2019,4,1,2,late\n8/1/2019,4,1,2,late\nTOTAL"))
    made = taken(book, grown)  # the answers were kept beside the book
    assert made["rows"] == {"harvests": 2, "loads": 2, "passes": 2}
    assert len(sessions(book)) == 5
    run("undo", book)
    assert len(sessions(book)) == 3
    assert taken(book, grown)["rows"] == {"harvests": 2, "loads": 2, "passes": 2}
    run("undo", book)
    run("undo", book)
    assert {f.name: f.read_bytes() for f in book.glob("*.csv")} == before


def test_passes_side_by_side_in_kilograms_day_first(tmp_path: Path, book: Path) -> None:
    file = sheet(
        tmp_path,
        """
        Datum;Sorte;Wie;in 1 kg;out 1 kg;in 2 kg;out 2 kg;Trester kg
        14.05.2020;brood comb;steam;10,50;3,20;3,18;3,05;6,9
        02.06.2020;cappings;solar;2,40;1,95;;;0,3
        Summe;;;12,90;5,15;3,18;3,05;7,2
        """,
    )
    made = taken(book, file)
    assert made["rows"] == {"harvests": 2, "loads": 2, "passes": 3}
    assert sessions(book) == [(10500, 3050), (2400, 1950)]
    first, second, third = log(book, "passes")
    assert (first["method"], second["pass"], third["method"]) == ("steam", "2", "solar")
    assert [r["comb"] for r in log(book, "harvests")] == ["brood comb", "cappings"]


def test_a_total_that_does_not_say_so_is_no_session(tmp_path: Path, book: Path) -> None:
    """The classic fault: the last line has a date and the sums of the lines above."""
    file = sheet(
        tmp_path,
        """
        date,kind,method,comb (kg),wax (kg)
        2021-05-01,brood comb,steam,10,3
        2021-06-01,brood comb,steam,8,2.5
        2021-07-01,brood comb,steam,6,2
        2021-12-31,brood comb,steam,24,7.5
        """,
    )
    made = taken(book, file)
    assert made["rows"]["passes"] == 3
    assert [(s["line"], "sums of the 3 lines" in s["why"]) for s in made["skipped"]] == [(5, True)]


def test_one_row_a_pass_with_two_header_lines_and_merged_cells(tmp_path: Path, book: Path) -> None:
    work = openpyxl.Workbook()
    page = work.active
    page.append(["Wax journal"])
    page.append(["Session", "Date", "Kind", "How", "Pass", "Weight", None, None])
    page.append([None, None, None, None, None, "in lb", "out lb", "dregs lb"])
    from datetime import datetime

    page.append(["A1", datetime(2022, 5, 1), "old comb", "hot water", 1, 20, 6, 13])
    page.append([None, None, None, None, 2, 6, 5.8, 0.1])
    page.append(["A2", datetime(2022, 6, 1), "caps", "sun", 1, 5, 4, 0.8])
    for cells in ("A4:A5", "B4:B5", "C4:C5", "D4:D5", "F2:H2"):
        page.merge_cells(cells)
    page["A6"].fill = openpyxl.styles.PatternFill("solid", "FFFF00")
    work.save(tmp_path / "journal.xlsx")
    made = taken(book, tmp_path / "journal.xlsx", "--map", answers(tmp_path, comb="brood comb", method="water bath"))
    assert made["rows"] == {"harvests": 2, "loads": 2, "passes": 3}
    assert sessions(book) == [(round(20 * LB, 1), round(5.8 * LB, 1)), (round(5 * LB, 1), round(4 * LB, 1))]
    assert [(r["session"], r["pass"], r["date"], r["method"]) for r in log(book, "passes")] == [
        ("A1", "1", "2022-05-01", "water bath"), ("A1", "2", "2022-05-01", "water bath"), ("A2", "1", "2022-06-01", "solar"),
    ]  # fmt: skip
    assert [r["comb"] for r in log(book, "harvests")] == ["brood comb", "cappings"]


def test_a_list_of_blocks_asks_where_they_are_from(tmp_path: Path, book: Path) -> None:
    file = sheet(tmp_path, "Block no,Date,Weight,Color,Shelf\nB1,2020-05-01,2 lb 3 oz,yellow,attic\nB2,2020-05-02,1 lb,dark yellow,attic")
    assert asked(run("import", book, file, "--yes", "--json")) == {"supplier"}
    taken(book, file, "--map", answers(tmp_path, supplier="before this book"))
    assert {b["block"]: round(b["mass_g"], 1) for b in run("stock", book, "--json").json["blocks"]} == {
        "B1": round(35 / 16 * LB, 1), "B2": round(LB, 1),
    }  # fmt: skip


def test_dates_and_numbers_that_could_be_two_things_are_asked_once(tmp_path: Path, book: Path) -> None:
    file = sheet(tmp_path, "When;Comb g;Wax g;Type;Method\n5/6/2021;4,230;1,120;brood comb;steam\n7/8/2021;3,150;1,010;brood comb;steam")
    assert asked(run("import", book, file, "--yes", "--json")) == {"dates", "decimal"}
    assert log(book, "passes") == [] if (book / "passes.csv").exists() else True
    taken(book, file, "--map", answers(tmp_path, dates="day-first", decimal="dot"))
    assert sessions(book) == [(4230, 1120), (3150, 1010)]
    assert [r["date"] for r in log(book, "passes")] == ["2021-06-05", "2021-08-07"]


def test_years_as_headings_between_rows_and_days_without_a_year(tmp_path: Path, book: Path) -> None:
    file = sheet(
        tmp_path,
        """
        date,comb kg,wax kg,yield %,type,method
        2020,,,,,
        May 14,5,1.5,30,brood comb,steam
        June 3,4,1,25,brood comb,steam
        2021,,,,,
        May 20,6,2,33,brood comb,press
        """,
    )
    made = taken(book, file)
    assert [r["date"] for r in log(book, "passes")] == ["2020-05-14", "2020-06-03", "2021-05-20"]
    assert {m["column"]: m["log"] for m in made["mapping"]}["yield %"] is None
    assert [s["line"] for s in made["skipped"]] == [2, 5]


def test_pounds_and_ounces_in_two_columns(tmp_path: Path, book: Path) -> None:
    file = sheet(tmp_path, "date,comb lb,oz,wax lb,oz,comb type,how\n2022-05-01,5,4,1,12,cappings,solar\n2022-06-01,3,0,1,1,cappings,solar")
    taken(book, file)
    assert sessions(book) == [(round(5.25 * LB, 1), round(1.75 * LB, 1)), (round(3 * LB, 1), round(17 / 16 * LB, 1))]


def test_a_word_for_comb_that_nobody_knows_is_asked(tmp_path: Path, book: Path) -> None:
    file = sheet(tmp_path, "date,kind,how,comb kg,wax kg\n2022-05-01,brood comb,steam,5,1.5\n2022-06-01,frass cake,steam,3,1\n2022-07-01,brood,steam,3,1")
    assert asked(run("import", book, file, "--yes", "--json")) == {"comb.frass cake"}
    path = tmp_path / "answers.toml"
    path.write_text('[comb]\n"frass cake" = "mixed"\n', "utf-8")
    taken(book, file, "--map", path)
    assert [r["comb"] for r in log(book, "harvests")] == ["brood comb", "mixed", "brood comb"]


def test_a_weight_without_any_unit_is_asked_and_a_foreign_column_is_listed_as_left_out(tmp_path: Path, book: Path) -> None:
    file = sheet(tmp_path, "date,kind,how,comb,wax,bee mood\n2022-05-01,brood comb,steam,5,1.5,grumpy\n2022-06-01,brood comb,steam,3,1,")
    assert asked(run("import", book, file, "--yes", "--json")) == {"units.comb", "units.wax"}
    path = tmp_path / "answers.toml"
    path.write_text('[units]\ncomb = "kg"\nwax = "kg"\n', "utf-8")
    made = taken(book, file, "--map", path)
    assert {m["column"]: m["log"] for m in made["mapping"]}["bee mood"] is None
    assert sessions(book) == [(5000, 1500), (3000, 1000)]


def test_weights_with_no_date_in_a_merged_cell_are_asked_about(tmp_path: Path, book: Path) -> None:
    file = sheet(tmp_path, "date,kind,how,comb kg,wax kg\n2022-05-01,brood comb,steam,5,1.5\n,brood comb,steam,4,1.1\n2022-07-01,brood comb,steam,3,1")
    assert asked(run("import", book, file, "--yes", "--json")) == {"blank_dates"}
    taken(book, file, "--map", answers(tmp_path, blank_dates="as above"))
    assert [r["date"] for r in log(book, "passes")] == ["2022-05-01", "2022-05-01", "2022-07-01"]


def test_a_file_that_is_no_sheet_is_a_sentence(tmp_path: Path, book: Path) -> None:
    (tmp_path / "x.csv").write_bytes(b"\0\1\2")
    assert run("import", book, tmp_path / "x.csv", "--yes").code == 2
    assert run("import", book, tmp_path / "none.csv", "--yes").code == 2
    (tmp_path / "y.xlsx").write_bytes(b"PK nonsense")
    assert run("import", book, tmp_path / "y.xlsx", "--yes").code == 2
    (tmp_path / "bad.toml").write_text("[[[", "utf-8")
    assert run("import", book, sheet(tmp_path, KATH), "--map", tmp_path / "bad.toml").code == 2
