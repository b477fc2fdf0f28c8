"""Each rule breaks on the example that its own header names: one finding, with its sentence, and little else."""

from __future__ import annotations

import shlex
from collections.abc import Sequence
from datetime import date
from pathlib import Path

import pytest

from pipeline import flow
from pipeline.book.book_toml import read_book
from pipeline.checks.rule_engine import rules
from pipeline.checks.rule_files import SqlRule
from pipeline.contract.findings import Finding, Severity, log_name
from pipeline.contract.log_columns import LOGS
from pipeline.database.shipped_queries import queries
from pipeline.recording.new_findings import asked_book
from tests import books
from tests.books import TODAY, write
from tests.checks.example import GOOD, BooksTogether, broken_book

SAID: dict[str, tuple[int | None, str | None, str]] = {
    "double-key": (3, "harvest", "the harvest H1 stands on line"),
    "unknown-reference": (2, "batch", "batches.csv has no batch named P9"),
    "unknown-source": (2, "source", "H9"),
    "ambiguous-source": (2, "source", "block H1 or harvest H1"),
    "unknown-item": (2, "item", "B9"),
    "stocktake-measure": (2, "mass", "weighed"),
    "unknown-pass": (2, "pass", "no pass 3"),
    "own-source": (2, "source", "itself"),
    "one-of-several": (2, "session", "2 of session"),
    "any-of-several": (3, "mass", "none of mass"),
    "wax-out-missing": (3, "wax_out", "not weighed"),
    "recipe-sum": (2, "wax_pct", "90 % wax and 0 % oil make 90 %, 10 % under 100 %"),
    "candle-height": (2, "height", "no height"),
    "part-not-needed": (2, "part", "no parts"),
    "over-source": (2, "mass", "300 g more"),
    "held-comb-rendered": (2, "source", "treatment"),
    "wax-over-in": (3, "wax_out", "50 g more than went in (400 g)"),
    "wax-over-comb": (2, "wax_out", "80 %"),
    "load-scale": (3, "mass_in", "60 g more than the wax of the pass before (400 g)"),
    "blocks-over-pass": (3, "wax_out", "95 g more"),
    "pass-gap": (3, "pass", "1 number is missing"),
    "pass-before-source": (2, "date", "1 day before"),
    "pass-order": (3, "date", "30 days before"),
    "block-before-session": (2, "date", "1 day before"),
    "draw-before-block": (2, "date", "2 days before"),
    "heat": (2, "peak_temp", "95 °C is 10 °C over 85 °C"),
    "temperature-unit": (2, "peak_temp", "170 °F would be 77 °C"),
    "date-ahead": (2, "date", "3 days after"),
    "sales-over-stock": (None, "count", "that makes 4 of jar sold, and 1 were on the shelf: 3 too many"),
    "good-over-count": (2, "good", "2 more"),
    "burn-gained": (2, "mass_after", "more than before"),
    "candle-wick": (2, "wick", "60 mm across"),
    "flaw-words": (2, "flaws", "counts as other"),
    "wick-range": (2, "from_diameter", "no range"),
    "planned-past": (2, "date", "due today"),
    "source-not-logged": (None, "source", "1 load"),
    "item-not-logged": (None, "item", "1 stocktake names an item that no log holds, and harvests.csv is missing or empty"),
    "log-missing": (None, "wick", "missing or empty"),
    "container-width": (3, "diameter", "120 mm across; 50 mm to 76.2 mm are usual"),
    "container-tall": (3, "height", "200 mm high and 60 mm across, more than 2 times its width"),
    "shelf-below-zero": (None, None, "below zero"),
    "twice-the-same": (3, None, "the same in every cell as line"),
}
"""Line, column and words of some rules' findings, as a person who wrote the book expects them."""

