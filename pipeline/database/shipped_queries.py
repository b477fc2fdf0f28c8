"""The SELECTs that are shipped as files, each with what it says of itself: what a row is, its columns, what it reads."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable

from pipeline.contract.field_dictionary import FIELDS


@dataclass(frozen=True, slots=True)
class Query:
    """One shipped SELECT: its name (the file's), its text, what it is about and what its columns mean.

    ``kept``: how a model stands in the database file; empty for a figure.
    """

    name: str
    sql: str
    about: str
    columns: dict[str, str]
    kept: str = ""

    @property
    def is_figure(self) -> bool:
        """A model whose rows are for people; those of a step are only needed by others."""
        return self.kept not in ("no", "for answers")

    @property
    def is_view(self) -> bool:
        """A model that is worked out when it is asked, as few ask."""
        return self.kept == "as a view"

    @property
    def is_in_file(self) -> bool:
        """A model that the file holds: any but a step that no answer asks."""
        return self.kept != "no"


@cache
def queries(folder: str) -> tuple[Query, ...]:
    """The shipped SELECTs of a folder (``models``, ``checks``, ``queries`` …), by name.

    The comment lines on top speak: the first says what one row is, ``-- name: meaning`` describes a column,
    ``-- kept: no`` says that the rows are a step to other models, ``-- kept: for answers`` one that answers ask too,
    ``-- kept: as a view`` that they are worked out when asked.
    """
    found = sorted(_sql_files(files("pipeline").joinpath(folder)), key=lambda f: f.name)
    return tuple(_query(f.name.removesuffix(".sql"), f.read_text("utf-8")) for f in found)


def _sql_files(folder: Traversable) -> Iterator[Traversable]:
    """The SQL files of a folder and, for models, of its folders by theme."""
    for entry in folder.iterdir():
        if entry.name.endswith(".sql"):
            yield entry
        elif folder.name == "models" and entry.is_dir():
            yield from _sql_files(entry)


@cache
def query(folder: str, name: str) -> Query:
    """One shipped SELECT of a folder, by name."""
    return _query(name, files("pipeline").joinpath(folder, f"{name}.sql").read_text("utf-8"))


def _query(name: str, sql: str) -> Query:
    about: list[str] = []
    columns: dict[str, str] = {}
    for line in sql.splitlines():
        if not line.startswith("--"):
            break
        words = line.removeprefix("--").strip()
        column, colon, meaning = words.partition(": ")
        if column == "with":
            columns |= {name: FIELDS[name] for name in meaning.split(", ")}
            continue
        if colon and column.isidentifier():
            columns[column] = meaning
        else:
            about.append(words)
    kept = columns.pop("kept", "")
    return Query(name, sql, " ".join(about), columns, kept)
