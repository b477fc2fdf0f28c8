"""The page as a document: golden outlines, one safe file, the same bytes, summed up where the book is big."""

from __future__ import annotations

import base64
import hashlib
import itertools
import re
from collections.abc import Callable, Iterator
from decimal import Decimal
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import duckdb
import pytest

from pipeline import flow, report
from pipeline.contract.findings import MachineFault
from pipeline.database.shipped_queries import queries
from pipeline.report import pdf_and_picture_files
from pipeline.report.chart_drawing_process import ChartProcess
from pipeline.report.html_page import render, unbroken, with_unit
from pipeline.wording import amounts
from tests import report_books as books
from tests.books import ROOT

GOLDEN = ROOT / "tests" / "golden"


class Tags(HTMLParser):
    """Every start tag with its attributes, in order, and the text outside of the style."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.text: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)

    def handle_data(self, data: str) -> None:
        self.text.append(data)

    def all(self, tag: str) -> list[dict[str, str | None]]:
        return [attrs for name, attrs in self.tags if name == tag]


@pytest.mark.parametrize("name", sorted(books.BOOKS))
def test_golden_pages(name: str, renew: bool) -> None:
    """Renewed by ``pytest tests/report/test_report.py --renew``; the diff then says in words what changed."""
    told, file = books.outline(books.html(name)), GOLDEN / f"{name}.txt"
    if renew:
        file.write_text(told, "utf-8")
    assert told == file.read_text("utf-8")


@pytest.mark.parametrize("name", sorted(books.BOOKS))
def test_nothing_runs_and_nothing_is_fetched(name: str) -> None:
    tags = Tags(books.html(name))
    active = {"script", "iframe", "object", "embed", "form", "base", "img", "video", "audio", "foreignobject", "use", "image"}
    assert not active & {tag for tag, _ in tags.tags}
    for tag, attrs in tags.tags:
        assert not [a for a in attrs if a.startswith("on") or a == "style"], tag
        for key in ("href", "src", "xlink:href", "action"):
            if key in attrs:
                assert (attrs[key] or "").startswith(("#", "data:image/svg+xml,")), attrs


@pytest.mark.parametrize("name", sorted(books.BOOKS))
def test_the_policy_lets_exactly_this_style_in(name: str) -> None:
    text = books.html(name)
    policy = next(m["content"] or "" for m in Tags(text).all("meta") if m.get("http-equiv") == "Content-Security-Policy")
    style = re.search(r"<style>(.*?)</style>", text, re.S)
    assert style
    digest = base64.b64encode(hashlib.sha256(style[1].encode()).digest()).decode()
    assert f"style-src 'sha256-{digest}'" in policy
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy


@pytest.mark.parametrize("name", sorted(books.BOOKS))
def test_landmarks_headings_and_tables_carry_their_meaning(name: str) -> None:
    tags = Tags(books.html(name))
    names = [tag for tag, _ in tags.tags]
    assert [names.count(t) for t in ("header", "nav", "main", "footer", "h1")] == [1, 1, 1, 1, 1]
    levels = [int(t[1]) for t in names if re.fullmatch(r"h[1-6]", t)]
    assert all(b - a <= 1 for a, b in itertools.pairwise(levels))
    assert all(th.get("scope") in {"col", "row"} for th in tags.all("th"))
    assert names.count("caption") == names.count("table")
    assert all(d.get("aria-label") for d in tags.all("div") if d.get("role") == "img")
    ids = [attrs["id"] for _, attrs in tags.tags if "id" in attrs]
    assert len(ids) == len(set(ids))
    assert all(a["href"] and a["href"][1:] in ids for a in tags.all("a"))


def test_hostile_text_is_shown_as_typed() -> None:
    shown = "".join(Tags(books.html("hostile")).text)
    typed = books.HOSTILE.replace("\u202e", "\N{REPLACEMENT CHARACTER}")
    assert shown.count(typed) >= 8
    assert not re.search("[\u202a-\u202e\u2066-\u2069]", books.html("hostile")), "writing could be turned round"
    assert "49" not in books.outline(books.html("hostile")).splitlines()[0]


def test_sections_answer_in_the_order_of_the_questions() -> None:
    names = [s.name for s in books.page("demo").sections]
    assert names == ["season", "candles-plan", "making", "loss", "look", "stock", "made"]
    for section in books.page("demo").sections:
        for panel in section.panels:
            assert panel.sentence.endswith("."), panel.name
            assert panel.method or panel.queries or panel.table is None, panel.name


def test_the_demo_is_small_and_the_same_bytes_every_time(built_demo: Path) -> None:
    page = (built_demo / "reports" / "demo.html").read_bytes()
    assert page == books.html("demo").encode(), "drawn in a process of its own and in this one"
    assert len(page) <= 400_000


def test_units_and_dates_are_the_books_own() -> None:
    told = books.outline(books.html("one_session"))
    assert "8.82 lb of comb" in told.replace("\u202f", " ")  # 4000 g / 453.59237
    assert "4 May 2026" in told.replace("\u202f", " ")
    assert " kg" not in told.split("How was this page made?")[-2].replace("\u202f", " ")


@pytest.fixture(scope="module")
def asked_of_the_file(built_demo: Path) -> Iterator[Callable[[str], list[dict[str, Any]]]]:
    """Puts a query to the demo's database file as anyone would: a client of its own, reading only."""
    client = duckdb.connect(str(built_demo / "combtally.duckdb"), read_only=True)

    def ask(sql: str) -> list[dict[str, Any]]:
        found = client.execute(sql)
        names = [column[0] for column in found.description or ()]
        return [dict(zip(names, row, strict=True)) for row in found.fetchall()]

    yield ask
    client.close()


