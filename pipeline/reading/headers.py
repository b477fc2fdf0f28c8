"""What the cells of a header mean: which column of the log each is, and the unit that it carries."""

from __future__ import annotations

import difflib
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache

from pipeline.contract.columns import SUFFIXES, CellKind, Column, Log
from pipeline.contract.quantities import UNITS, Dimension, Refusal
from pipeline.reading.record_reader import Layout


@dataclass(frozen=True, slots=True)
class Heading:
    """One cell of the header: as typed, the log's column that it names (None: unknown), its unit.

    ``field`` is the column's name in the database; ``cell`` its position in the row.
    """

    text: str
    cell: int
    column: Column | None
    unit: str | None
    field: str

    @property
    def raw(self) -> str:
        """The quoted name of its text among the records; it begins with a space, as no field does."""
        return f'" {self.cell}"'

    @property
    def fits(self) -> str:
        """The quoted name of whether that text has the plain form of its kind."""
        return f'" {self.cell} fits"'


def layout(log: Log, cells: Sequence[str], separator: str) -> Layout:
    """How the records under a header are laid out: line breaks stand in text, and in what the log does not know."""
    width = max((n + 1 for n, cell in enumerate(cells) if cell.strip()), default=0)
    meant = (named(log, cell) for cell in cells[:width])
    takes_breaks = frozenset(n for n, match in enumerate(meant) if match is None or match[0].kind is CellKind.TEXT)
    return Layout(separator, width, takes_breaks)


@dataclass(frozen=True, slots=True)
class HeaderFault:
    """Something about the header that stops the reading of the file (``note``: that does not)."""

    column: str | None
    refusal: Refusal
    note: bool = False


def known_names(log: Log, cells: Sequence[str]) -> int:
    """How many different columns of the log these cells name."""
    meanings = _meanings(log)
    return len({match[0].name for cell in cells if (match := meanings.get(_plain(cell)))})


def headings(log: Log, cells: Sequence[str]) -> tuple[list[Heading], list[HeaderFault]]:
    """What each cell of a header means, empty ones at the end left away, and what is wrong with them."""
    width = max((n + 1 for n, cell in enumerate(cells) if cell.strip()), default=0)
    meant = [named(log, cell) for cell in cells[:width]]
    taken = {c.field for c in log.columns} | {"row", "bad"}
    made = []
    for n, (cell, match) in enumerate(zip(cells[:width], meant, strict=True)):
        column, unit = match or (None, None)
        field = column.field if column else _free(cell.strip() or f"column {n + 1}", taken)
        made.append(Heading(cell.strip(), n, column, unit, field))
    return made, [*_wrong_units(log, made), *_twice(made), *_missing(log, made), *_unknown(log, made)]


def _plain(cell: str) -> str:
    return "_".join(cell.strip().strip("\ufeff").lower().split())


def named(log: Log, cell: str) -> tuple[Column, str | None] | None:
    """The column and unit that a header cell, or a name typed, means; None where it means none, or a wrong unit."""
    return _meanings(log).get(_plain(cell))


@cache
def _meanings(log: Log) -> Mapping[str, tuple[Column, str | None]]:
    """Every name that a header cell may have; a column's own name wins over one that ends in a unit."""
    suffixed = {f"{c.name}_{unit}": (c, unit) for c in reversed(log.columns) for unit in SUFFIXES.get(c.kind, ())}
    return suffixed | {c.name: (c, None) for c in log.columns}


def _free(name: str, taken: set[str]) -> str:
    """A name for an unknown column that no other has, remembered in ``taken``; case does not part names."""
    tries = [name, *(f"{name} {n}" for n in range(2, len(taken) + 3))]
    free = next(t for t in tries if t.casefold() not in taken)
    taken.add(free.casefold())
    return free


def _misfit(log: Log, heading: Heading) -> Column | None:
    """The measured column that an unknown heading names with a unit of something else."""
    name = _plain(heading.text)
    for column in log.columns:
        unit = name.removeprefix(f"{column.name}_")
        if heading.column is None and unit != name and unit in UNITS and column.kind in SUFFIXES:
            return column
    return None


def _wrong_units(log: Log, made: list[Heading]) -> list[HeaderFault]:
    faults = []
    for heading in made:
        column = _misfit(log, heading)
        if column:
            unit = UNITS[_plain(heading.text).removeprefix(f"{column.name}_")]
            ends = ", ".join(f"_{s}" for s in SUFFIXES[column.kind])
            wanted = Dimension(column.kind).said
            reason = f"the header says {heading.text}, but {unit.name} measures a {unit.dimension.said}, not a {wanted}"
            faults.append(HeaderFault(column.name, Refusal("header-unit", reason, f"end it in one of {ends}")))
    return faults


def _twice(made: list[Heading]) -> list[HeaderFault]:
    counts = Counter(h.column.name for h in made if h.column)
    faults = []
    for name in (n for n, count in counts.items() if count > 1):
        texts = " and ".join(h.text for h in made if h.column and h.column.name == name)
        reason = f"{counts[name]} columns give the {name} ({texts}), one was expected"
        faults.append(HeaderFault(name, Refusal("column-twice", reason, "keep one of them")))
    return faults


def _missing(log: Log, made: list[Heading]) -> list[HeaderFault]:
    there = {h.column.name for h in made if h.column} | {m.name for h in made if (m := _misfit(log, h))}
    lost = [c for c in log.columns if c.required and c.name not in there]
    return [HeaderFault(c.name, _lost(c, made)) for c in lost]


def _lost(column: Column, made: list[Heading]) -> Refusal:
    name = column.name + ("_g" if "g" in SUFFIXES.get(column.kind, ()) else "")
    near = difflib.get_close_matches(column.name, [h.text.lower() for h in made if not h.column], 1, 0.6)
    fix = f"is {near[0]} meant? name it {name}" if near else f"add a column named {name}"
    return Refusal("column-missing", f"the header has no {column.name}, which every row needs ({column.about})", fix)


def _unknown(log: Log, made: list[Heading]) -> list[HeaderFault]:
    names = [h.text or f"(column {h.cell + 1} has no name)" for h in made if not h.column and not _misfit(log, h)]
    if not names:
        return []
    known = [c.name for c in log.columns]
    near = [(n, m[0]) for n in names if (m := difflib.get_close_matches(_plain(n), known, 1, 0.75))]
    fix = "; ".join(f"if {n} means {m}, name it so" for n, m in near) or "nothing to do if that is meant"
    listed = ", ".join(names)
    reason = f"kept as it is, but not used: {listed[:300]} (no column of this log)"
    return [HeaderFault(None, Refusal("column-unknown", reason, fix), note=True)]
