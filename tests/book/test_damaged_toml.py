"""A book.toml that nobody wrote by hand: one sentence, and soon."""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from pipeline.book.book_toml import read_book

DAMAGED = {
    "brackets": "name = " + "[" * 5000 + "]" * 5000,
    "digits": "name = " + "9" * 5000,
    "dotted key": ".".join("a" for _ in range(20_000)) + " = 1",
    "dotted keys": "\n".join("a" + ".b" * 900 + f".c{n} = 1" for n in range(1_000)),
}


@pytest.mark.parametrize("kind", DAMAGED)
def test_what_the_parser_cannot_hold_is_a_finding(tmp_path: Path, kind: str) -> None:
    (tmp_path / "book.toml").write_text(DAMAGED[kind])
    began = time.process_time()
    _, findings = read_book(tmp_path)
    assert time.process_time() - began < 1
    assert findings
    assert all(f.message and f.fix and len(f.message) < 500 for f in findings)


def test_twenty_thousand_unknown_settings_are_told_in_a_moment(tmp_path: Path) -> None:
    (tmp_path / "book.toml").write_text('name = "x"\n' + "".join(f"key{n} = {n}\n" for n in range(20_000)))
    began = time.process_time()
    _, findings = read_book(tmp_path)
    assert time.process_time() - began < 5
    assert 1000 <= len(findings) < 1010
    assert [f.line for f in findings[:3]] == [2, 3, 4]
    (of_all,) = [f for f in findings if f.line is None]
    assert of_all.place == "book.toml"
