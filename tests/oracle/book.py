"""A book as plain Python values, and what its sources and empty masses mean: the ground the oracle stands on.

Nothing of `pipeline` is used here. A book is {log: rows}; a row is a dict with the contract's column names, masses in
grams as Fractions under `mass_g`, `mass_in_g`, `wax_out_g`, `residue_g`, lengths under `_mm`, volumes under `_ml`, an
empty cell absent or None. Exact fractions throughout, so that "to the gram" can be tested as equality.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from datetime import date
from fractions import Fraction
from typing import Any

Row = dict[str, Any]
Logs = dict[str, list[Row]]

LOGS = ("harvests", "loads", "passes", "blocks", "draws", "stocktakes", "blends", "candles", "batches", "sales")
ZERO = Fraction(0)


@dataclass(frozen=True)
class Scale:
    """One scale: readability and the share of the reading that its gain may be off."""

    step_g: Fraction = Fraction(5)
    relative: Fraction = Fraction(1, 1000)


@dataclass(frozen=True)
class Settings:
    """What book.toml says, with the contract's defaults."""

    season_month: int = 1
    season_day: int = 1
    scale: Scale = field(default_factory=Scale)
    other_scales: dict[str, Scale] = field(default_factory=dict)
    pour_loss: float = 0.03
    densities: dict[str, float] = field(default_factory=lambda: {"wax": 0.96, "oil": 0.92, "scent": 0.95})

    def scale_of(self, log: str) -> tuple[str, Scale]:
        """The scale that a log is weighed on, with its name: two scales are two sections of book.toml."""
        return (log, self.other_scales[log]) if log in self.other_scales else ("", self.scale)

    def season(self, day: date) -> str:
        """A season is named by the year it starts in."""
        started = (day.month, day.day) >= (self.season_month, self.season_day)
        return str(day.year if started else day.year - 1)


@dataclass(frozen=True)
class Move:
    """One movement on one source's ledger; `mass` None takes all that is left."""

    day: date
    phase: int  # 0 in, 1 weighed out, 2 all the rest out, 3 emptied, 4 stocktake: the order within a day
    order: int  # file order: the tie rule
    kind: str
    mass: Fraction | None
    key: Any = None


IN, OUT, REST, EMPTIED, COUNTED = range(5)


def walk(moves: Iterable[Move]) -> tuple[dict[Any, Fraction], Fraction]:
    """Walk one ledger; gives what each keyed move really took, and what is left at the end."""
    left, took = ZERO, {}
    for move in sorted(moves, key=lambda m: (m.day, m.phase, m.order)):
        before = left
        if move.phase == IN:
            left += move.mass or ZERO
        elif move.phase == OUT:
            left -= move.mass or ZERO
        elif move.phase in (REST, EMPTIED):
            left -= max(left, ZERO)
        else:
            left = move.mass or ZERO
        took[move.key] = before - left
    return took, left


@dataclass(frozen=True)
class Load:
    """One row of loads with its source looked up and its mass worked out.

    `mass` is None where comb was weighed nowhere; `estimate` stands for it in the waterfall (None: not even that).
    """

    order: int
    session: str
    number: int
    day: date
    kind: str  # comb, block, wax or slumgum
    source: str
    mass: Fraction | None
    estimate: Fraction | None
    weighed: bool
    emptied: bool

    @property
    def flow_mass(self) -> Fraction | None:
        return self.estimate if self.mass is None else self.mass

    @property
    def is_wax(self) -> bool:
        return self.kind in ("block", "wax")


