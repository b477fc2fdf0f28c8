"""A log saved again by a spreadsheet: one finding with the cause, not one for each row that it cut off."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.books import run, write

PASSES = "session,pass,date,method,wax_out_g\n" + "".join(f"{n}-25,1,2025-06-0{n},solar,500\n" for n in range(1, 8))
LOADS = "session,source,mass_g\n" + "".join(f"{n}-25,H1,1000\n" for n in range(1, 8))
BLOCKS = "block,date,mass_g,session\n" + "".join(f"B{n},2025-07-01,490,{n}-25\n" for n in range(1, 8))
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul")



def named(text: str, name: str) -> str:
    """The log with its sessions called another way."""
    return re.sub(r"\b(\d)-25\b", lambda found: name.format(n=found[1]), text)


@pytest.mark.parametrize("name", ["{n}-25", "2025-{n}"])
def test_a_log_that_a_spreadsheet_saved_gives_one_finding(tmp_path: Path, name: str) -> None:
    """A spreadsheet shows 1-25 and 2025-1 alike: Jan-25."""
    harvests = "harvest,date,comb,mass_g\nH1,2025-05-01,mixed,9000\n"
    logs = {"harvests": harvests, "loads": named(LOADS, name), "blocks": named(BLOCKS, name)}
    sound = run("check", write(tmp_path / "before", passes=named(PASSES, name), **logs), "--json").json["problems"]
    assert [f for f in sound if f["severity"] == "error"] == []
    spoilt = PASSES
    for n, month in enumerate(MONTHS, 1):
        spoilt = spoilt.replace(f"\n{n}-25,", f"\n{month}-25,")
    found = run("check", write(tmp_path / "after", passes=spoilt, **logs), "--json").json["problems"]
    (error,) = [f for f in found if f["severity"] == "error"]
    assert (error["log"], error["column"], error["rule"]) == ("passes", "session", "id-spreadsheet")
    assert "lines 2, 3, 4, 5, 6, 7, 8" in error["message"]
    assert "14 rows of blocks.csv, loads.csv" in error["message"]
