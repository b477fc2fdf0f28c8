"""What the settings of a book.toml mean, as somebody types them."""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.book.book_toml import read_book

OUNCE_G = 28.349523125  # exact: a pound of 453.59237 g (international yard and pound agreement, 1959) has 16


def settings(folder: Path, text: str) -> Path:
    (folder / "book.toml").write_text('name = "x"\n' + text, "utf-8")
    return folder


def test_a_scale_steps_in_the_unit_that_is_printed_on_it(tmp_path: Path) -> None:
    book, findings = read_book(settings(tmp_path, '[scale]\nstep = "0.1 oz"\n[scale.harvests]\nstep = "1 lb"\n[scale.loads]\nrelative = 0.01\n'))
    assert findings == []
    assert book.scale("blocks").step_g == pytest.approx(OUNCE_G / 10)
    assert book.scale("harvests").step_g == pytest.approx(16 * OUNCE_G)
    assert (book.scale("loads").step_g, book.scale("loads").relative) == (pytest.approx(OUNCE_G / 10), 0.01)


def test_a_log_may_say_its_step_in_another_way_than_the_book(tmp_path: Path) -> None:
    book, findings = read_book(settings(tmp_path, '[scale]\nstep_g = 5\n[scale.blocks]\nstep = "1 g"\n'))
    assert findings == []
    assert (book.scale("passes").step_g, book.scale("blocks").step_g) == (5, 1)


@pytest.mark.parametrize("line", ['step = "5"', "step = 5", 'step = "heavy"', 'step = "5 cm"', 'step = "1 g"\nstep_g = 2'])
def test_a_step_without_a_unit_or_said_twice_is_told(tmp_path: Path, line: str) -> None:
    _, findings = read_book(settings(tmp_path, f"[scale]\n{line}\n"))
    assert [(f.line, f.column, f.rule) for f in findings] == [(3, "scale.step", "book-setting")]