def test_every_query_on_the_page_runs_on_the_file(asked_of_the_file: Callable[[str], list[dict[str, Any]]]) -> None:
    asked = {q.sql for s in books.page("demo").sections for p in s.panels for q in p.queries}
    assert len(asked) >= 15
    assert all(isinstance(asked_of_the_file(sql), list) for sql in asked)


FROM_QUERIES = {"flow", "seasons", "combs", "sessions", "losses", "blocks", "shelf", "store", "candles"}
"""Panels whose table is what its queries give; the others' come from analyses, which have no query to show."""


@pytest.mark.parametrize("name", sorted(FROM_QUERIES))
def test_the_queries_shown_give_the_figures_shown(
    name: str, asked_of_the_file: Callable[[str], list[dict[str, Any]]]
) -> None:
    """Every mass, yield, loss and count of a table is a value of its queries, in the page's own writing."""
    panel = next(p for s in books.page("demo").sections for p in s.panels if p.name == name)
    values = [v for q in panel.queries for row in asked_of_the_file(q.sql) for v in row.values()]
    numbers = [float(v) for v in values if isinstance(v, (int, float, Decimal))]
    units = amounts.Units(step_g=5).on_page()
    given = {write(v) for v in numbers for write in (units.mass_cell, units.share_cell, units.count, units.money)}
    assert panel.table is not None
    heads = [c.head for c in panel.table.columns]
    shown = [
        cell for row in panel.table.rows for head, cell in zip(heads, row, strict=True)
        if re.search(r"kg$|^(yield|loss), %|^(sessions|passes|lots|sold.*|on the shelf|brought.*)$", head) and cell not in {"", "–"}
    ]  # fmt: skip
    assert len(shown) >= 3
    assert [cell for cell in shown if cell.removesuffix("*") not in given] == []


def test_what_was_left_out_stands_at_the_top(tmp_path: Path) -> None:
    folder = books.one_session(tmp_path / "book")
    with (folder / "loads.csv").open("a", encoding="utf-8") as file:
        file.write("R1,H9,250\n")
    loaded = flow.load(folder, books.TODAY)
    path = report.path(loaded, tmp_path)
    with ChartProcess() as drawn:
        report.write(loaded, path, drawn)
    loaded.warehouse.close()
    assert "of loads" in path.read_text("utf-8").split("<nav")[0]


def test_questions_bring_sums_however_big_the_book(tmp_path: Path) -> None:
    loaded = flow.load(books.thirty_seasons(tmp_path / "book"), books.TODAY)
    asked = queries("report/queries")
    most = {q.name: len(loaded.warehouse.rows(q.sql)) for q in asked}
    loaded.warehouse.close()
    assert len(most) >= 15
    assert max(most.values()) <= 2 * 400, most  # days of the shelf, thinned to between 400 and 800
    assert sorted(most.values())[-2] <= 30, most


def test_thirty_seasons_are_summed_up_not_listed() -> None:
    text = books.html("thirty_seasons")
    assert len(text) < 400_000
    assert Tags(text).tags.count(("tr", {})) < 260
    assert "18 earlier seasons not listed" in text


def test_charts_are_saved_as_files_that_stand_alone(tmp_path: Path) -> None:
    saved = pdf_and_picture_files.save_charts(books.drawings("one_session"), tmp_path / "charts")
    assert {f.suffix for f in saved} == {".svg", ".png"}
    for file in saved:
        data = file.read_bytes()
        assert data.startswith(b"\x89PNG") if file.suffix == ".png" else b"var(--" not in data


def test_where_there_is_no_chromium_a_sentence_says_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PATH", str(tmp_path))
    with pytest.raises(MachineFault, match="no Chromium is installed"):
        pdf_and_picture_files.save_pdf(tmp_path / "page.html")


def test_dates_and_short_names_are_not_broken_at_their_hyphens() -> None:
    assert unbroken("P26-4 by 2026-11-21, so-and-so") == (
        '<span class="t">P26-4</span> by <span class="t">2026-11-21</span>, <span class="t">so-and-so</span>'
    )
    assert unbroken("1.5 % of 2 kg, 3 geese") == "1.5\xa0% of 2\xa0kg, 3 geese"
    assert with_unit("handling, casting, kg") == "handling, casting,\xa0kg"
    assert with_unit("comb, kg") == "comb, kg"
    assert "span" not in unbroken("a-name-that-is-far-too-long-for-one-line -5 x - y")
    assert unbroken("<i-x>&-y") == "&lt;<span class=\"t\">i-x</span>&gt;&amp;-y"


def test_rendering_leaves_the_page_as_it_was() -> None:
    page, drawings = books.page("empty"), books.drawings("empty")
    assert render(page, drawings) == render(page, drawings)
