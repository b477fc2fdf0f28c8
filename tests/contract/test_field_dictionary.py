"""The field dictionary: what is the same everywhere is described once, and every column that is kept is described."""

from __future__ import annotations

from collections import defaultdict

import pytest

from pipeline.contract.field_dictionary import FIELDS
from pipeline.database.shipped_queries import Query, queries
from tests.small_books import figures


def own(model: Query) -> dict[str, str]:
    """What a model's own header describes."""
    lines = (line.removeprefix("--").strip().partition(": ") for line in model.sql.splitlines() if line.startswith("--"))
    return {name: meaning for name, colon, meaning in lines if colon and name.isidentifier() and name not in ("with", "kept")}


def test_no_model_says_again_what_the_dictionary_or_another_model_says() -> None:
    said: dict[tuple[str, str], list[str]] = defaultdict(list)
    for model in queries("models"):
        for name, meaning in own(model).items():
            assert FIELDS.get(name) != meaning, f"{model.name} repeats the dictionary on {name}"
            said[name, meaning].append(model.name)
    assert {column: models for column, models in said.items() if len(models) > 1} == {}


def test_every_field_of_the_dictionary_stands_in_several_models() -> None:
    found = [name for model in queries("models") for name in model.columns if name in FIELDS and name not in own(model)]
    assert [name for name in FIELDS if found.count(name) < 2] == []


@pytest.fixture(scope="module")
def described() -> dict[str, list[str]]:
    """The columns of every model in an empty book."""
    book = figures(whole=True)
    return {m.name: [c["column_name"] for c in book.rows(f'DESCRIBE "{m.name}"')] for m in queries("models")}


def test_every_column_is_described_and_nothing_else(described: dict[str, list[str]]) -> None:
    assert {m.name: list(m.columns) for m in queries("models")} == described
