"""Cautions come where the logs give a reason, once each, and not otherwise."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from pipeline import flow
from pipeline.answers.cautions_due import care
from tests.books import write

PASSES = "session,pass,date,method,wax_out_g,peak_temp_c,notes\nS1,1,2025-06-01,water bath,900,{heat},{note}\nS2,1,2025-06-02,water bath,800,70,{note}"


@pytest.mark.parametrize(("heat", "note", "harvest", "expected"), [
    (80, "a fine day", "", {}),
    (86, "", "", {"darkening": ("passes", 2, 1)}),
    (85, "", "", {}),
    (80, "grey and spongy", "", {"water": ("passes", 2, 2)}),
    (80, "in the old copper pan", "", {"metal": ("passes", 2, 2)}),
    (80, "the ironing was done too", "", {}),
    (80, "", "AFB found in hive 3", {"foulbrood": ("harvests", 2, 1)}),
    (80, "", "strips were in until May", {"treatments": ("harvests", 2, 1)}),
])  # fmt: skip
def test_a_caution_for_each_reason(heat: int, note: str, harvest: str, expected: dict[str, object], tmp_path: Path) -> None:
    book = write(tmp_path, passes=PASSES.format(heat=heat, note=note), harvests=f"harvest,date,comb,mass_g,hold\nH1,2025-05-01,brood comb,900,{harvest}")
    found = care(flow.load(book, date(2026, 1, 1)))
    assert {c.caution: (c.log, c.line, c.rows) for c in found} == expected
    assert all(c.says and c.source for c in found)


def test_a_caution_with_reasons_in_several_logs_is_said_once(tmp_path: Path) -> None:
    blocks = "block,date,mass_g,session,notes\nB1,2025-06-02,800,S1,grey underneath\nB2,2025-06-03,100,S1,grey too"
    found = care(flow.load(write(tmp_path, passes=PASSES.format(heat=80, note="grey and spongy"), blocks=blocks), date(2026, 1, 1)))
    assert [(c.caution, c.log, c.line, c.rows) for c in found] == [("water", "blocks", 2, 4)]


def test_a_note_with_several_telltales_of_a_caution_counts_its_row_once(tmp_path: Path) -> None:
    harvests = "harvest,date,comb,mass_g,hold,notes\nH1,2025-05-01,brood comb,900,disease,AFB: foul brood in the sickly comb\nH2,2025-05-02,brood comb,900,,well"
    found = care(flow.load(write(tmp_path, harvests=harvests), date(2026, 1, 1)))
    assert [(c.caution, c.log, c.line, c.rows) for c in found] == [("foulbrood", "harvests", 2, 1)]
