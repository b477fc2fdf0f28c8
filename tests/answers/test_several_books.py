"""Several books at once: each stays its own, ids never mix."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import pytest

from pipeline import flow
from pipeline.answers import questions_to_several_books
from tests.books import run, run_once, write

SMALL = {
    "harvests": "harvest,date,comb,mass_g\nH1,2025-05-01,brood comb,4000",
    "loads": "session,source,mass_g\nR25-1,H1,4000",
    "passes": "session,pass,date,method,wax_out_g,residue_g\nR25-1,1,2025-06-01,steam,1000,2500",
}


@pytest.fixture
def books(built_demo: Path, tmp_path: Path) -> tuple[Path, Path]:
    """One whose figures are kept, and one that was never asked."""
    return built_demo, write(tmp_path / "small", **SMALL)


@pytest.mark.parametrize("words", [("yields", "--by", "session"), ("yields",), ("losses", "--by", "method"), ("flow", "--by", "season")])
def test_every_row_bears_its_book_and_is_the_row_of_that_book_alone(words: tuple[str, ...], books: tuple[Path, Path]) -> None:
    command, *rest = words
    together = run(command, *books, *rest, "--json").json
    assert together == [{"book": b.name} | row for b in books for row in run_once(command, b, *rest, "--json").json]
    assert "small" in run(command, *books, *rest).out


def test_trend_is_a_list_of_books_none_of_which_was_asked_before(built_demo: Path, tmp_path: Path) -> None:
    derived = shutil.ignore_patterns(".combtally", "*.duckdb", "reports")
    books = Path(shutil.copytree(built_demo, tmp_path / "demo", ignore=derived)), write(tmp_path / "small", **SMALL)
    found = run("trend", *books, "--json").json
    assert [{k: v for k, v in one.items() if k != "book"} for one in found] == [run_once("trend", b, "--json").json for b in books]
    assert [one["book"] for one in found] == ["demo", "small"]


def test_what_several_books_answered_is_kept_until_a_book_changes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    books = [write(tmp_path / name, **SMALL) for name in ("a", "b", "c")]
    worked_out: list[str] = []

    def counted(questions: object, folder: Path, *rest: Any) -> Any:
        worked_out.append(folder.name)
        return flow.answering(questions, folder, *rest)

    monkeypatch.setattr(questions_to_several_books, "answering", counted)
    first = run("yields", *books, "--by", "comb")
    assert (first.code, worked_out) == (0, ["a", "b", "c"])
    assert run("yields", *books, "--by", "comb").out == first.out
    assert len(worked_out) == 3
    passes = books[1] / "passes.csv"
    passes.write_text(passes.read_text("utf-8").replace("1000,2500", "1200,2500"), "utf-8")
    again = run("yields", *books, "--by", "comb", "--json").json
    assert worked_out[3:] == ["b"]
    assert [r["yield"] for r in again] == [0.25, 0.3, 0.25]


def test_many_books_are_shared_among_processes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    books = [write(tmp_path / name, **SMALL) for name in ("a", "b")]
    alone = run("yields", *books, "--json").out
    for book in books:
        shutil.rmtree(book / ".combtally")
    monkeypatch.setattr(questions_to_several_books, "_WORTH_PROCESSES", 2)
    assert run("yields", *books, "--json").out == alone
    assert all((book / ".combtally" / "beside_others").is_dir() for book in books)


def test_two_folders_of_one_name_are_called_by_their_paths(tmp_path: Path) -> None:
    one, other = (write(tmp_path / side / "wax", **SMALL) for side in ("left", "right"))
    assert [r["book"] for r in run("yields", one, other, "--json").json] == [str(one), str(other)]


def test_one_bad_book_stops_all_unless_its_rows_may_be_left_out(books: tuple[Path, Path]) -> None:
    (books[1] / "harvests.csv").write_text("harvest,date,comb,mass_g\nH1,never,brood comb,4000\n", "utf-8")
    ran = run("yields", *books, "--json")
    assert (ran.code, ran.out) == (1, "")
    assert run("yields", *books, "--json", "--leave-out").code == 0


def test_compare_writes_one_page(books: tuple[Path, Path], tmp_path: Path) -> None:
    twin = Path(shutil.copytree(books[0], tmp_path / "twin", ignore=shutil.ignore_patterns("reports")))
    ran = run("compare", books[0], twin, books[1], "--out", tmp_path / "out", "--json")
    assert ran.code == 0, ran.err
    page = Path(ran.json["page"]).read_text("utf-8")
    assert "No difference between the books that their sessions show" in page
    assert {s["verdict"] for _, standings in ran.json["yields"] for s in standings} <= {"none", "few"}
    assert run("compare", books[0]).code == 2