class Book:
    """The rows of a book, by what they are keyed with; loads resolved."""

    def __init__(self, logs: Logs, settings: Settings) -> None:
        self.settings = settings
        self.logs: Logs = {name: list(logs.get(name, [])) for name in LOGS}
        self.harvests = {row["harvest"]: row for row in self.logs["harvests"]}
        self.blocks = {row["block"]: row for row in self.logs["blocks"]}
        self.candles = {row["candle"]: row for row in self.logs["candles"]}
        self.blends = {row["blend"]: row for row in self.logs["blends"]}
        self.passes: dict[str, list[Row]] = defaultdict(list)
        for row in sorted(self.logs["passes"], key=lambda r: r["pass"]):
            self.passes[row["session"]].append(row)
        self.sources = [self._source(row) for row in self.logs["loads"]]
        self.loads = self._resolve_loads()

    def until(self, day: date) -> Book:
        """The book as it stood at the end of a day: only rows dated up to it, loads dated by their pass."""
        kept: Logs = {}
        for name, rows in self.logs.items():
            if name == "loads":
                kept[name] = [row for row in rows if self.load_day(row) <= day]
            else:
                kept[name] = [row for row in rows if "date" not in row or row["date"] <= day]
        return Book(kept, self.settings)

    # Sources -------------------------------------------------------------------------------------------------

    def lookup(self, text: str, logs: dict[str, Iterable[str]]) -> tuple[str, str]:
        """The log that an id stands in: an exact id of one log first, then an id behind the log's name."""
        exact = [log for log, ids in logs.items() if text in ids]
        if len(exact) == 1:
            return exact[0], text
        log, _, name = text.partition(" ")
        assert name in logs.get(log, ()), f"{text!r} is not a source of this book"
        return log, name

    def _source(self, row: Row) -> tuple[str, str]:
        known = {"harvest": self.harvests, "block": self.blocks, "session": self.passes}
        log, name = self.lookup(row["source"], known)  # type: ignore[arg-type]
        return {"harvest": "comb", "block": "block", "session": str(row.get("part"))}[log], name

    def item(self, row: Row) -> tuple[str, str]:
        """What a stocktake counted: a harvest, a block, a candle, or (no item) the whole shelf."""
        if not row.get("item"):
            return "shelf", ""
        known = {"harvest": self.harvests, "block": self.blocks, "candle": self.candles}
        return self.lookup(row["item"], known)  # type: ignore[arg-type]

    def load_day(self, row: Row) -> date:
        number = row.get("pass") or 1
        days: Iterator[date] = (p["date"] for p in self.passes[row["session"]] if p["pass"] == number)
        return next(days)

    # Ledgers: what an empty mass took ------------------------------------------------------------------------

    def grams_per_frame(self, comb: str) -> Fraction | None:
        """A ratio of sums over all harvests of the kind that were both weighed and counted."""
        both = [h for h in self.logs["harvests"] if h["comb"] == comb and h.get("mass_g") and h.get("frames")]
        return sum((h["mass_g"] for h in both), ZERO) / sum(h["frames"] for h in both) if both else None

    def harvested(self, name: str) -> Fraction | None:
        """What a harvest weighs, estimated by its frames where it was not weighed."""
        row = self.harvests[name]
        if row.get("mass_g") is not None:
            return Fraction(row["mass_g"])
        each = self.grams_per_frame(row["comb"])
        return None if each is None else each * row["frames"]

    def ledger(self, kind: str, name: str) -> list[Move]:
        """Everything that went into and out of one source (a harvest, a block, a session's wax or slumgum)."""
        moves = self._arrivals(kind, name)
        if kind == "block":
            moves += [
                Move(d["date"], REST if d.get("mass_g") is None else OUT, i, "draw", d.get("mass_g"), ("draw", i))
                for i, d in enumerate(self.logs["draws"])
                if d["block"] == name
            ]
        for i, (row, source) in enumerate(zip(self.logs["loads"], self.sources, strict=True)):
            if source == (kind, name):
                day, mass, order = self.load_day(row), row.get("mass_g"), len(self.logs["draws"]) + i
                moves.append(Move(day, REST if mass is None else OUT, order, "load", mass, ("load", i)))
                if row.get("emptied"):
                    moves.append(Move(day, EMPTIED, order, "emptied", None, ("emptied", i)))
        counted = {"comb": "harvest"}.get(kind, kind)
        return moves + [
            Move(row["date"], COUNTED, i, "stocktake", row["mass_g"], ("stocktake", i))
            for i, row in enumerate(self.logs["stocktakes"])
            if self.item(row) == (counted, name)
        ]

    def _arrivals(self, kind: str, name: str) -> list[Move]:
        if kind == "comb":
            return [Move(self.harvests[name]["date"], IN, 0, "harvested", self.harvested(name), "in")]
        if kind == "block":
            row = self.blocks[name]
            kind = "cast" if row.get("session") else "recovered" if row.get("batch") else "bought"
            return [Move(row["date"], IN, list(self.blocks).index(name), kind, row["mass_g"], "in")]
        passes = self.passes[name]
        if kind == "slumgum":
            return [Move(p["date"], IN, p["pass"], "residue", p.get("residue_g"), ("in", p["pass"])) for p in passes]
        cast = [b for b in self.logs["blocks"] if b.get("session") == name]
        rest = [Move(b["date"], IN, i, "cast", -b["mass_g"], ("cast", i)) for i, b in enumerate(cast)]
        return [Move(passes[-1]["date"], IN, -1, "wax", passes[-1].get("wax_out_g"), "in"), *rest]

    def _resolve_loads(self) -> list[Load]:
        took: dict[Any, Fraction] = {}
        for kind, name in sorted(set(self.sources)):
            took |= {key: mass for key, mass in walk(self.ledger(kind, name))[0].items() if key[0] == "load"}
        loads = [self._load(i, took[("load", i)]) for i in range(len(self.sources))]
        return [self._weighed_by_the_pass(load, loads) if load.mass is None else load for load in loads]

    def _load(self, i: int, took: Fraction) -> Load:
        row, (kind, name) = self.logs["loads"][i], self.sources[i]
        weighed = row.get("mass_g") is not None
        unknown = kind == "comb" and not weighed and not self.on_a_scale_before(name, self.load_day(row))
        estimable = not unknown or self.harvested(name) is not None
        return Load(
            i, row["session"], row.get("pass") or 1, self.load_day(row), kind, name,
            None if unknown else took, took if estimable else None, weighed, bool(row.get("emptied")),
        )  # fmt: skip

    def on_a_scale_before(self, name: str, day: date) -> bool:
        """Whether a harvest had been on a scale when a load took the rest: at harvest, or at a stocktake before."""
        counted = [row["date"] for row in self.logs["stocktakes"] if self.item(row) == ("harvest", name)]
        return self.harvests[name].get("mass_g") is not None or any(when < day for when in counted)

    def _weighed_by_the_pass(self, load: Load, loads: list[Load]) -> Load:
        """Comb counted in frames only takes what its pass's mass_in leaves beside the other loads and the last wax.

        Several such loads in one pass share it by their estimates, evenly where one has none.
        """
        before, here = None, None
        for row in self.passes[load.session]:
            before, here = (here, row) if row["pass"] <= load.number else (before, here)
        assert here is not None
        last_wax = before.get("wax_out_g") if before else ZERO
        if here.get("mass_in_g") is None or last_wax is None:
            return load
        beside = [o for o in loads if (o.session, o.number) == (load.session, load.number)]
        left = max(here["mass_in_g"] - last_wax - sum((o.mass for o in beside if o.mass is not None), ZERO), ZERO)
        unknown = [o for o in beside if o.mass is None]
        estimates = [o.estimate for o in unknown]
        known = None not in estimates and sum(e for e in estimates if e) > 0
        total = sum((e for e in estimates if e), ZERO)
        share = load.estimate / total if known and load.estimate is not None else Fraction(1, len(unknown))
        return replace(load, mass=left * share)
