"""The documents say what the code does: made parts are fresh, commands exist and run, every column is described."""

from __future__ import annotations

import re

import pytest

from pipeline.cli import app
from pipeline.contract.log_columns import LOGS
from tests import docs
from tests.books import ROOT, run


@pytest.mark.parametrize("file", docs.MADE, ids=lambda f: f.name)
def test_made_parts_are_fresh(file) -> None:  # type: ignore[no-untyped-def]
    assert file.read_text("utf-8") == docs.renewed(file), "run python -m tests.docs"


def test_every_command_is_in_the_readme_and_every_command_of_the_readme_exists() -> None:
    text = docs.README.read_text("utf-8")
    commands = {c.name or c.callback.__name__ for c in app().registered_commands if c.callback}
    named = set(re.findall(r"`(\w+) BOOK", text)) | set(re.findall(r"combtally (\w+) larkmoor", text))
    assert commands <= named
    assert named - commands == set()


def test_every_column_has_a_meaning() -> None:
    for log in LOGS.values():
        assert log.row_is
        assert all(c.about for c in log.columns)


def test_the_main_command_of_the_readme_is_the_one_that_the_demo_is_dated_for() -> None:
    (command,) = re.findall(r"<!-- main command -->\n```sh\n(.*?)\n```", docs.README.read_text("utf-8"))
    words = command.split(".venv/bin/combtally ")[1].split()
    assert words == ["build", "data/demo", "--today", "2026-11-01", "--out", "reports"]
    assert run("check", ROOT / words[1]).code == 0