KNOCK_ON = {
    "wax-over-comb": {"load-scale", "blocks-over-pass"},
    "blocks-over-pass": {"over-source"},
    "over-source": {"load-scale"},
    "ambiguous-source": {"unknown-reference"},
    "item-not-logged": {"source-not-logged"},
    "draw-before-block": {"shelf-below-zero", "over-source"},
    "planned-past": {"sales-over-stock"},
    "shelf-below-zero": {"over-source"},
    "source-loop": {"source-loop"},
}
"""Rules that one slip cannot help touching: a weight stands in two balances."""

RULES = rules()
OF_A_WHOLE_BOOK = {"item-not-logged", "log-missing", "sales-over-stock", "shelf-below-zero", "source-not-logged"}
"""Rules that speak of a log or of the shelf as a whole: their examples need a book of their own. The others stand in one."""


def findings(book: Path, asked: Sequence[SqlRule] = RULES) -> list[Finding]:
    settings, of_settings = read_book(book)
    with asked_book(settings, date.fromisoformat(TODAY), {}, asked) as (found, _):
        return of_settings + [each.finding for each in found]


@pytest.fixture(scope="module")
def found_of_each(tmp_path_factory: pytest.TempPathFactory) -> dict[str, list[Finding]]:
    """By rule what is found in its example: in the book of all examples, each told as in a book of its own."""
    folder = tmp_path_factory.mktemp("examples")
    together = BooksTogether()
    for rule in RULES:
        if rule.name not in OF_A_WHOLE_BOOK:
            together.add(rule.name, broken_book(folder / rule.name, rule.example))
    return together.apart(findings(together.written(folder / "together")))


def test_the_good_book_has_nothing_to_say() -> None:
    assert findings(GOOD) == []


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.name)
def test_one_slip_one_finding(tmp_path: Path, rule: SqlRule, found_of_each: dict[str, list[Finding]]) -> None:
    alone = rule.name in OF_A_WHOLE_BOOK
    found = findings(broken_book(tmp_path, rule.example)) if alone else found_of_each[rule.name]
    own = [f for f in found if f.rule == rule.name]
    assert own, [f.sentence() for f in found]
    assert len(own) == 1 or rule.name in KNOCK_ON.get(rule.name, ())
    assert own[0].fix
    assert rule.log in ("", *(log_name(f.log) for f in own))
    assert "{" not in own[0].message + own[0].fix
    assert {f.rule for f in found} - {rule.name} <= KNOCK_ON.get(rule.name, set()) | {"twice-the-same"}
    if rule.name in SAID:
        line, column, words = SAID[rule.name]
        assert (own[0].line, own[0].column) == (line, column)
        assert words in own[0].message


WITHOUT = [("batches", "blends", "burns", "candles", "draws", "sales", "stocktakes", "wicks"), ("harvests", "loads", "passes", "blocks")]


@pytest.mark.parametrize("empty", WITHOUT, ids=["wax alone", "candles alone"])
def test_of_logs_without_rows_no_rule_is_asked_that_could_not_find_anything(tmp_path: Path, empty: tuple[str, ...]) -> None:
    """Of the rest the same is found as by every rule, in the book of all their slips."""
    together, held = BooksTogether(), [log for log in LOGS if log not in empty]
    for rule in RULES:
        if rule.name not in OF_A_WHOLE_BOOK:
            together.add(rule.name, broken_book(tmp_path / rule.name, rule.example))
    book = together.written(tmp_path / "together")
    for log in empty:
        (book / LOGS[log].file).unlink()
    fewer = rules(held)
    assert len(fewer) < len(RULES)
    assert "shelf-below-zero" in {rule.name for rule in fewer}  # told of the draws, whatever took the wax
    asked = flow.load(book, date.fromisoformat(TODAY)).warehouse
    asked.run([step for step in queries("models") if not step.is_in_file])  # which are let go once a book is judged
    found = {rule.name: asked.rows(f"SELECT * FROM ({rule.query.sql}) ORDER BY ALL") for rule in fewer}
    assert any(found.values())
    for rule in RULES:
        assert asked.rows(f"SELECT * FROM ({rule.query.sql}) ORDER BY ALL") == found.get(rule.name, []), rule.name


