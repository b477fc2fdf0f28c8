"""A book: the folder with one person's records, and what its ``book.toml`` says."""

from __future__ import annotations

import os
import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from types import MappingProxyType
from typing import Any, Final

from pipeline.book import settings_from_toml
from pipeline.book.regular_files import bytes_of
from pipeline.contract import formulas
from pipeline.contract.findings import Finding, MachineFault, Severity

TOML = "book.toml"
_LONGEST, _LARGEST = 2_000, 1_000_000
"""Most characters of one line of it, and of all: settings nest three deep, and long lists have some hundreds: a judgement."""
DATABASE = "combtally.duckdb"
REPORTS = "reports"
"""The folder inside a book that reports go into where nobody names another."""
WORKSHOP = ".combtally"
"""The folder inside a book for what is being worked on: locks, drafts, what an interrupted recording left."""
RULES: Final = MappingProxyType({
    "book-missing": "a folder without a book.toml",
    "book-unreadable": "a book.toml that is not TOML",
    "book-unknown-key": "a setting that there is not",
    "book-setting": "a setting whose value cannot be used, or a name that is missing",
})  # fmt: skip
"""Every rule of ``book.toml`` with what it finds, for the documentation."""
SHEETS = (".xlsx", ".ods")
"""The kinds of file that are spreadsheets."""
ENDINGS = (".csv", ".tsv", ".txt", *SHEETS)
"""The kinds of file that a log may be, in the order in which they are looked for."""


@dataclass(frozen=True, slots=True)
class Scale:
    """A scale: its readability in g, and a share of the reading, both for standard uncertainties."""

    step_g: float = 5.0
    relative: float = 0.001

    def variance_g2(self, mass_g: float) -> float:
        """The variance of one weighing: a rectangular step and a share of the reading (GUM 4.3.7, 5.1.2)."""
        return formulas.variance_g2(self.step_g, self.relative, mass_g)


@dataclass(frozen=True, slots=True)
class Show:
    """The units that people are shown."""

    mass: str = "kg"
    length: str = "mm"
    temperature: str = "C"

    @property
    def mass_unit(self) -> str:
        """The unit of a bare number: pounds, where pounds and ounces are shown."""
        return "lb" if self.mass == "lb oz" else self.mass


def _densities() -> dict[str, float]:
    return {"wax": 0.96, "oil": 0.92, "scent": 0.95}


@dataclass(frozen=True, slots=True)
class Book:
    """What ``book.toml`` says; masses in g, shares 0-1, densities in g/ml, costs per kg and hour."""

    folder: Path
    name: str
    season_starts: tuple[int, int] = (1, 1)
    currency: str = "EUR"
    dates: str = "iso"
    decimal: str = "auto"
    show: Show = Show()
    scales: dict[str, Scale] = field(default_factory=dict)
    vessels: dict[str, float] = field(default_factory=dict)
    vats: dict[str, float] = field(default_factory=dict)
    """What a vessel that must stay full holds, g."""
    comb_kinds: dict[str, tuple[float, float]] = field(default_factory=dict)
    methods: tuple[str, ...] = ()
    changes: dict[date, str] = field(default_factory=dict)
    pour_loss_share: float = 0.03
    densities: dict[str, float] = field(default_factory=_densities)
    costs: dict[str, float] = field(default_factory=dict)

    def scale(self, log: str) -> Scale:
        """The scale that a log is weighed on."""
        return self.scales.get(log) or self.scales.get("") or Scale()

    def more_words(self) -> dict[str, tuple[str, ...]]:
        """The comb kinds and methods that the book adds, by the list that they extend."""
        return {"comb_kinds": tuple(self.comb_kinds), "methods": self.methods}

    def log_files(self, log: str) -> list[Path]:
        """The files that hold a log: none, one, or several that then contradict one another."""
        return [f for ending in ENDINGS if os.path.lexists(f := self.folder / f"{log}{ending}")]


