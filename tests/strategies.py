"""Whole random books, valid but rich, and a writer that turns one into a folder of CSV files.

`books()` is the hypothesis strategy; `made_book(Random)` makes the same from a seed. The books are invented and not
meant to be plausible: they hold every way of leaving things out that the logs allow, in small numbers.
"""

from __future__ import annotations

import os
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from fractions import Fraction
from pathlib import Path
from random import Random

from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st

from tests.oracle.book import LOGS, Book, Logs, Row, Scale, Settings

COMBS = ("cappings", "brood comb", "white comb", "mixed")
METHODS = ("steam", "solar", "press")
LAST_DAY = date(2026, 10, 31)
MASS_UNITS = {"g": Fraction(1), "kg": Fraction(1000), "oz": Fraction("28.349523125"), "lb": Fraction("453.59237")}


@dataclass
class Maker:
    """Makes one book in the order in which a keeper would live it, so that sources exist before they are loaded."""

    rng: Random
    logs: Logs = field(default_factory=lambda: {name: [] for name in LOGS})
    left: dict[tuple[str, str], int] = field(default_factory=dict)  # what may still be loaded, roughly
    ready: dict[tuple[str, str], date] = field(default_factory=dict)
    taken: set[tuple[str, str]] = field(default_factory=set)  # what a row with an empty mass took the rest of
    day: date = date(2023, 10, 20)

    def chance(self, per_cent: int) -> bool:
        return self.rng.randrange(100) < per_cent

    def later(self, most: int = 60) -> date:
        self.day += timedelta(days=self.rng.choice((0, 1, 3, 20, most)))
        return self.day

    def new_id(self, log: str, column: str, stem: str) -> str:
        """A running number, often the same in several logs; now and then a name that looks like a prefix."""
        n = str(len(self.logs[log]) + 1)
        if self.chance(50):
            return n
        return f"block {n}x" if log == "harvests" and self.chance(10) else stem + n

    # Comb ---------------------------------------------------------------------------------------------------------

    def harvest(self) -> None:
        row: Row = {"harvest": self.new_id("harvests", "harvest", "H"), "date": self.later(), "comb": self.rng.choice(COMBS)}
        how = self.rng.choice(("mass", "mass", "mass", "both", "frames"))
        if how != "frames":
            row["mass_g"] = Fraction(self.rng.randint(200, 9000))
        if how != "mass":
            row["frames"] = self.rng.randint(1, 30)
        if self.chance(70):
            row["apiary"] = self.rng.choice(("Heath", "Mill"))
        if self.chance(70):
            row["hive"] = " + ".join(self.rng.sample(("1", "2", "3"), self.rng.choice((1, 1, 2, 3))))
        if self.chance(8):
            row["hold"] = "foulbrood"
        self.logs["harvests"].append(row)
        key = ("harvest", row["harvest"])
        self.left[key] = int(row.get("mass_g", row.get("frames", 0) * 150))
        self.ready[key] = row["date"]

    # Sessions -----------------------------------------------------------------------------------------------------

    def session(self) -> None:
        name = self.new_id("passes", "session", "S")
        while any(row["session"] == name for row in self.logs["passes"]):
            name += "a"
        count = self.rng.choice((1, 1, 2, 3))
        self.later()
        wax, residues = 0, []
        loaded_any = not self.chance(6)
        for number in range(1, count + 1):
            self.day += timedelta(days=self.rng.choice((0, 0, 1, 5)))
            fed = self.load(name, number, first=number == 1) if loaded_any and (number == 1 or self.chance(25)) else 0
            went_in = wax + fed if loaded_any or number > 1 else self.rng.randint(300, 5000)
            row: Row = {"session": name, "pass": number, "date": self.day, "method": self.rng.choice(METHODS)}
            if self.chance(40) or (not loaded_any and number == 1):
                row["mass_in_g"] = Fraction(max(went_in + self.rng.choice((0, 0, -5, 12, -200)), 1))
            kept = self.rng.randint(15, 99) if number == 1 else self.rng.randint(90, 100)
            wax = max(went_in * kept // 100, 1)
            if number == count or self.chance(70):
                row["wax_out_g"] = Fraction(wax)
            if self.chance(65):
                row["residue_g"] = Fraction(max(went_in - wax, 0) * self.rng.choice((50, 90, 110)) // 100)
            if self.chance(50):
                row["filter"] = self.rng.choice(("linen", "felt"))
            residues.append(row.get("residue_g"))
            self.logs["passes"].append(row)
        self.left[("wax", name)] = wax
        self.left[("slumgum", name)] = sum(int(r or 0) for r in residues)
        self.ready[("wax", name)] = self.ready[("slumgum", name)] = self.day
        self.cast(name, wax)

    def load(self, session: str, number: int, first: bool) -> int:
        """One to three loads into a pass: of one kind, or kinds mixed; gives about what was loaded."""
        open_sources = [key for key, left in self.left.items() if left > 1 and self.ready[key] <= self.day and key[1] != session]
        kinds = self.rng.choice((("harvest",), ("harvest",), ("wax",), ("slumgum",), ("wax", "block"),
                                 ("harvest", "slumgum", "wax", "block")))  # fmt: skip
        chosen = [key for key in open_sources if key[0] in kinds] or (open_sources if first else [])
        fed = 0
        for key in self.rng.sample(chosen, min(len(chosen), self.rng.choice((1, 1, 2, 3, 4)))):
            fed += self.one_load(session, number, key)
        return fed

    def one_load(self, session: str, number: int, key: tuple[str, str]) -> int:
        kind, name = key
        left = self.left[key]
        row: Row = {"session": session, "source": (kind, name)}
        if kind in ("wax", "slumgum"):
            row["part"] = kind
        if number > 1 or self.chance(30):
            row["pass"] = number
        over = () if kind == "slumgum" else (130,)
        mass: int = max(left * self.rng.choice((20, 50, 97, 100, *over)) // 100, 1)
        if self.chance(35) and self.may_take_all(key):
            self.taken.add(key)
            mass, self.left[key] = left, 0
        else:
            row["mass_g"] = Fraction(mass)
            self.left[key] = max(left - mass, 0)
        if self.chance(20):
            row["emptied"] = True
            self.left[key] = 0
        if self.left[key] == 0 and kind != "slumgum" and self.chance(10):
            self.left[key] = 200  # some turned up again
        self.logs["loads"].append(row)
        return mass

    def may_take_all(self, key: tuple[str, str]) -> bool:
        """Once; of slumgum only where every residue of its session was weighed."""
        passes = [row for row in self.logs["passes"] if row["session"] == key[1]]
        return key not in self.taken and (key[0] != "slumgum" or all("residue_g" in row for row in passes))

    def cast(self, session: str, wax: int) -> None:
        """Blocks for all, nearly all or part of the wax; or none, and it waits."""
        if self.chance(50):
            return
        parts = self.rng.choice(((100,), (99,), (60, 38), (50,)))
        for part in parts:
            self.block(max(wax * part // 100, 1), session=session)
        self.left[("wax", session)] = wax - sum(wax * part // 100 for part in parts)

    # The shelf ----------------------------------------------------------------------------------------------------

    def block(self, mass: int, **origin: str) -> None:
        name = self.new_id("blocks", "block", "B")
        row: Row = {"block": name, "date": self.later(2), "mass_g": Fraction(mass), **origin}
        if self.chance(10) and self.logs["blends"]:
            row["blend"] = self.rng.choice(self.logs["blends"])["blend"]
        else:
            self.left[("block", name)] = mass
            self.ready[("block", name)] = self.day
        self.logs["blocks"].append(row)

    def bought(self) -> None:
        self.block(self.rng.randint(100, 3000), supplier=self.rng.choice(("before this book", "Aune")))

    def recovered(self) -> None:
        poured = [row for row in self.logs["batches"] if row["status"] == "poured"]
        if poured:
            self.block(self.rng.randint(20, 200), batch=self.rng.choice(poured)["batch"])

    def draw(self) -> None:
        if self.logs["blocks"]:
            row: Row = {"date": self.later(3), "block": self.rng.choice(self.logs["blocks"])["block"], "use": "sold"}
            key = ("block", row["block"])
            if self.chance(25) and key not in self.taken:
                self.taken.add(key)
                self.left[key] = 0
            else:
                row["mass_g"] = Fraction(self.rng.randint(1, 800))
                self.left[key] = max(self.left.get(key, 0) - int(row["mass_g"]), 0)
            if self.chance(50) and self.logs["batches"]:
                row |= {"batch": self.rng.choice(self.logs["batches"])["batch"], "use": "candles"}
            self.logs["draws"].append(row)

    def stocktake(self) -> None:
        what = self.rng.choice(("", "harvest", "block", "candle"))
        row: Row = {"date": self.later(1)}
        if what:
            named = self.logs[f"{what}s"]
            if not named:
                return
            row["item"] = (what, self.rng.choice(named)[what])
        if what == "candle":
            row["count"] = self.rng.randint(0, 30)
        else:
            row["mass_g"] = Fraction(self.rng.choice((0, 150, self.rng.randint(0, 5000))))
            if what and row["mass_g"] == 0:
                self.left[row["item"]] = 0
        self.logs["stocktakes"].append(row)

    # Candles ------------------------------------------------------------------------------------------------------

    def recipes(self) -> None:
        self.logs["blends"] = [
            {"blend": "pure", "wax_pct": 100},
            {"blend": "soft", "wax_pct": 80, "oil": "coconut", "oil_pct": 20, "scent": "thyme", "scent_pct": 6},
        ]
        jar: Row = {"diameter_mm": 60, "height_mm": 80, "top_diameter_mm": 70, "headspace_mm": 8}
        self.logs["candles"] = [
            {"candle": "taper", "form": "mould", "blend": "pure", "fill_mass_g": Fraction(self.rng.randint(20, 150))},
            {"candle": "jar", "form": "container", "blend": "soft", **jar, "pour_loss_pct": 5},
            {"candle": "tin", "form": "container", "blend": "soft", "fill_volume_ml": 110},
            {"candle": "sheet", "form": "rolled", "blend": "pure", "fill_mass_g": Fraction(40)},
        ]

    def batch(self) -> None:
        row: Row = {
            "batch": self.new_id("batches", "batch", "P"), "date": self.later(), "count": self.rng.randint(1, 12),
            "candle": self.rng.choice(self.logs["candles"])["candle"],
            "status": self.rng.choice(("poured", "poured", "dropped", "planned")),
        }  # fmt: skip
        if row["status"] == "poured" and self.chance(50):
            row["good"] = self.rng.randint(0, row["count"])
        self.logs["batches"].append(row)

    def sale(self) -> None:
        candle = self.rng.choice(self.logs["candles"])["candle"]
        self.logs["sales"].append({"date": self.later(), "candle": candle, "count": self.rng.randint(1, 5)})

    def market_day(self) -> None:
        """Sales of a day, in one or two places or none that was noted, some at a price of their own; at times a count, or two."""
        day, first = self.logs["harvests"][0]["date"], self.rng.choice(self.logs["candles"])["candle"]
        day += timedelta(days=self.rng.randrange(1, 900))
        poured = [row for row in self.logs["batches"] if row["candle"] == first and row["status"] == "poured"]
        for _ in range(self.rng.choice((1, 1, 2, 3))):
            candle = first if self.chance(60) else self.rng.choice(self.logs["candles"])["candle"]
            row: Row = {"date": day, "candle": candle, "count": self.rng.randint(1, 5)}
            row |= {"place": self.rng.choice(("Fair", "Gate"))} if self.chance(70) else {}
            row |= {"price": Fraction(self.rng.randint(1, 60), 4)} if self.chance(40) else {}
            row |= {"batch": self.rng.choice(poured)["batch"]} if poured and candle == first and self.chance(40) else {}
            self.logs["sales"].append(row)
        for _ in range(self.rng.choice((0, 0, 1, 2))):
            counted = first if self.chance(70) else self.rng.choice(self.logs["candles"])["candle"]
            count = self.rng.choice((0, 0, 3, 11))
            self.logs["stocktakes"].append({"date": day, "item": ("candle", counted), "count": count})

    def purity(self) -> Row:
        """What a laboratory says of a block, at and beside the limits that are published."""
        return {
            "colour": self.rng.choice(("white", "yellow", "brown")),
            "melting_point_c": Fraction(self.rng.choice((609, 610, 619, 620, 640, 650, 651, 660, 661)), 10),
            "acid_value": self.rng.choice((16.9, 17.0, 19.0, 22.0, 22.1, 24.0, 24.1)),
            "ester_value": self.rng.choice((69.9, 70.0, 75.0, 80.0, 80.1)),
        }

    def settings(self) -> Settings:
        scale = Scale(Fraction(self.rng.choice((1, 5, 20))), Fraction(self.rng.choice((0, 1, 3)), 1000))
        others = {}
        if self.chance(30):
            log = self.rng.choice(("blocks", "loads", "passes"))
            others[log] = Scale(Fraction(2), Fraction(7, 1000))
        return Settings(
            *self.rng.choice(((1, 1), (7, 1))), scale, others, densities={"wax": 0.96, "oil": 0.92, "scent": 0.95, "coconut": 0.91}
        )


EVENTS = {
    "harvest": 5, "session": 7, "bought": 1, "recovered": 1, "draw": 2, "stocktake": 2, "batch": 1, "sale": 1,
}  # fmt: skip


def made_book(rng: Random) -> Book:
    """A book with a handful of harvests and sessions, its rows in any order."""
    maker = Maker(rng)
    if maker.chance(60):
        maker.recipes()
    maker.harvest()
    for _ in range(rng.randint(1, 16)):
        event = rng.choices(list(EVENTS), list(EVENTS.values()))[0]
        if event not in ("batch", "sale") or maker.logs["candles"]:
            getattr(maker, event)()
    return finished(maker)


def finished(maker: Maker) -> Book:
    """The book of what was made, its rows in any order."""
    name_the_sources(maker.logs, maker.chance)
    for rows in maker.logs.values():
        maker.rng.shuffle(rows)
    return Book(maker.logs, maker.settings())


def long_book(rng: Random, events: int) -> Book:
    """A book of several years, in which every habit is met many times over; also what is asked, counted and measured beside it."""
    maker = Maker(rng)
    maker.recipes()
    for candle, price in zip(maker.logs["candles"], (5, Fraction("12.5"), None, 3), strict=True):
        candle["price"] = price
    often = EVENTS | {"draw": 5, "batch": 3, "recovered": 2, "stocktake": 3}
    for _ in range(events):
        getattr(maker, rng.choices(list(often), list(often.values()))[0])()
    for _ in range(events // 4):
        maker.market_day()
    for row in maker.logs["blocks"]:
        row |= {column: value for column, value in maker.purity().items() if maker.chance(30)}
    return finished(maker)


def name_the_sources(logs: Logs, chance: object) -> None:
    """Write sources and items as a keeper must: the bare id where one log has it, else the log's name before it."""
    columns = {"harvest": "harvests", "block": "blocks", "session": "passes", "candle": "candles"}
    ids = {kind: {row[kind] for row in logs[log]} for kind, log in columns.items()}
    for log, kinds in (("loads", ("harvest", "block", "session")), ("stocktakes", ("harvest", "block", "candle"))):
        column = "source" if log == "loads" else "item"
        for row in logs[log]:
            if column in row:
                kind, name = row[column]
                kind = "session" if kind in ("wax", "slumgum") else kind
                clash = sum(name in ids[other] for other in kinds) > 1
                row[column] = f"{kind} {name}" if clash else name


def scaled(book: Book, factor: int) -> Book:
    """The same book weighed in units `factor` times smaller: every mass, and the readability of every scale."""
    logs = {
        log: [{c: v * factor if c.endswith("_g") else v for c, v in row.items()} for row in rows]
        for log, rows in book.logs.items()
    }
    now = book.settings
    others = {log: replace(scale, step_g=scale.step_g * factor) for log, scale in now.other_scales.items()}
    return Book(logs, replace(now, scale=replace(now.scale, step_g=now.scale.step_g * factor), other_scales=others))


def shuffled(book: Book, rng: Random) -> Book:
    """The same rows in another order; stocktakes keep theirs, which is the tie rule of a day."""
    logs = {log: rows if log == "stocktakes" else rng.sample(rows, len(rows)) for log, rows in book.logs.items()}
    return Book(logs, book.settings)


def beside(book: Book, name: str = "zz") -> Book:
    """The same book with one more session that has nothing to do with the others."""
    day = date(2024, 6, 1)
    more: Logs = {
        "harvests": [{"harvest": name + "h", "date": day, "comb": "scrapings", "mass_g": Fraction(4000)}],
        "loads": [{"session": name, "source": name + "h", "mass_g": Fraction(4000)}],
        "passes": [{"session": name, "pass": 1, "date": day, "method": "oven", "wax_out_g": Fraction(1700)}],
        "blocks": [{"block": name + "b", "date": day, "mass_g": Fraction(1680), "session": name}],
    }
    return Book({log: [*rows, *more.get(log, [])] for log, rows in book.logs.items()}, book.settings)


def looking(examples: int) -> settings:
    """How hard to look: a few books, LOOK_HARDER=n times as many; what fails is shrunk. The seed is the run's (conftest)."""
    harder = int(os.environ.get("LOOK_HARDER", "1"))
    return settings(
        max_examples=examples * harder, deadline=None, database=None, phases=(Phase.generate, Phase.shrink),
        report_multiple_bugs=False, suppress_health_check=list(HealthCheck),
    )  # fmt: skip


def books() -> st.SearchStrategy[Book]:
    """Random books that shrink towards few rows."""
    return st.randoms(use_true_random=False).map(made_book)


# Writing ----------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Dialect:
    """How a spreadsheet would save the logs."""

    separator: str = ","
    decimal: str = "."
    encoding: str = "utf-8"
    mass: str = "g"
    newline: str = "\n"
    spaces: bool = False  # before every other cell, quoted or not
    quotes_all: bool = False
    percent: bool = False  # a sign behind shares


PLAIN = Dialect()


def dialects() -> st.SearchStrategy[Dialect]:
    """Dialects that one program or another really writes."""
    return st.builds(
        lambda shape, mass, newline, odd: Dialect(*shape, mass, newline, *odd),
        st.sampled_from(((",", ".", "utf-8"), (";", ",", "utf-8-sig"), ("\t", ",", "utf-16"), (";", ".", "cp1252"))),
        st.sampled_from(tuple(MASS_UNITS)),
        st.sampled_from(("\n", "\r\n", "\r")),
        st.tuples(st.booleans(), st.booleans(), st.booleans()),
    )


def write_book(book: Book, folder: Path, dialect: Dialect = PLAIN) -> Path:
    """Write the folder; logs without a row are left out, as keepers do."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "book.toml").write_text(toml(book.settings), encoding="utf-8")
    for log, rows in book.logs.items():
        if rows:
            (folder / f"{log}.csv").write_bytes(table(rows, dialect).encode(dialect.encoding))
    return folder


def table(rows: list[Row], dialect: Dialect = PLAIN) -> str:
    """The rows as text, columns in the order in which they are met."""
    columns = list(dict.fromkeys(column for row in rows for column in row))
    lines = [[c.removesuffix("_g") + f"_{dialect.mass}" if c.endswith("_g") else c for c in columns]]
    lines += [[_signed(column, cell(row.get(column), dialect), dialect) for column in columns] for row in rows]
    return "".join(dialect.separator.join(_spaced(cells, dialect)) + dialect.newline for cells in lines)


def _signed(column: str, text: str, dialect: Dialect) -> str:
    return f"{text} %" if dialect.percent and text and column.endswith("_pct") else text


def _spaced(cells: list[str], dialect: Dialect) -> list[str]:
    """The cells as they are written: quoted where they must be or all are, a space before every other one."""
    written = [_quoted(text, dialect) for text in cells]
    return [f" {text}" if dialect.spaces and n % 2 else text for n, text in enumerate(written)]


def _quoted(text: str, dialect: Dialect) -> str:
    must = any(c in text for c in (dialect.separator, '"', "\n", "\r"))
    return '"' + text.replace('"', '""') + '"' if must or dialect.quotes_all else text


def cell(value: object, dialect: Dialect) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Fraction):
        whole = value / MASS_UNITS[dialect.mass]
        return f"{float(whole):.9f}".rstrip("0").rstrip(".").replace(".", dialect.decimal) or "0"
    return value.isoformat() if isinstance(value, date) else str(value)


def toml(settings: Settings) -> str:
    """book.toml with what differs from the defaults and what does not."""
    lines = [
        'name = "Trial"',
        f'season_starts = "{settings.season_month:02}-{settings.season_day:02}"',
        "[scale]",
        *_scale(settings.scale),
        *(line for log, scale in settings.other_scales.items() for line in (f"[scale.{log}]", *_scale(scale))),
        "[densities]",
        *(f"{name} = {value}" for name, value in settings.densities.items()),
        "[forecast]",
        f"pour_loss_pct = {settings.pour_loss * 100:g}",
    ]
    return "\n".join(lines) + "\n"


def _scale(scale: Scale) -> tuple[str, str]:
    return f"step_g = {float(scale.step_g):g}", f"relative = {float(scale.relative):g}"