USUAL_SCALE = [
    ("895,400", "400", 2, "warning", "5 g less than what was loaded (900 g)"),
    ("896,400", "400", 2, "note", "4 g less than what was loaded (900 g)"),
    ("900,400", "405", 3, "warning", "5 g more than the wax of the pass before (400 g)"),
    ("900,400", "396", 3, "note", "4 g less than the wax of the pass before (400 g)"),
    ("900,400", "490", 3, "warning", "10 g less than the wax of the pass before and the loads together (500 g)"),
]
"""The first pass, what went into the second, and what is said; into the last session 100 g more are loaded for its second pass."""


def test_what_went_in_is_held_to_all_that_should_have(tmp_path: Path) -> None:
    """Two weighings of 400 g on a scale of 5 g: 2 x sqrt(2 x (25/12 + .16)) = 4.2 g is the least that is warned of; of 900 g, 4.8 g."""
    sessions = [(f"S{n}", first, second) for n, (first, second, *_) in enumerate(USUAL_SCALE)]
    book = write(
        tmp_path,
        harvests="harvest,date,comb,mass_g\nH,2025-05-01,cappings,10000",
        loads="session,source,mass_g,pass\n" + "".join(f"{name},H,900,1\n" for name, *_ in sessions) + "S4,H,100,2",
        passes="session,pass,date,method,mass_in_g,wax_out_g\n"
        + "".join(f"{name},1,2025-05-02,solar,{first}\n{name},2,2025-05-02,solar,{second},390\n" for name, first, second in sessions),
    )
    own = findings(book, [rule for rule in RULES if rule.name == "load-scale"])
    told = [(2 * n + line, severity) for n, (_, _, line, severity, _) in enumerate(USUAL_SCALE)]
    assert [(f.line, f.severity.value) for f in own] == told
    for finding, (*_, words) in zip(own, USUAL_SCALE, strict=True):
        assert words in finding.message


def test_purity_outside_a_published_range_is_no_accusation(found_of_each: dict[str, list[Finding]]) -> None:
    (own,) = found_of_each["purity"]
    assert own.severity is Severity.NOTE
    assert "outside the published range (17 to 22" in own.message  # European Pharmacopoeia, Cera alba


def test_heat_past_the_fire_limit_in_a_book_kept_in_fahrenheit_is_told_as_a_danger(tmp_path: Path) -> None:
    book = broken_book(tmp_path, "passes: 78 -> 450 F")
    (book / "book.toml").write_text((book / "book.toml").read_text("utf-8") + '\n[show]\ntemperature = "F"\n', "utf-8")
    (own,) = findings(book, [rule for rule in RULES if rule.name == "temperature-unit"])
    assert own.message == "450 °F is past the limit for fire (250 °F)"
    assert "catch fire" in own.fix


def test_a_fix_names_no_placeholder_and_a_command_stands_for_the_book_as_it_was_typed(tmp_path: Path) -> None:
    """No rule speaks of BOOK, and nobody at a phone is told to type; at a terminal the command that helps can be pasted."""
    for rule in rules():
        told = " ".join(text for name, text in rule.query.columns.items() if name.startswith(("message", "fix")))
        assert "BOOK" not in told, rule.name
        assert "combtally" not in told, rule.name
    book = broken_book(tmp_path / "Jane's book", "passes: 400,390 -> 400,")
    told = books.run("check", book)
    pasted = next(line for line in told.out.splitlines() if "wax_out" in line).rpartition("wax_out: ")[2]
    assert shlex.split(pasted) == ["combtally", "change", str(book), "pass", "3", "wax_out="]
    (named,) = [p["fix"] for p in books.run("check", book, "--json").json["problems"] if p["rule"] == "wax-out-missing"]
    assert named == "weigh what came out and write it under wax_out"  # the same wherever the book lies
    assert shlex.join(["combtally", "check", str(book)]) in books.run("yields", book).err
    assert books.run(*shlex.split(f"{pasted}'390 g'")[1:]).code == 0  # with the weight typed behind it
