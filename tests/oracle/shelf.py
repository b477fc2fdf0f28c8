"""The shelf, the crocks, the comb store and the candle shelf of a book on a date, the slow way."""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import replace
from datetime import date
from fractions import Fraction

from tests.oracle.book import COUNTED, EMPTIED, IN, OUT, REST, ZERO, Book, Move, Row, walk
from tests.oracle.figures import Oracle


def wax_each_g(book: Book, candle: Row) -> float:
    """Fill mass x share of wax in it, and what the pour loses on top. A rolled candle is bought sheet: none."""
    if candle["form"] == "rolled":
        return 0.0
    blend = book.blends[candle["blend"]]
    wax = float(blend["wax_pct"]) / 100 / (1 + float(blend.get("scent_pct") or 0) / 100)
    lost = candle.get("pour_loss_pct")
    return fill_g(book, candle) * wax / (1 - (book.settings.pour_loss if lost is None else float(lost) / 100))


def fill_g(book: Book, candle: Row) -> float:
    """Weighed, or the volume to the fill line times the density of the blend."""
    if candle.get("fill_mass_g") is not None:
        return float(candle["fill_mass_g"])
    volume = candle.get("fill_volume_ml")
    return float(frustum_ml(candle) if volume is None else volume) * density(book, book.blends[candle["blend"]])


def frustum_ml(candle: Row) -> float:
    """Between the bottom and the fill line, which lies `headspace` below the rim."""
    bottom, height = float(candle["diameter_mm"]), float(candle["height_mm"])
    rim = float(candle.get("top_diameter_mm") or bottom)
    filled = height - float(candle.get("headspace_mm") or 0)
    top = bottom + (rim - bottom) * filled / height
    return math.pi * filled * (bottom**2 + bottom * top + top**2) / 12 / 1000


def density(book: Book, blend: Row) -> float:
    """Volumes add: 1/rho is the sum of mass share / rho. An oil or scent may have a density under its own name."""
    known = book.settings.densities
    oil, scent = float(blend.get("oil_pct") or 0) / 100, float(blend.get("scent_pct") or 0) / 100
    volume = (
        float(blend["wax_pct"]) / 100 / known["wax"]
        + oil / known.get(blend.get("oil") or "", known["oil"])
        + scent / known.get(blend.get("scent") or "", known["scent"])
    )
    return (1 + scent) / volume


