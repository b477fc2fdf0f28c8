"""A recipe as people write one: it can be poured by and changed, once it has passed check."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from pipeline.contract.log_columns import LOGS
from pipeline.recording import row_change
from tests.books import run, write

BOOK = {
    "blends": """
        blend,wax_pct,oil,oil_pct,notes
        soft,66 2/3 %,coconut,33 1/3 %,
        thin,33.33,coconut,66.66,
    """,
    "candles": """
        candle,form,blend,fill_mass_g
        bar,mould,soft,100
        jar,container,thin,100
    """,
    "batches": """
        batch,date,candle,count,status
        P1,2026-12-01,bar,3,planned
        P2,2026-12-01,jar,3,planned
    """,
    "blocks": """
        block,date,mass_g,supplier
        B1,2026-01-01,5000,before this book
    """,
}


def test_a_recipe_in_thirds_is_changed_without_a_traceback(tmp_path: Path) -> None:
    folder = write(tmp_path, **BOOK)
    outcome = row_change.change(folder, LOGS["blends"], "soft", {"notes": "firm"}, date(2026, 11, 1))
    assert [(c.column, c.new) for c in outcome.changed] == [("notes", "firm")]
    assert "soft,66 2/3 %,coconut,33 1/3 %,firm\n" in (folder / "blends.csv").read_text()


def test_a_recipe_of_two_decimals_is_a_whole(tmp_path: Path) -> None:
    """33.33 and 66.66 of 99.99: a third of wax, as it is meant; by hand, 3 jars of 100 g with 3 % pour loss."""
    folder = write(tmp_path, **BOOK)
    assert run("check", folder, "--json").json["problems"] == []
    masses = {i["name"]: i["mass_g"] for i in run("pour", folder, "P2", "--json").json["ingredients"]}
    assert round(masses["coconut"] / masses["wax"], 9) == 2
    (jar,) = [c for c in run("capacity", folder, "--json").json if c["candle"] == "jar"]
    assert abs(jar["wax_each_g"] - 100 / 3 / 0.97) < 1e-9
