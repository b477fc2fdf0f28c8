"""Is the uncertainty of a group's yield what weighings really scatter by? ``python -m tests.bench.group_uncertainty [--trials N]``.

Each world is a book whose true masses are known. Its weighings are drawn anew in every trial: each is off by as much as its
scale's step rounds (uniform over one step), and all of one scale by one gain. sd is the scatter of the yields worked out from
the weighings, u what the program says of the true book; sd / u is 1 where it says what is so.
"""

from __future__ import annotations

import argparse
import csv
import io
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from math import sqrt
from typing import Any

import numpy as np

from pipeline.book.book_settings import Scale
from tests.oracle.book import Book, Logs, Row, Settings
from tests.oracle.figures import Oracle
from tests.small_books import figures, row

STEP_G, RELATIVE = 5.0, 0.001


@dataclass(frozen=True)
class World:
    """Logs with true masses; ``groups``: grouping and which of its rows to look at; ``blocks_apart``: on a scale of their own."""

    harvests: list[Row]
    loads: list[Row]
    passes: list[Row]
    blocks: list[Row]
    groups: list[tuple[str, dict[str, str]]]
    blocks_apart: bool = False


def lot(name: str, comb: str, mass_g: float, hive: str = "1", apiary: str = "Hill") -> Row:
    return {"harvest": name, "date": "2025-05-01", "comb": comb, "mass_g": mass_g, "apiary": apiary, "hive": hive}


def load(session: str, source: str, mass_g: float, part: str = "") -> Row:
    return {"session": session, "source": source, "part": part, "mass_g": mass_g}


def melt(session: str, wax_g: float, residue_g: float, method: str = "steam", date: str = "2025-06-01") -> Row:
    return {"session": session, "pass": 1, "date": date, "method": method, "wax_out_g": wax_g, "residue_g": residue_g}


def block(name: str, session: str, mass_g: float) -> Row:
    return {"block": name, "date": "2026-07-01", "mass_g": mass_g, "session": session}


def plain(blocks_apart: bool = False) -> World:
    """Four sessions of one comb in a season."""
    n = range(4)
    return World(
        [lot(f"H{i}", "brood comb", 2000) for i in n], [load(f"S{i}", f"H{i}", 2000) for i in n],
        [melt(f"S{i}", 600, 1200) for i in n], [block(f"B{i}", f"S{i}", 590) for i in n],
        [("season", {"season": "2025"}), ("comb", {"comb": "brood comb"})], blocks_apart,
    )  # fmt: skip


def unlike() -> World:
    """Cappings of a high yield and brood comb of a low one in one season, by one method, of one hive."""
    return World(
        [lot("C", "cappings", 1500), lot("D", "brood comb", 1500)], [load("S", "C", 1500), load("T", "D", 1500)],
        [melt("S", 1350, 100), melt("T", 150, 1200)], [block("X", "S", 1340), block("Y", "T", 145)],
        [("book", {}), ("season", {"season": "2025"}), ("method", {"method": "steam"}), ("hive", {"hive": "1"})],
    )  # fmt: skip


def pressed(blocks_apart: bool = False) -> World:
    """Slumgum of two sessions pressed together a year later, in several small blocks."""
    return World(
        [lot("C", "brood comb", 2000), lot("D", "white comb", 1000, "2")],
        [load("S", "C", 2000), load("T", "D", 1000), load("P", "S", 900, "slumgum"), load("P", "T", 300, "slumgum")],
        [melt("S", 500, 1300), melt("T", 550, 400), melt("P", 260, 900, "press", "2026-06-01")],
        [block("X", "S", 490), block("Y", "T", 545), *(block(f"Z{i}", "P", 64) for i in range(4))],
        [("season", {"season": "2025"}), ("comb", {"comb": "white comb"}), ("hive", {"hive": "2"}),
         ("method", {"method": "press (slumgum)"})], blocks_apart,
    )  # fmt: skip


def mixed_places() -> World:
    """One session of three lots from three hives in two apiaries, one lot of two hives, beside a session of one hive."""
    return World(
        [lot("A", "cappings", 800, "1"), lot("B", "cappings", 1200, "1 + 2"), lot("C", "cappings", 500, "9", "Moor"),
         lot("D", "cappings", 900, "2")],
        [load("S", "A", 800), load("S", "B", 1200), load("S", "C", 500), load("T", "D", 900)],
        [melt("S", 2000, 300), melt("T", 450, 350)],
        [block("X", "S", 1000), block("Y", "S", 990), block("Z", "T", 445)],
        [("apiary", {"apiary": "Hill"}), ("apiary", {"apiary": "Moor"}), ("hive", {"hive": "1"}), ("hive", {"hive": "2"})],
    )  # fmt: skip


