"""A book for each rule across rows and logs: one finding, at the right line and column, and nothing else."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from pipeline import flow
from pipeline.checks import rule_engine
from tests.books import TODAY, write

GOOD = {
    "harvests": """
        harvest,date,comb,mass_g,frames,hold
        H1,2025-05-01,brood comb,1000,,
        H2,2025-05-01,white comb,500,,foulbrood
    """,
    "loads": """
        session,source,part,mass_g,pass
        S1,H1,,1000,
    """,
    "passes": """
        session,pass,date,method,mass_in_g,wax_out_g,residue_g,peak_temp_c
        S1,1,2025-06-01,steam,1000,400,500,78
        S1,2,2025-06-02,water bath,400,390,5,
    """,
    "blocks": """
        block,date,mass_g,session,supplier,blend
        B1,2025-06-03,385,S1,,
        B2,2025-06-03,200,,neighbour,
    """,
    "draws": "date,block,mass_g,use,batch\n2025-07-01,B2,50,candles,P1",
    "blends": "blend,wax_pct,oil_pct\nplain,100,\n",
    "candles": "candle,form,blend,fill_mass_g,diameter_mm,height_mm,headspace_mm\njar,container,plain,50,,,\n",
    "batches": "batch,date,candle,count,status,good\nP1,2025-07-01,jar,1,poured,1\n",
    "sales": "date,candle,count\n2025-08-01,jar,1\n",
    "stocktakes": "date,item,mass_g,count\n2025-09-01,B1,385,\n",
    "wicks": "wick,rank,from_diameter_mm,to_diameter_mm\nw1,1,20,40\n",
    "burns": "test,burn,date,candle,wick,time_min,mass_before_g,mass_after_g\nT1,1,2025-08-01,jar,w1,60,50,45\n",
}

BAD: list[tuple[str, str, str, str, int | None, str | None, str]] = [
    # rule, log, replace, with, line, column, a word of the message
    ("double-key", "harvests", "H2,", "H1,", 3, "harvest", "H1"),
    ("unknown-reference", "draws", "P1", "P9", 2, "batch", "P9"),
    ("unknown-source", "loads", "S1,H1", "S1,H9", 2, "source", "H9"),
    ("ambiguous-source", "blocks", "B2,", "H1,", 2, "source", "block H1 or harvest H1"),
    ("unknown-item", "stocktakes", "B1", "B9", 2, "item", "B9"),
    ("stocktake-measure", "stocktakes", "385,", ",3", 2, "mass", "weighed"),
    ("unknown-pass", "loads", "1000,", "1000,3", 2, "pass", "no pass 3"),
    ("own-source", "loads", "S1,H1,", "S1,S1,wax", 2, "source", "itself"),
    ("one-of-several", "blocks", "S1,,", "S1,neighbour,", 2, "session", "2 of session"),
    ("any-of-several", "harvests", "white comb,500", "white comb,", 3, "mass", "0 of mass"),
    ("wax-out-missing", "passes", "400,390", "400,", 3, "wax_out", "not weighed"),
    ("recipe-sum", "blends", "100,", "90,", 2, "wax_pct", "10 % under"),
    ("candle-height", "candles", "50,,", ",30,", 2, "height", "no height"),
    ("part-not-needed", "loads", "H1,,", "H1,wax,", 2, "part", "no parts"),
    ("over-source", "loads", "H1,,1000", "H1,,1300", 2, "mass", "0.300 kg more"),
    ("held-comb-rendered", "harvests", "1000,,", "1000,,treatment", 2, "source", "treatment"),
    ("wax-over-in", "passes", "390,5", "450,5", 3, "wax_out", "0.050 kg more"),
    ("wax-over-comb", "passes", "1000,400", "1000,800", 2, "wax_out", "80 %"),
    ("load-scale", "passes", "water bath,400", "water bath,460", 3, "mass_in", "0.060 kg more"),
    ("blocks-over-pass", "blocks", "385", "485", 3, "wax_out", "0.095 kg more"),
    ("pass-gap", "passes", "S1,2", "S1,3", 3, "pass", "1 number is missing"),
    ("pass-before-source", "passes", "2025-06-01", "2025-04-30", 2, "date", "1 day before"),
    ("pass-order", "passes", "2025-06-02", "2025-05-02", 3, "date", "30 days before"),
    ("block-before-session", "blocks", "B1,2025-06-03", "B1,2025-06-01", 2, "date", "1 day before"),
    ("draw-before-block", "draws", "2025-07-01", "2025-06-01", 2, "date", "2 days before"),
    ("heat", "passes", "78", "95", 2, "peak_temp", "10 degrees over"),
    ("temperature-unit", "passes", "78", "170", 2, "peak_temp", "77 °C"),
    ("date-ahead", "sales", "2025-08-01", "2026-11-04", 2, "date", "3 days after"),
    ("sales-over-stock", "sales", "jar,1", "jar,4", None, "count", "3 more"),
    ("good-over-count", "batches", "poured,1", "poured,3", 2, "good", "2 more"),
    ("burn-gained", "burns", "50,45", "50,55", 2, "mass_after", "more than before"),
    ("wick-range", "wicks", "20,40", "40,20", 2, "from_diameter", "no range"),
    ("planned-past", "batches", "poured,1", "planned,", 2, "date", "due today"),
    ("source-not-logged", "harvests", "H1,2025-05-01,brood comb,1000,,\n        H2,2025-05-01,white comb,500,,foulbrood", "", None, "source", "1 load"),
    ("log-missing", "wicks", "w1,1,20,40", "", None, "wick", "missing or empty"),
]  # fmt: skip

KNOCK_ON = {
    "wax-over-comb": {"load-scale", "blocks-over-pass"},
    "blocks-over-pass": {"over-source"},
    "over-source": {"load-scale"},
    "ambiguous-source": {"unknown-reference"},
    "draw-before-block": {"shelf-below-zero", "over-source"},
    "planned-past": {"sales-over-stock"},
}
"""Rules that one slip cannot help touching: a weight stands in two balances."""


def problems(folder: Path, **logs: str) -> list[dict[str, object]]:
    return [f.as_dict() for f in flow.load(write(folder, **logs), date.fromisoformat(TODAY)).findings]


def test_the_good_book_has_nothing_to_say(tmp_path: Path) -> None:
    assert problems(tmp_path, **GOOD) == []


@pytest.mark.parametrize(("rule", "log", "old", "new", "line", "column", "word"), BAD, ids=[b[0] for b in BAD])
def test_one_slip_one_finding(
    tmp_path: Path, rule: str, log: str, old: str, new: str, line: int | None, column: str, word: str
) -> None:
    assert old in GOOD[log]
    found = problems(tmp_path, **GOOD | {log: GOOD[log].replace(old, new, 1)})
    (own,) = [p for p in found if p["rule"] == rule]
    assert (own["line"], own["column"]) == (line, column)
    assert word in str(own["message"])
    assert own["fix"]
    assert {p["rule"] for p in found} - {rule} <= KNOCK_ON.get(rule, set())


def sessions(extra: str, **logs: str) -> dict[str, str]:
    second = GOOD["passes"] + "        S2,1,2025-06-10,steam,,100,5,\n"
    return GOOD | {"passes": second, "loads": GOOD["loads"] + f"        {extra}\n"} | logs


@pytest.mark.parametrize(
    ("rule", "extra", "word"),
    [
        ("part-missing", "S2,S1,,,", "wax or its slumgum"),
        ("blended-loaded", "S2,B2,,,", "plain"),
        ("slumgum-unweighed", "S2,S1,slumgum,,", "not every residue"),
        ("source-loop", "S2,S1,slumgum,100,\n        S1,S2,slumgum,5,", "came from"),
    ],
)
def test_rules_between_two_sessions(tmp_path: Path, rule: str, extra: str, word: str) -> None:
    logs = sessions(extra)
    if rule == "blended-loaded":
        logs["blocks"] = logs["blocks"].replace("neighbour,", "neighbour,plain")
    if rule == "slumgum-unweighed":
        logs["passes"] = logs["passes"].replace("390,5", "390,")
    found = problems(tmp_path, **logs)
    own = [p for p in found if p["rule"] == rule]
    assert own
    assert {p["log"] for p in own} == {"loads"}
    assert word in str(own[0]["message"])


def test_twice_the_same_row_is_noted(tmp_path: Path) -> None:
    (found,) = problems(tmp_path, **GOOD | {"draws": GOOD["draws"] + "\n2025-07-01,B2,50,candles,P1\n"})
    assert (found["rule"], found["line"], found["severity"]) == ("twice-the-same", 3, "note")


def test_a_shelf_below_zero_is_told(tmp_path: Path) -> None:
    found = problems(tmp_path, **GOOD | {"draws": "date,block,mass_g,use\n2025-07-01,B2,900,sold\n"})
    assert {"shelf-below-zero", "over-source"} == {str(p["rule"]) for p in found}


def test_purity_outside_a_published_range_is_no_accusation(tmp_path: Path) -> None:
    blocks = "block,date,mass_g,supplier,acid_value\nB1,2025-06-03,385,x,26\nB2,2025-06-03,200,y,\n"
    found = problems(tmp_path, **GOOD | {"blocks": blocks})
    (own,) = [p for p in found if p["rule"] == "purity"]
    assert own["severity"] == "note"
    assert "outside the range" in str(own["message"])


def test_a_candle_with_no_height_left(tmp_path: Path) -> None:
    candles = GOOD["candles"].replace("50,,,", ",40,50,60")
    (found,) = problems(tmp_path, **GOOD | {"candles": candles})
    assert (found["rule"], found["column"]) == ("headspace", "headspace")


def test_every_rule_has_its_book() -> None:
    told = {b[0] for b in BAD} | {
        "part-missing", "blended-loaded", "slumgum-unweighed", "source-loop", "twice-the-same", "shelf-below-zero",
        "purity", "headspace",
    }  # fmt: skip
    assert {c.name for c in rule_engine.checks()} == told
