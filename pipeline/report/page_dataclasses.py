"""What the page holds, as frozen dataclasses: sections of panels; each a sentence, a picture, a table, a method.

All is finished text, but for the drawings, which :mod:`pipeline.report.chart_drawing_process` makes:
:mod:`pipeline.report.html_page` only lays it out, and tests read it without HTML.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pipeline.database.shipped_queries import Query


@dataclass(frozen=True, slots=True)
class Drawing:
    """SVG for wide screens and paper, and another for phones where the wide one would be too small."""

    wide: str
    narrow: str | None = None


@dataclass(frozen=True, slots=True)
class Picture:
    """One static picture: ``chart`` makes its drawing, ``says`` states its facts in words for those who do not see it."""

    name: str
    title: str
    says: str
    chart: Callable[[], Drawing]


@dataclass(frozen=True, slots=True)
class TableColumn:
    """One column of a table: its head with the unit, whether figures stand in it (right-aligned) or whole sentences."""

    head: str
    figures: bool = True
    sentences: bool = False


@dataclass(frozen=True, slots=True)
class Table:
    """Finished cells under heads. The first cell of a row names the row; ``more`` says what was summed up or cut."""

    caption: str
    columns: tuple[TableColumn, ...]
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

    @property
    def pictures(self) -> list[Picture]:
        """Its pictures, from the top."""
        return [p.picture for p in self.panels if p.picture]


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
    headline: str = ""
    """The answer in plain text, for a terminal and for JSON."""
    warning: str = ""
    version: str = ""
    language: str = "en"

    @property
    def pictures(self) -> list[Picture]:
        """All pictures, from the top; no two bear one name."""
        return [picture for section in self.sections for picture in section.pictures]