def read_book(folder: Path) -> tuple[Book, list[Finding]]:
    """The book in a folder, and what is wrong with its ``book.toml``; a faulty setting keeps its default.

    Raises MachineFault where the file may not be read.
    """
    file = folder / TOML
    try:
        text = bytes_of(file).decode("utf-8-sig")
    except FileNotFoundError:
        return Book(folder, folder.resolve().name), [_no_toml()]
    except UnicodeDecodeError:
        return Book(folder, folder.resolve().name), [_not_toml("it is not UTF-8 text", None)]
    except OSError as fault:
        raise MachineFault(f"{TOML} cannot be read: {fault.strerror}") from fault
    if too_long := _too_long(text):
        return Book(folder, folder.resolve().name), [too_long]
    try:
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError as fault:
        line = re.search(r"at line (\d+)", str(fault))
        reason = re.sub(r" \(at .*\)", "", str(fault))
        found = _not_toml(f"it cannot be read as TOML ({reason})", int(line[1]) if line else None)
        return Book(folder, folder.resolve().name), [found]
    except (RecursionError, ValueError):
        found = _not_toml("it is nested too deeply, or holds a number of thousands of digits", None)
        return Book(folder, folder.resolve().name), [found]
    values, complaints = settings_from_toml.checked(raw)
    lines = settings_from_toml.lines_of(text)
    return _book(folder, values), [_finding(c, lines) for c in complaints]


def _too_long(text: str) -> Finding | None:
    """Why a text is no book.toml of a person: the library that reads it takes minutes for a key of very many parts."""
    long = next(((n, len(line)) for n, line in enumerate(text.splitlines(), 1) if len(line) > _LONGEST), None)
    if long:
        return _not_toml(f"the line is {long[1]:,} characters long, {_LONGEST:,} were expected at most", long[0])
    if len(text) > _LARGEST:
        return _not_toml(f"it holds {len(text):,} characters, {_LARGEST:,} were expected at most", None)
    return None


def _book(folder: Path, values: dict[str, Any]) -> Book:
    """A book from checked settings; what is not given keeps its default."""
    given = ("season_starts", "currency", "dates", "decimal", "comb_kinds", "changes", "costs")
    plain: dict[str, Any] = {key: values[key] for key in given if key in values}
    forecast, vessels = values.get("forecast", {}), values.get("vessels", {})
    if "pour_loss_pct" in forecast:
        plain["pour_loss_share"] = forecast["pour_loss_pct"] / 100
    return Book(
        folder,
        values.get("name", folder.resolve().name),
        show=Show(**values.get("show", {})),
        scales=_scales(values.get("scale", {})),
        vessels={name: empty_g for name, (empty_g, _) in vessels.items()},
        vats={name: full_g - empty_g for name, (empty_g, full_g) in vessels.items() if full_g is not None},
        methods=tuple(values.get("methods", {}).get("names", ())),
        densities=_densities() | values.get("densities", {}),
        **plain,
    )


def _scales(section: dict[str, Any]) -> dict[str, Scale]:
    """The scales by log, the book's own scale under the empty name; a log's scale inherits what it leaves out."""
    own = _in_grams({k: v for k, v in section.items() if not isinstance(v, dict)})
    per_log = {log: Scale(**(own | _in_grams(v))) for log, v in section.items() if isinstance(v, dict)}
    return {"": Scale(**own)} | per_log


def _in_grams(scale: dict[str, Any]) -> dict[str, Any]:
    """A scale's settings, with a step in a unit of its own (read already) as the step in grams that it is."""
    return {"step_g" if key == "step" else key: value for key, value in scale.items()}


def _finding(complaint: settings_from_toml.Complaint, lines: Mapping[tuple[str, ...], int]) -> Finding:
    name, line = ".".join(complaint.path), lines.get(complaint.path)
    told = complaint.value
    value = told if told is None or isinstance(told, str) else settings_from_toml.shown(told)
    return Finding(TOML, line, name, value, complaint.rule, Severity.ERROR, complaint.message, complaint.fix)


def _no_toml() -> Finding:
    message = "the folder has no book.toml, so nothing says whose records these are"
    fix = 'make one that holds at least name = "Larkmoor"'
    return Finding(TOML, None, None, None, "book-missing", Severity.ERROR, message, fix)


def _not_toml(reason: str, line: int | None) -> Finding:
    fix = 'write settings as name = "Larkmoor", one to a line, text in double quotes'
    return Finding(TOML, line, None, None, "book-unreadable", Severity.ERROR, reason, fix)
