"""The published figures that ship with the program: a source in every row, and nothing missing."""

from __future__ import annotations

import csv
import re
from itertools import product
from pathlib import Path

import pytest

from pipeline.analyses import candle_mass_sureness, refining_loss_model
from pipeline.book.book_settings import Book
from pipeline.contract import log_columns, shipped_files
from pipeline.wording import pour_steps
from pipeline.wording.cautions import limit
from tests.books import ROOT

TABLES = sorted(p.stem for p in shipped_files.path("reference").glob("*.csv"))
SURE = {"seen", "quoted", "memory", "judged", "practice", "exact"}


def rows(table: str) -> list[dict[str, str]]:
    return shipped_files.reference(table)


@pytest.fixture(params=TABLES)
def table(request: pytest.FixtureRequest) -> str:
    return str(request.param)


def test_the_tables_are_there() -> None:
    candles = {"candle_practice", "candle_thresholds", "flaw_causes", "flaw_factors"}
    comb = {"comb_kinds", "frame_weights", "methods", "yield_priors"}
    assert set(TABLES) == candles | comb | {"cautions", "densities", "purity", "units"}


def test_every_row_names_its_source_and_how_sure_it_is(table: str) -> None:
    assert rows(table)
    for row in rows(table):
        assert row["source"].strip(), row
        assert row["sure"] in SURE, row
        assert row["judgement"] in {"yes", "no"}, row


def test_what_was_judged_or_is_only_practice_says_so(table: str) -> None:
    for row in rows(table):
        assert row["judgement"] == "yes" or row["sure"] not in {"judged", "practice"}, row
        assert ("no source" not in row["source"]) or row["judgement"] == "yes", row


def test_every_row_has_as_many_cells_as_the_header(table: str) -> None:
    with Path(shipped_files.path("reference", f"{table}.csv")).open(encoding="utf-8", newline="") as lines:
        widths = {len(row) for row in csv.reader(lines)}
    assert len(widths) == 1


def test_low_is_never_over_high(table: str) -> None:
    for row in rows(table):
        for low, high in (("low", "high"), ("low_share", "high_share")):
            if row.get(low) and row.get(high):
                assert float(row[low]) <= float(row[high]), row


def test_a_figure_has_a_unit(table: str) -> None:
    for row in rows(table):
        if "unit" in row and any(row.get(c) for c in ("value", "low", "high", "low_share", "g_per_ml")):
            assert row["unit"], row


def test_every_kind_of_comb_has_its_shares_and_a_ceiling_over_them() -> None:
    kinds = {row["comb"]: row for row in rows("comb_kinds")}
    assert tuple(kinds) == log_columns.COMB_KINDS
    for row in kinds.values():
        assert 0 < float(row["low_share"]) < float(row["high_share"]) <= float(row["ceiling_share"]) <= 1


def test_every_kind_of_comb_has_a_prior_for_every_method_inside_its_own_shares() -> None:
    kinds = {row["comb"]: row for row in rows("comb_kinds")}
    priors = [(row["comb"], row["method"]) for row in rows("yield_priors")]
    assert priors == list(product(log_columns.COMB_KINDS, log_columns.METHODS))
    for row in rows("yield_priors"):
        kind = kinds[row["comb"]]
        assert float(kind["low_share"]) <= float(row["low"]) < float(row["high"]) <= float(kind["high_share"])


def test_the_priors_hold_the_published_yields_of_old_comb() -> None:
    """Peranovich et al., UNESP Botucatu (conference abstract): shares of comb mass, two runs each."""
    brood = {
        r["method"]: (float(r["low"]), float(r["high"])) for r in rows("yield_priors") if r["comb"] == "brood comb"
    }
    for method, share in (("steam", 0.2445), ("solar", 0.145), ("water bath", 0.0725)):
        assert brood[method][0] <= share <= brood[method][1]


def test_brood_comb_holds_at_most_the_dark_brown_grade() -> None:
    """Russian raw-wax grades, course notes: dark brown comb 55-70 % wax."""
    assert {r["comb"]: r["ceiling_share"] for r in rows("comb_kinds")}["brood comb"] == "0.7"


def test_every_method_says_something() -> None:
    assert {row["method"] for row in rows("methods")} == set(log_columns.METHODS)


