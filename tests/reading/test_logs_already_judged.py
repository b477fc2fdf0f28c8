"""A log is judged by its pandera model once: rows added since are held to the same rules, any other change is judged whole."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from pipeline import flow
from pipeline.reading import one_log
from tests.books import write

TODAY = date(2026, 11, 1)


@pytest.fixture
def book(tmp_path: Path) -> Path:
    return write(
        tmp_path / "book",
        harvests="harvest,date,comb,mass_g\nH1,2025-05-01,cappings,1000",
        loads="session,source\nS1,H1",
        passes="session,pass,date,method,wax_out_g\nS1,1,2025-05-02,steam,600",
    )


@pytest.fixture
def judged(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The logs that a model was made for, as they come."""
    names: list[str] = []
    whole = one_log.model

    def noted(log, more, columns):  # type: ignore[no-untyped-def]
        names.append(log.name)
        return whole(log, more, columns)

    monkeypatch.setattr(one_log, "model", noted)
    return names


def findings(book: Path, judged: list[str]) -> list[tuple[str, str | None]]:
    judged.clear()
    return [(f.rule, f.value) for f in flow.opened(book, TODAY).findings if f.rule != "log-missing"]


def test_rows_added_since_need_no_model_and_are_held_to_its_rules(book: Path, judged: list[str]) -> None:
    before = findings(book, judged)
    assert set(judged) == {"harvests", "loads", "passes"}
    with (book / "harvests.csv").open("a") as log:
        log.write("H2,2025-05-02,cappings,-5\n")
    after = findings(book, judged)
    assert judged == []
    assert [f for f in after if f not in before] == [("not-above", "-5")]


def test_a_log_changed_otherwise_is_judged_whole_and_no_other(book: Path, judged: list[str]) -> None:
    findings(book, judged)
    (book / "loads.csv").write_text("session,source,mass_g\nS1,H1,900\n")
    findings(book, judged)
    assert judged == ["loads"]


def test_other_settings_have_every_log_judged(book: Path, judged: list[str]) -> None:
    findings(book, judged)
    (book / "book.toml").write_text('name = "other"\n')
    findings(book, judged)
    assert set(judged) == {"harvests", "loads", "passes"}


def test_what_is_remembered_is_believed_only_whole(book: Path, judged: list[str]) -> None:
    findings(book, judged)
    for kept in (book / ".combtally" / "judged").iterdir():
        kept.write_text(kept.read_text() + " ")
    (book / "loads.csv").write_text("session,source,mass_g\nS1,H1,900\n")
    findings(book, judged)
    assert set(judged) == {"harvests", "loads", "passes"}
