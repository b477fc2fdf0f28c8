"""Weights typed as sums and differences: the result is written, what was typed is noted; in a log they are errors."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from pipeline.contract.log_columns import LOGS
from pipeline.recording import record_and_undo, row_change
from tests.books import run, write

TODAY = date(2026, 11, 1)
SETTINGS = 'name = "test"\n[vessels]\ncrock = "500 g"\n'
HARVESTS = "harvest,date,comb,mass_kg,notes\nH1,2026-05-01,mixed,2,dry\n"


def test_a_difference_with_a_vessel_is_worked_out_and_noted(tmp_path: Path) -> None:
    """10 lb 6 oz is 4706.0208 g (453.59237 g to the pound); the crock weighs 500 g."""
    folder = write(tmp_path, SETTINGS, harvests=HARVESTS)
    row = {"harvest": "H2", "date": "2026-05-02", "comb": "mixed", "mass": "10 lb 6 oz - crock", "notes": "wet"}
    assert record_and_undo.record(folder, {"harvest": [row]}, "a harvest", TODAY).written
    last = (folder / "harvests.csv").read_text().splitlines()[-1]
    assert last == "H2,2026-05-02,mixed,4.20602,wet; mass: 10 lb 6 oz - crock"
    row_change.change(folder, LOGS["harvests"], "H1", {"mass": "2 lb 3 oz + 1 lb"}, TODAY)
    changed = (folder / "harvests.csv").read_text().splitlines()[1]
    assert changed == "H1,2026-05-01,mixed,1.44583,dry; mass: 2 lb 3 oz + 1 lb"


def test_a_sum_that_cannot_be_worked_out_is_refused_and_one_in_a_log_is_an_error(tmp_path: Path) -> None:
    folder = write(tmp_path, SETTINGS, harvests=HARVESTS + "H2,2026-05-01,mixed,5 kg - crock,\n")
    found = run("check", folder, "--json").json["problems"]
    assert [(f["line"], f["column"], f["severity"]) for f in found] == [(3, "mass", "error")]
    row = {"harvest": "H3", "date": "2026-05-02", "comb": "mixed"}
    for typed in ("5 kg - kettle", "400 g - crock", "5 + 3"):
        assert record_and_undo.record(folder, {"harvest": [row | {"mass": typed}]}, "a harvest", TODAY).refused


def test_a_sum_is_written_as_shortly_as_the_unit_of_the_log_allows(tmp_path: Path) -> None:
    """10 lb 6 oz less 2 lb 3 oz are 8 lb 3 oz, 8.1875 lb by the pencil: not what 0.01 g makes of it, 8.187505447."""
    header = HARVESTS.replace("mass_kg", "mass_lb")
    folder = write(tmp_path, 'name = "test"\n[vessels]\ncrock = "2 lb 3 oz"\n', harvests=header.splitlines()[0])
    row = {"harvest": "H2", "date": "2026-05-02", "comb": "mixed", "mass": "10 lb 6 oz - crock"}
    assert not record_and_undo.record(folder, {"harvest": [row]}, "a sum", TODAY).findings
    assert (folder / "harvests.csv").read_text().splitlines()[-1] == "H2,2026-05-02,mixed,8.1875,mass: 10 lb 6 oz - crock"
