"""The panel on weights is worked out anew when what it rests on has changed, and at no other time."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from pipeline import flow
from pipeline.answers import suspects
from pipeline.report import page_of_book, panel_suspect_weights
from pipeline.report.page_dataclasses import Panel
from tests.books import write

BLOCKS = "block,session,date,mass_g\nB1,S1,2026-05-03,2990\nB2,S2,2026-05-13,3300\n"


def test_it_is_kept_while_the_weighings_stay(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    book = write(
        tmp_path / "b", 'name = "t"\n',
        harvests="harvest,date,hives,comb,mass_g\nH1,2026-05-01,A,cappings,8000\n",
        loads="session,source,mass_g\nS1,H1,4000\nS2,H1,4000\n",
        passes="session,pass,date,method,wax_out_g\nS1,1,2026-05-02,solar,3000\nS2,1,2026-05-12,solar,3030\n",
        blocks=BLOCKS,
        sales="date,candle,count,price\n2026-06-01,taper,1,2\n",
    )  # fmt: skip
    worked_out: list[int] = []
    fit = suspects.fit

    def counted(loaded: flow.Loaded, latest: int | None = None) -> suspects.Fit:
        worked_out.append(1)
        return fit(loaded, latest)

    def shown() -> tuple[int, Panel]:
        worked_out.clear()
        loaded = flow.load(book, date(2026, 11, 1))
        units = page_of_book.units_of(loaded)
        panel = panel_suspect_weights.panel(loaded, units)
        made = len(worked_out)
        assert repr(panel) == repr(panel_suspect_weights.of(fit(loaded, suspects.LATEST), units))
        return made, panel

    def shown_again(before: Panel) -> bool:  # charts are equal by what they draw
        made, panel = shown()
        return made == 0 and repr(panel) == repr(before)

    monkeypatch.setattr(suspects, "fit", counted)
    made, first = shown()
    assert made == 1
    assert first.table is not None
    assert first.table.rows[0][0] == "blocks.csv line 3, mass"
    assert shown_again(first)
    (book / "sales.csv").write_text("date,candle,count,price\n2026-06-02,taper,2,2\n")
    assert shown_again(first)
    (book / "blocks.csv").write_text(BLOCKS.replace("3300", "3020"))
    made, mended = shown()
    assert (made, mended.table) == (1, None)
    (book / "book.toml").write_text('name = "t"\n[scale]\nstep_g = 50\n')
    assert shown()[0] == 1