def test_the_dangers_of_hot_wax_are_all_named() -> None:
    named = {row["caution"] for row in rows("cautions")}
    assert {"open flame", "wax fire", "burns", "air", "pressure", "glass", "foulbrood", "darkening"} <= named
    fire = next(row for row in rows("cautions") if row["caution"] == "wax fire")
    assert "never water" in fire["says"]


def test_units_are_the_exact_ones() -> None:
    """International yard and pound agreement, 1959: 453.59237 g and 25.4 mm exactly; an ounce is a sixteenth."""
    factor = {row["unit"]: float(row["factor"]) for row in rows("units")}
    assert (factor["lb"], factor["in"]) == (453.59237, 25.4)
    assert factor["oz"] * 16 == factor["lb"]
    assert factor["floz"] * 128 == pytest.approx(231 * 25.4**3 / 1000)


def span(table: str, key: str, name: str) -> tuple[float, float]:
    """Low and high of one row."""
    (row,) = [r for r in rows(table) if r[key] == name]
    return float(row["low"]), float(row["high"])


def test_the_pour_sheet_reads_the_figures_of_the_trade_from_the_tables() -> None:
    """Common practice, no source: scent at 165-170 °F, pour near 155 °F, a plastic tub to 200 °F, never 250 °F; wick lengths in inches."""
    fahrenheit = {name: [round(c * 9 / 5 + 32) for c in pour_steps.practice(name)] for name in ("scent_temp", "pour_temp", "tub_limit")}
    assert fahrenheit == {"scent_temp": [165, 170], "pour_temp": [155, 155], "tub_limit": [200, 200]}
    assert pour_steps.practice("fire limit", "cautions", "caution") == (121, 121)
    assert pour_steps.practice("darkening", "cautions", "caution")[0] == limit("darkening") == 85
    for name, inches in (("wick_spare", 1), ("wick_hang", 0.25), ("wick_trim", 0.25)):
        assert pour_steps.practice(name)[0] == 25.4 * inches


def test_no_figure_or_sentence_of_a_caution_is_typed_a_second_time() -> None:
    """Sheets, pages, rules and README quote the tables; made parts of README are made from them."""
    told = {path: path.read_text("utf-8") for ending in ("py", "sql", "html") for path in (ROOT / "pipeline").rglob(f"*.{ending}")}
    told[ROOT / "README.md"] = re.sub("<!-- made: (.*?) -->.*?<!-- end: ", "", (ROOT / "README.md").read_text("utf-8"), flags=re.DOTALL)
    degrees = {round(float(r[end])) for r in rows("cautions") if r["unit"] == "C" for end in ("low", "high")}
    both = degrees | {round(c * 9 / 5 + 32) for c in degrees}
    figures = re.compile(rf"(?<![\d.])({'|'.join(map(str, sorted(both)))}) ?°")
    phrases = [r["says"].partition(":")[0].partition(",")[0] for r in rows("cautions")]
    assert len(both) >= 6
    for path, text in told.items():
        said = "\n".join(line for line in text.splitlines() if "``" not in line and '"""' not in line)  # docstrings show what comes out
        assert not figures.search(said), (path, figures.findall(said))
        assert not [phrase for phrase in phrases if phrase in said], path


def test_densities_without_a_word_of_the_book_are_the_published_ones() -> None:
    """European Pharmacopoeia, white beeswax: about 0.960; Codex CXS 210-1999, coconut oil: 0.908-0.921; no source for scent.

    Of molten wax 0.82-0.83 (older handbooks, from memory).
    """
    density = Book(Path(), "test").densities
    assert set(density) == {"wax", "oil", "scent"}
    assert density["wax"] == 0.96
    assert 0.908 <= density["oil"] <= 0.921
    assert 0.82 <= candle_mass_sureness.LIQUID_WAX <= 0.83


def test_the_refining_loss_of_a_new_book_is_the_range_of_the_trade() -> None:
    assert span("candle_practice", "practice", "refining_loss") == refining_loss_model.USUAL_LOSS


def test_every_kind_of_comb_has_a_range_of_what_a_frame_weighs() -> None:
    assert tuple(row["comb"] for row in rows("frame_weights")) == log_columns.COMB_KINDS
    for row in rows("frame_weights"):
        assert 2 * float(row["low_g"]) <= float(row["high_g"]), "a judgement is wide"