class Shelf:
    """What the rows dated up to a day say is there at its end."""

    def __init__(self, book: Book, on: date) -> None:
        self.on, self.book = on, book.until(on)
        self.oracle = Oracle(self.book)

    def block_g(self, name: str) -> Fraction:
        """Cast, bought or recovered, less draws and loads, as last counted."""
        return walk(self.book.ledger("block", name))[1]

    def ledger(self) -> list[tuple[Move, float]]:
        """Every move of pure wax and what the shelf held after it: blocks, assumed draws, and counts of it all in file order."""
        moves: list[Move] = []
        for name, row in self.book.blocks.items():
            if not row.get("blend"):
                moves += self._deltas(name)
        moves += self._assumed()
        moves += [
            Move(row["date"], COUNTED, i, "shelf", row["mass_g"])
            for i, row in enumerate(self.book.logs["stocktakes"])
            if self.book.item(row)[0] == "shelf"
        ]
        found: list[tuple[Move, float]] = []
        total: float | Fraction = ZERO
        for move in sorted(moves, key=lambda m: (m.day, m.phase, m.order)):
            assert move.mass is not None
            before, total = total, move.mass if move.kind == "shelf" else total + move.mass
            found.append((replace(move, mass=Fraction(total) - Fraction(before)), float(total)))
        return found

    def total_g(self) -> float:
        """Pure wax on the shelf by the ledger."""
        return ([0.0] + [total for _, total in self.ledger()])[-1]

    def days(self) -> list[Row]:
        """What came, what went, how low the shelf stood before anything was counted, and what was there in the evening."""
        by_day: dict[date, list[tuple[Move, float]]] = defaultdict(list)
        for move, total in self.ledger():
            by_day[move.day].append((move, total))
        found, evening = [], 0.0
        for day, moves in by_day.items():
            low = ([evening] + [total for move, total in moves if move.phase != COUNTED])[-1]
            evening = moves[-1][1]
            came = sum((move.mass or ZERO for move, _ in moves if move.phase == IN), ZERO)
            went = sum((move.mass or ZERO for move, _ in moves if move.phase in (OUT, REST, EMPTIED)), ZERO)
            found.append({"date": day, "in_g": float(came), "out_g": -float(went), "low_g": low, "total_g": evening})
        return found

    def _deltas(self, name: str) -> list[Move]:
        """A block's moves with what each really added: counts and empty masses become plain differences."""
        moves = self.book.ledger("block", name)
        took = walk(moves)[0]
        return [replace(m, mass=-took[m.key], key=name) for m in moves]

    def _assumed(self) -> list[Move]:
        """A poured batch that no draw names took the wax of its count of candles, good or not; rolled ones take none."""
        drawn = {row.get("batch") for row in self.book.logs["draws"]}
        after = len(self.book.logs["draws"]) + len(self.book.logs["loads"])
        return [
            Move(row["date"], OUT, after + i, "assumed", -Fraction(wax_each_g(self.book, self._candle(row)) * row["count"]))
            for i, row in enumerate(self.book.logs["batches"])
            if row["status"] == "poured" and row["batch"] not in drawn and self._candle(row)["form"] != "rolled"
        ]

    def _candle(self, row: Row) -> Row:
        return self.book.candles[row["candle"]]

    def stock(self) -> Row:
        blocks = {name: self.block_g(name) for name in self.book.blocks}
        pure = {name: mass for name, mass in blocks.items() if not self.book.blocks[name].get("blend")}
        total = self.total_g()
        return {
            "on": self.on.isoformat(),
            "total_g": total,
            "unplaced_g": total - float(sum(pure.values(), ZERO)),
            "blocks": _listed("block", pure),
            "blended": [
                {"block": name, "blend": self.book.blocks[name]["blend"], "mass_g": float(mass)}
                for name, mass in sorted(blocks.items())
                if name not in pure and mass
            ],
            "set_aside": _listed("session", {n: s.set_aside_g for n, s in self.oracle.sessions.items()}),
            "pending": self.pending(),
            "store_loss": self.store_loss(),
            "candles": [{"candle": name, "count": n} for name, n in sorted(self.candles().items()) if n],
        }

    # Comb not yet rendered ----------------------------------------------------------------------------------------

    def _closed(self, name: str) -> bool:
        """Emptied by a load, or last counted as nothing."""
        moves = sorted(self.book.ledger("comb", name), key=lambda m: (m.day, m.phase, m.order))
        counts = [m.mass for m in moves if m.kind == "stocktake"]
        return any(m.kind == "emptied" for m in moves) or (bool(counts) and counts[-1] == 0)

    def _taken_whole(self, name: str) -> bool:
        """Comb counted in frames of which a load took all that was left: nothing is known to be lost."""
        mine = [load for load in self.book.loads if (load.kind, load.source) == ("comb", name)]
        return any(not load.weighed and not self.book.on_a_scale_before(name, load.day) for load in mine)

    def pending(self, held: bool = False) -> list[Row]:
        """Comb that waits to be rendered; or (``held``) that must not be."""
        waiting = {name: row for name, row in self.book.harvests.items() if bool(row.get("hold")) is held and not self._closed(name)}
        return [
            {"harvest": name, "comb": row["comb"], "mass_g": left, "estimated": not self._ever_weighed(name)}
            for name, row in sorted(waiting.items())
            if (left := self._left_g(name)) is None or left > 0
        ]

    def _left_g(self, name: str) -> float | None:
        """Comb left; None where its frames were counted and nothing is known of such frames."""
        unknown = self.book.harvested(name) is None and not self._ever_weighed(name) and not self._taken_whole(name)
        return None if unknown else float(walk(self.book.ledger("comb", name))[1])

    def _ever_weighed(self, name: str) -> bool:
        """At harvest, or by a stocktake up to the day; else it is known by its frames only."""
        counted = any(move.kind == "stocktake" for move in self.book.ledger("comb", name))
        return counted or self.book.harvests[name].get("mass_g") is not None

    def store_loss(self) -> list[Row]:
        lost = {}
        for name in self.book.harvests:
            harvested = self.book.harvested(name)
            if harvested is not None and self._closed(name) and not self._taken_whole(name):
                loads = [load for load in self.book.loads if (load.kind, load.source) == ("comb", name)]
                lost[name] = harvested - sum((load.mass or ZERO for load in loads), ZERO)
        return _listed("harvest", lost)

    # Candles ------------------------------------------------------------------------------------------------------

    def candles(self) -> dict[str, int]:
        """Good candles of the pours, less sales, as last counted."""
        moves: list[tuple[date, int, int, str, int]] = []
        for i, row in enumerate(self.book.logs["batches"]):
            if row["status"] == "poured":
                good = row["count"] if row.get("good") is None else row["good"]
                moves.append((row["date"], IN, i, row["candle"], good))
        moves += [(r["date"], OUT, i, r["candle"], -r["count"]) for i, r in enumerate(self.book.logs["sales"])]
        for i, row in enumerate(self.book.logs["stocktakes"]):
            kind, name = self.book.item(row)
            if kind == "candle":
                moves.append((row["date"], COUNTED, i, name, row["count"]))
        counts: dict[str, int] = defaultdict(int)
        for _, phase, _, candle, count in sorted(moves):
            counts[candle] = count if phase == COUNTED else counts[candle] + count
        return counts

    def capacity_now(self) -> list[Row]:
        """How many of each candle the wax on hand makes; unknown for rolled ones."""
        wax = self.total_g()
        found = []
        for name, row in self.book.candles.items():
            each = wax_each_g(self.book, row)
            now = None if row["form"] == "rolled" else max(math.floor(wax / each), 0)
            found.append({"candle": name, "wax_each_g": each, "fill_g": fill_g(self.book, row), "now": now})
        return found


def _listed(key: str, masses: dict[str, Fraction]) -> list[Row]:
    return [{key: name, "mass_g": float(mass)} for name, mass in sorted(masses.items()) if mass]
