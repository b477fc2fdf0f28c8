"""The run as a whole: what is left out, what a killed or failed build leaves, what the commands answer."""

from __future__ import annotations

import os
import resource
import shutil
import subprocess
import sys
import tomllib
from datetime import date
from functools import partial
from pathlib import Path
from random import Random

import pytest

from pipeline import flow
from pipeline.contract.findings import MachineFault, has_errors
from pipeline.contract.log_columns import LOGS
from pipeline.database import findings_and_origin_tables, settings_tables
from pipeline.database.connection import Warehouse
from pipeline.database.shipped_queries import queries
from tests import build_kills
from tests.books import ROOT, TODAY, kept_rows, run, write
from tests.conftest import SEED

DEMO = ROOT / "data" / "demo"
PERANOVICH = {
    # Old dirty combs, 838.8 g a run, two runs each: steam 24.45 %, solar 14.5 %, water bath 7.25 % of comb mass.
    # Peranovich et al., UNESP Botucatu, conference abstract. The single runs are ours, about the published means.
    "harvests": "harvest,date,comb,mass_g\n" + "".join(f"H{n},2020-01-01,brood comb,838.8\n" for n in range(1, 7)),
    "loads": "session,source\n" + "".join(f"R{n},H{n}\n" for n in range(1, 7)),
    "passes": "session,pass,date,method,wax_out_g\n"
    + "".join(
        f"R{n},1,2020-01-02,{method},{838.8 * share:.6f}\n"
        for n, (method, share) in enumerate(
            [("steam", 0.2345), ("steam", 0.2545), ("solar", 0.14), ("solar", 0.15), ("water bath", 0.07), ("water bath", 0.075)], 1
        )
    ),
}  # fmt: skip


def test_the_published_comparison_of_methods(tmp_path: Path) -> None:
    rows = run("yields", write(tmp_path, **PERANOVICH), "--by", "method", "--json").json
    assert {r["method"]: round(r["yield"], 6) for r in rows} == {"steam": 0.2445, "solar": 0.145, "water bath": 0.0725}


def test_left_out_rows_take_what_hangs_on_them_and_their_grams_are_told(tmp_path: Path) -> None:
    book = write(
        tmp_path,
        harvests="harvest,date,comb,mass_g\nH1,2025-05-01,cappings,1000\nH2,2025-05-01,cappings,1000",
        loads="session,source,mass_g\nS1,H1,1000\nS2,H9,700\n",
        passes="session,pass,date,method,wax_out_g\nS1,1,2025-05-02,steam,800\nS2,1,2025-05-02,steam,500",
        blocks="block,date,mass_g,session\nB1,2025-05-03,790,S1\nB2,2025-05-03,490,S2",
        draws="date,block,mass_g,use\n2025-06-01,B1,90,sold\n2025-06-01,B2,90,sold",
    )
    refused = run("yields", book)
    assert refused.code == 1
    assert "H9" in refused.err
    assert refused.out == ""
    went_on = run("yields", book, "--leave-out", "--json")
    assert went_on.code == 0
    assert [(r["loaded_g"], r["wax_g"]) for r in went_on.json] == [(1000, 790)]
    for told in ("1 of 2 rows of loads (700 g)", "1 of 2 rows of passes (500 g)", "1 of 2 rows of blocks (490 g)", "1 of 2 rows of draws (90 g)"):
        assert told in went_on.err
    assert run("stock", book, "--leave-out", "--json").json["total_g"] == 700


def test_grams_read_are_grams_loaded_and_grams_left_out(tmp_path: Path) -> None:
    book = shutil.copytree(DEMO, tmp_path / "b")
    whole = flow.load(book, date.fromisoformat(TODAY))
    (book / "harvests.csv").write_text((book / "harvests.csv").read_text("utf-8").replace("2024-", "2024/", 2), "utf-8")
    part = flow.load(book, date.fromisoformat(TODAY))
    for log in ("harvests", "loads", "blocks", "draws"):
        left_out = sum(o.mass_g for o in part.left_out if o.log == log)
        assert grams(part.warehouse, log) + left_out == pytest.approx(grams(whole.warehouse, log), abs=1e-6)
        assert sum(o.rows for o in part.left_out if o.log == log) + count(part.warehouse, log) == whole.rows[log]
    assert part.left_out


def grams(warehouse: Warehouse, log: str) -> float:
    return float(warehouse.rows(f'SELECT coalesce(sum(mass_g), 0) AS g FROM "{log}"')[0]["g"])


def count(warehouse: Warehouse, log: str) -> int:
    return int(warehouse.rows(f'SELECT count(*) AS n FROM "{log}"')[0]["n"])