def comb_with_slumgum() -> World:
    """New comb and slumgum of another season loaded together."""
    return World(
        [lot("C", "brood comb", 2500), lot("D", "white comb", 1000)],
        [load("S", "C", 2500), load("P", "S", 1200, "slumgum"), load("P", "D", 1000)],
        [melt("S", 600, 1700), melt("P", 800, 1200, "press", "2026-06-01")],
        [block("X", "S", 595), block("Y", "P", 790)],
        [("season", {"season": "2025"}), ("season", {"season": "2026"}), ("method", {"method": "press"}),
         ("method", {"method": "press (slumgum)"})],
    )  # fmt: skip


def refined_together() -> World:
    """Crude wax of two unlike sessions refined in one, cast in two blocks: the wax is followed to its end."""
    return World(
        [lot("C", "cappings", 1500), lot("D", "brood comb", 3000)],
        [load("S", "C", 1500), load("T", "D", 3000), load("F", "S", 1200, "wax"), load("F", "T", 900, "wax")],
        [melt("S", 1200, 200), melt("T", 900, 1800), melt("F", 2000, 50, "double boiler")],
        [block("X", "F", 1000), block("Y", "F", 990)], [("season", {"season": "2025"}), ("comb", {"comb": "cappings"})],
    )  # fmt: skip


WORLDS = {
    "like sessions": plain(), "like sessions, two scales": plain(True), "unlike yields": unlike(),
    "slumgum pressed later": pressed(), "slumgum, two scales": pressed(True), "lots of several hives": mixed_places(),
    "comb and slumgum together": comb_with_slumgum(), "wax refined together": refined_together(),
}  # fmt: skip


def as_logs(world: World, gain: float, other: float, rng: np.random.Generator | None) -> Logs:
    """The world's logs as weighed; with its true masses where there is no ``rng``."""
    logs = {"harvests": world.harvests, "loads": world.loads, "passes": world.passes, "blocks": world.blocks}
    return {log: [_weighed(row, other if log == "blocks" else gain, rng) for row in rows] for log, rows in logs.items()}


def _weighed(row: Row, gain: float, rng: np.random.Generator | None) -> Row:
    off = (lambda: 0.0) if rng is None else (lambda: float(rng.uniform(-STEP_G / 2, STEP_G / 2)))
    return {k: _cell(k, v, gain, off) for k, v in row.items() if v != ""}


def _cell(name: str, value: Any, gain: float, off: Callable[[], float]) -> Any:
    if name == "date":
        return date.fromisoformat(value)
    return value * gain + off() if name.endswith("_g") else value


def said(world: World) -> dict[str, float]:
    """What the program says of the true book: u of each group."""
    scales = {"": Scale(STEP_G, RELATIVE)} | ({"blocks": Scale(STEP_G, RELATIVE)} if world.blocks_apart else {})
    logs = {log: _text(rows) for log, rows in as_logs(world, 1, 1, None).items()}
    warehouse = figures(book={"scales": scales}, **logs)
    return {name(by, key): float(row(warehouse, "yields_by_group", grouping=by, **key)["u"]) for by, key in world.groups}


def scattered(world: World, trials: int, rng: np.random.Generator) -> dict[str, list[float]]:
    """The yields of each group in as many weighings of the same comb and wax, by the slow figures of the tests."""
    found: dict[str, list[float]] = {}
    for _ in range(trials):
        gain, other = 1 + RELATIVE * rng.standard_normal(2)
        oracle = Oracle(Book(as_logs(world, gain, other if world.blocks_apart else gain, rng), Settings()))
        for by, key in world.groups:
            rows = oracle.yields(None if by == "book" else by)
            (share,) = (r["yield"] for r in rows if all(r[k] == v for k, v in key.items()))
            found.setdefault(name(by, key), []).append(share)
    return found


def name(by: str, key: dict[str, str]) -> str:
    return " ".join([by, *key.values()])


def _text(rows: list[Row]) -> str:
    out = io.StringIO()
    writer = csv.DictWriter(out, list(dict.fromkeys(k for r in rows for k in r)))
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()


def main() -> None:
    """Read the command line, draw, print the table."""
    parser = argparse.ArgumentParser(description="the scatter of a group's yield against its uncertainty")
    parser.add_argument("--trials", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    rng = np.random.default_rng(asked.seed)
    print(f"{asked.trials} weighings of each; sd / u is sure to {1 / sqrt(2 * asked.trials):.3f} (one standard error)")
    print(f"{'world':28}{'group':32}{'sd':>10}{'u':>10}{'sd / u':>8}")
    for title, world in WORLDS.items():
        uncertainty, shares = said(world), scattered(world, asked.trials, rng)
        for group, u in uncertainty.items():
            sd = float(np.std(shares[group], ddof=1))
            print(f"{title:28}{group:32}{sd:10.6f}{u:10.6f}{sd / u:8.2f}")


if __name__ == "__main__":
    main()
