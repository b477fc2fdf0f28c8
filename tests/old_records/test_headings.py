"""Headings as people write them, and what each is taken for (common usage, no source)."""

from __future__ import annotations

import pytest

from pipeline.old_records.heading_words import read_heading


@pytest.mark.parametrize(("text", "meaning", "unit", "number"), [
    ("Comb lbs", "in", "lb", None), ("Wax out (lbs.)", "out", "lb", None), ("Weight of comb", "in", None, None),
    ("Weight of wax, kg", "out", "kg", None), ("Kg in", "in", "kg", None), ("Pounds of wax", "out", "lb", None),
    ("Pass 1 (lb)", "out", "lb", 1), ("2nd melt kg", "out", "kg", 2), ("after 3rd filter", "out", None, 3),
    ("in 2", "in", None, 2), ("Slumgum", "residue", None, None), ("Max temp °F", "peak_temp", "f", None),
    ("Hours", "time", "h", None), ("Yield %", "worked_out", None, None), ("Total wax", "worked_out", None, None),
    ("Bee yard", "apiary", None, None), ("Remarks", "notes", None, None), ("Weight", "weight", None, None),
    ("bee mood", None, None, None), ("Wachs kg", "out", "kg", None), ("Pass", "pass", None, None),
])  # fmt: skip
def test_a_heading_says(text: str, meaning: str | None, unit: str | None, number: int | None) -> None:
    found = read_heading(text)
    assert (found.meaning, found.unit, found.number) == (meaning, unit, number)
