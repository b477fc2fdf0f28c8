"""A book: the folder with one person's records, and what its ``book.toml`` says."""

from __future__ import annotations

import os
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

from pipeline.contract import formulas_in_sql_and_python, shipped_files

TOML = "book.toml"
DATABASE = "combtally.duckdb"
REPORTS = "reports"
"""The folder inside a book that reports go into where nobody names another."""
WORKSHOP = ".combtally"
"""The folder inside a book for what is being worked on: locks, drafts, what an interrupted recording left."""
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
        return formulas_in_sql_and_python.variance_g2(self.step_g, self.relative, mass_g)


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


def usual_densities() -> dict[str, float]:
    """Of wax, oil and scent near 20 °C, g/ml, where a book gives none."""
    known = {row["material"]: float(row["g_per_ml"]) for row in shipped_files.reference("densities")}
    return {material: known[material] for material in ("wax", "oil", "scent")}


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
    densities: dict[str, float] = field(default_factory=usual_densities)
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