@pytest.mark.parametrize("first", range(5))
def test_any_log_may_be_missing(tmp_path: Path, first: int) -> None:
    book = shutil.copytree(DEMO, tmp_path / "b")
    for log in [*LOGS][first::4] if first < 4 else LOGS:
        (book / f"{log}.csv").unlink()
    loaded = flow.load(book, date.fromisoformat(TODAY))
    assert not has_errors(loaded.findings), [f.sentence() for f in loaded.findings]


def test_a_build_twice_gives_the_same_bytes_and_the_database_explains_itself(built_demo: Path, drawn_demo: Path, tmp_path: Path) -> None:
    book = drawn_demo
    built = run("build", book, "--out", tmp_path, "--json")
    assert built.code == 0, built.err
    assert set(built.json) >= {"database", "report", "rows", "problems", "headline"}
    assert built.json["headline"].startswith("The ")
    assert Path(built.json["report"]).read_bytes() == (built_demo / "reports" / "demo.html").read_bytes()
    undescribed = kept_rows(
        book / "combtally.duckdb",
        "SELECT table_name, column_name FROM duckdb_columns() WHERE NOT internal AND comment IS NULL AND table_name <> 'left_out'",
    )
    assert undescribed == []


def test_the_database_file_holds_what_is_to_be_kept(built_demo: Path) -> None:
    book, kept = built_demo, partial(kept_rows, built_demo / "combtally.duckdb")
    tables = {r["name"] for r in kept("SELECT table_name AS name FROM duckdb_tables()")}
    assert tables == {*LOGS, *settings_tables.ABOUT, *findings_and_origin_tables.ABOUT, *(m.name for m in queries("models") if m.is_in_file and not m.is_view)}
    loaded = flow.load(book, date.fromisoformat(TODAY))
    for name in ("yields_by_group", "losses_by_group", "flow_by_group", "shelf_moves", "pass_steps"):
        assert kept(f"FROM {name}") == loaded.warehouse.rows(f"FROM {name}")


def test_rows_left_out_are_not_in_the_database_file(built_demo: Path, tmp_path: Path) -> None:
    book = shutil.copytree(built_demo, tmp_path / "demo")
    kept = partial(kept_rows, book / "combtally.duckdb")
    before = kept("SELECT count(*) AS n, sum(mass_g) AS g FROM loads")
    with (book / "loads.csv").open("a", encoding="utf-8") as log:
        log.write("X1,nowhere,,100\nX2,nowhere,,100\n")
    assert run("build", book, "--out", tmp_path, "--leave-out").code == 0
    assert kept("SELECT count(*) AS n, sum(mass_g) AS g FROM loads") == before
    assert kept("SELECT DISTINCT log FROM left_out") == [{"log": "loads"}]


def test_builds_at_once_do_not_take_each_others_files(drawn_demo: Path, tmp_path: Path) -> None:
    book = drawn_demo
    command = [sys.executable, "-m", "pipeline", "build", str(book), "--today", TODAY, "--out"]
    builds = [subprocess.Popen([*command, str(tmp_path / str(n))], cwd=ROOT, stdout=subprocess.DEVNULL) for n in range(2)]
    assert [b.wait(timeout=120) for b in builds] == [0, 0]
    assert kept_rows(book / "combtally.duckdb", "SELECT name FROM settings")
    assert len({(tmp_path / str(n) / "demo.html").read_bytes() for n in range(2)}) == 1
    assert not list((book / ".combtally").glob("*.duckdb*"))


def test_a_failed_build_leaves_the_old_database(built_demo: Path, tmp_path: Path) -> None:
    book = shutil.copytree(built_demo, tmp_path / "demo")
    before = (book / "combtally.duckdb").read_bytes()
    with (book / "loads.csv").open("a", encoding="utf-8") as log:
        log.write("X1,nowhere,,100\n")
    assert run("build", book, "--out", tmp_path).code == 1
    assert (book / "combtally.duckdb").read_bytes() == before
    assert not list((book / ".combtally").glob("*.duckdb*"))


def test_a_killed_build_leaves_the_old_or_the_new_and_the_next_one_cleans_up(drawn_demo: Path) -> None:
    book = drawn_demo
    build_kills.give_old_figures(book)
    build_kills.build(book, Random(os.environ[SEED]).uniform(0.3, 2))
    assert not list(build_kills.broken(book))
    assert build_kills.build(book)[0] == 0
    assert not list(build_kills.left(book))


def test_wrong_use_is_exit_two_and_names_the_way(tmp_path: Path) -> None:
    nowhere = run("check", tmp_path / "nowhere")
    assert (nowhere.code, "combtally new" in nowhere.err) == (2, True)
    assert run("yields", DEMO, "--by", "moon").code == 2
    assert run("yields", DEMO, "--today", "tomorrow", today=None).code == 2
    assert run("new", DEMO, today=None).code == 2


