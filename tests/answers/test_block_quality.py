"""A block's figures against published ranges, with the wax of a published thesis."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.books import run, write

MEASURED = """
    block,date,mass_g,supplier,colour,acid_value,ester_value,melting_point_c
    K1,2025-05-01,1000,the Kafa zone,{colour},22.689,72.065,{melting}
    """


def figures(told: str) -> set[str]:
    return {line.split(":")[0].strip() for line in told.splitlines() if "outside the range" in line}


@pytest.mark.parametrize(("colour", "melting", "outside"), [
    ("yellow", "63.1", {"acid value 22.689"}), ("", "", {"acid value 22.689"}), ("white", "65.5", set()), ("yellow", "65.5", {"acid value 22.689", "melting point 65.5 °C"}),
])  # fmt: skip
def test_the_wax_of_the_kafa_zone_misses_one_limit_and_no_other(tmp_path: Path, colour: str, melting: str, outside: set[str]) -> None:
    """Kafa zone beeswax, MSc thesis, Bahir Dar University: 22.689 + 72.065 = 94.754, ratio of means 3.18.

    White blocks are held to the rows of white wax, all others to those of yellow wax; ``any`` fills gaps (melting point).
    """
    book = write(tmp_path, blocks=MEASURED.format(colour=colour, melting=melting))
    told = run("trace", book, "block K1").out
    assert figures(told) == outside
    assert "saponification value (acid + ester) 94.754: within the range" in told
    assert "ratio of ester to acid value: 3.18" in told
    assert "adulterated" not in told
    problems = run("check", book, "--json").json["problems"]
    assert len([p for p in problems if p["rule"] == "purity"]) == len(outside)


def test_a_block_bears_the_melts_behind_it(tmp_path: Path) -> None:
    book = write(
        tmp_path,
        harvests="harvest,date,comb,mass_g\nH1,2025-05-01,brood comb,4000",
        loads="session,source,part,mass_g\nS1,H1,,4000\nS2,S1,wax,900",
        passes="session,pass,date,method,wax_out_g,peak_temp_c,time_min\nS1,1,2025-06-01,steam,900,96,120\nS2,1,2025-06-02,water bath,880,78,300\nS2,2,2025-06-03,water bath,870,77,60",
        blocks="block,date,mass_g,session,colour\nB1,2025-06-04,870,S2,yellow",
    )
    assert "melted and strained in 3 passes, the hottest 96 °C, the longest 5 h" in run("trace", book, "B1").out
