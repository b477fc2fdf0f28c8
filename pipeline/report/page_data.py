"""What the page holds, as frozen dataclasses: sections of panels; each a sentence, a picture, a table, a method.

Everything here is finished text and SVG: :mod:`pipeline.report.page` only lays it out, and tests read it without HTML.
"""

from __future__ import annotations

from dataclasses import dataclass

from pipeline.warehouse import Query


@dataclass(frozen=True, slots=True)
class Picture:
    """One static drawing: SVG for wide screens and paper, another for phones where the wide one would be too small.

    ``says`` states the facts of the drawing in words, for those who do not see it.
    """

    name: str
    title: str
    says: str
    wide: str
    narrow: str | None = None


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a table: its head with the unit, whether figures stand in it (right-aligned) or whole sentences."""

    head: str
    figures: bool = True
    sentences: bool = False


@dataclass(frozen=True, slots=True)
class Table:
    """Finished cells under heads. The first cell of a row names the row; ``more`` says what was summed up or cut."""

    caption: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]
    more: str = ""
    total: tuple[str, ...] | None = None


@dataclass(frozen=True, slots=True)
class Panel:
    """One question answered: the sentence first, then picture and table, then how it was worked out.

    ``key`` names colours by their meaning where labels cannot stand on the drawing; ``about`` is the panel in a word.
    """

    name: str
    sentence: str
    picture: Picture | None = None
    table: Table | None = None
    points: tuple[str, ...] = ()
    method: str = ""
    queries: tuple[Query, ...] = ()
    extra: tuple[Table, ...] = ()
    key: tuple[tuple[str, str], ...] = ()
    about: str = ""


@dataclass(frozen=True, slots=True)
class Section:
    """One of the reader's questions, with its panels in the order of their weight."""

    name: str
    heading: str
    panels: tuple[Panel, ...]


@dataclass(frozen=True, slots=True)
class Headline:
    """One figure of the top row: what it is, its value with unit, and a word on it."""

    label: str
    value: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class Page:
    """The whole report of one book on one day."""

    name: str
    title: str
    today: str
    season: str
    headlines: tuple[Headline, ...]
    sections: tuple[Section, ...]
    answer: str = ""
    warning: str = ""
    version: str = ""
    language: str = "en"