def test_what_may_not_be_read_is_exit_three(tmp_path: Path) -> None:
    book = shutil.copytree(DEMO, tmp_path / "demo")
    (book / "passes.csv").chmod(0)
    as_anybody = ["setpriv", "--bounding-set=-all"] if os.getuid() == 0 else []  # root without its right to read all
    command = [*as_anybody, sys.executable, "-m", "pipeline", "yields", str(book)]
    refused = subprocess.run(command, cwd=ROOT, capture_output=True, text=True)
    assert (refused.returncode, len(refused.stderr.splitlines())) == (3, 1), refused.stderr


def test_a_file_system_that_takes_no_more_is_exit_three_and_leaves_the_old_database(tmp_path: Path) -> None:
    book = write(tmp_path / "demo")
    (book / "combtally.duckdb").write_bytes(b"the old figures")
    command = [sys.executable, "-m", "pipeline", "build", str(book), "--out", str(tmp_path), "--today", TODAY]
    most = (200_000, 200_000)  # bytes a file may have: the report fits, the database does not
    refused = subprocess.run(
        command, cwd=ROOT, capture_output=True, text=True, preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, most)
    )
    assert (refused.returncode, len(refused.stderr.splitlines())) == (3, 1), refused.stderr
    assert "database could not be written" in refused.stderr
    assert (book / "combtally.duckdb").read_bytes() == b"the old figures"
    assert not list((book / ".combtally").glob("*.duckdb*"))


def test_a_folder_that_cannot_take_the_report_is_exit_three(tmp_path: Path) -> None:
    book = shutil.copytree(DEMO, tmp_path / "demo", ignore=shutil.ignore_patterns("*.duckdb"))
    (tmp_path / "taken").write_text("a file where the folder should be")
    refused = run("build", book, "--out", tmp_path / "taken")
    assert (refused.code, len(refused.err.splitlines())) == (3, 1)
    assert not (book / "combtally.duckdb").exists()


def test_a_book_whose_workshop_cannot_be_made_is_built_by_nobody_and_read_by_everybody(tmp_path: Path) -> None:
    book = write(tmp_path / "demo", harvests="harvest,date,comb,mass_g\nH1,2026-05-01,cappings,900")
    expected = run("yields", book, "--json").out
    shutil.rmtree(book / ".combtally")
    (book / "combtally.duckdb").unlink()
    (book / ".combtally").write_text("a file where the folder should be")
    ran = run("build", book)
    assert (ran.code, "cannot be written" in ran.err) == (3, True)
    assert run("yields", book, "--json").out == expected
    assert not (book / "combtally.duckdb").exists()


def test_a_new_book_is_empty_and_sound_and_the_demo_copies_whole(built_demo: Path, tmp_path: Path) -> None:
    fresh = tmp_path / "fresh"
    assert run("new", fresh, "--name", 'Ann "the wax" O\'Hara', "--json", today=None).json["files"]
    assert run("check", fresh, "--json").json["problems"] == []
    for command in ("yields", "losses", "flow", "stock"):
        assert run(command, fresh).code == 0
    assert run("new", tmp_path / "copy", "--demo", today=None).code == 0
    assert run("flow", tmp_path / "copy", "--json").json == run("flow", built_demo, "--json").json


@pytest.mark.parametrize(("said", "name"), [("Larkmoor\n", "Larkmoor"), ("", "fresh")])
def test_a_new_book_is_named_by_what_comes_in_or_by_its_folder(tmp_path: Path, said: str, name: str) -> None:
    ran = run("new", tmp_path / "fresh", "--json", stdin=said)
    assert (ran.code, ran.json["files"][0]) == (0, "book.toml")
    assert tomllib.loads((tmp_path / "fresh" / "book.toml").read_text("utf-8"))["name"] == name


@pytest.mark.skipif(sys.platform == "win32", reason="no folder is named so")
def test_a_database_that_cannot_be_kept_is_one_sentence(tmp_path: Path) -> None:
    """DuckDB ends a file's name at a question mark where it writes its journal, and says so when all was to be kept."""
    loaded = flow.load(write(tmp_path / "what?"), date.fromisoformat(TODAY))
    with pytest.raises(MachineFault, match=r"^the database could not be written: No such file or directory$"):
        flow.keep(loaded)


def test_a_report_that_cannot_be_put_in_place_leaves_nothing(tmp_path: Path) -> None:
    (tmp_path / "out" / "book.html").mkdir(parents=True)
    ran = run("build", write(tmp_path / "book"), "--out", tmp_path / "out")
    assert (ran.code, "book.html cannot be written" in ran.err) == (3, True)
    assert [f.name for f in (tmp_path / "out").iterdir()] == ["book.html"]
