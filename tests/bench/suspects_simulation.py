"""Simulated books with one planted slip each: how often is the right weight named, and with the right value?

Run: ``python -m tests.bench.suspects_simulation [books]``; ``coarse`` in place of the number: clean books of 20 sessions whose
scale is coarser than it is said to be. The books are invented and fully weighed: every lot, load, pass,
block and draw stands on a scale of 5 g. A slip is planted where it moves the weight by at least 1 % and 40 g; what is
smaller drowns in what a casting leaves in the pot. ``--any`` plants slips of every size instead.
"""

from __future__ import annotations

import itertools
import sys
from collections import defaultdict
from dataclasses import dataclass, replace
from datetime import date, timedelta
from math import hypot

import numpy as np

from pipeline.analyses.balances_of_book import Records, balances
from pipeline.analyses.possible_slips import Pen
from pipeline.analyses.scale_step_fit import as_shown, scale_fit
from pipeline.analyses.suspects import Judgement, suspects
from pipeline.analyses.typing_slips import Typed
from pipeline.analyses.weighing_network import weighed
from pipeline.contract.quantities import GRAMS

STEP_G, RELATIVE = 5.0, 0.001
VESSELS = {"enamel pot": 1840.0, "steel bowl": 620.0}
KINDS = ("swap", "digit", "decimal", "unit", "tare", "neighbour", "missing row")
WEIGHTS = {
    "harvests": ("mass",), "loads": ("mass",), "passes": ("mass_in", "wax_out", "residue"),
    "blocks": ("mass",), "draws": ("mass",),
}  # fmt: skip
METHODS = {"steam": 0.45, "water bath": 0.33, "press": 0.5}


@dataclass(frozen=True)
class Planted:
    kind: str
    log: str
    rows: tuple[int | None, ...]
    column: str
    meant_g: float


def uncertainty(log: str, mass_g: float) -> float:
    return hypot(STEP_G / 12**0.5, RELATIVE * mass_g)


def clean_book(rng: np.random.Generator, sessions: int, step_g: float = STEP_G, relative: float = RELATIVE) -> Records:
    """A fully weighed book: true masses with the scatter of the work, each read on the scale by itself."""
    book = Records([], [], [], [], [], [], [])

    def read(true_g: float) -> float:
        return float(max(round(true_g * (1 + rng.normal(0, relative / 2)) / step_g) * step_g, step_g))

    def add(log: list, **cells: object) -> None:
        log.append({"row": len(log) + 1, **cells})

    day = date(2024, 5, 1)
    for n in range(1, sessions + 1):
        s, day = f"S{n}", day + timedelta(days=9)
        method = str(rng.choice(list(METHODS)))
        comb = str(rng.choice(["brood comb", "cappings"], p=[0.7, 0.3]))
        total = 0.0
        for lot in range(int(rng.integers(1, 3))):
            mass = float(rng.uniform(2500, 14000))
            add(book.harvests, harvest=f"H{n}{'ab'[lot]}", mass_g=read(mass))
            loaded = mass * (1 - abs(rng.normal(0, 0.001)))
            add(
                book.loads,
                session=s,
                source_kind="harvest",
                source=f"H{n}{'ab'[lot]}",
                part=None,
                mass_g=read(loaded),
                emptied=True,
                date=day,
                **{"pass": 1},
            )
            total += loaded
        share = METHODS[method] + rng.normal(0, 0.03) + (0.25 if comb == "cappings" else 0)
        unaccounted = 0.08 + rng.normal(0, 0.015)
        went_in, wax, residue = total, total * share, total * (1 - share - unaccounted)
        add(
            book.passes, session=s, mass_in_g=read(went_in), wax_out_g=read(wax), residue_g=read(residue), **{"pass": 1}
        )
        book.steps.append({"session": s, "pass": 1, "stage": "first", "method": method, "comb": comb})
        went_in = wax * (1 - abs(rng.normal(0, 0.001)))
        residue = went_in * (0.015 + abs(rng.normal(0, 0.005)))
        wax = went_in - residue - went_in * (0.006 + rng.normal(0, 0.003))
        add(
            book.passes, session=s, mass_in_g=read(went_in), wax_out_g=read(wax), residue_g=read(residue), **{"pass": 2}
        )
        book.steps.append({"session": s, "pass": 2, "stage": "refining", "method": "double boiler", "comb": comb})
        cast = wax * (1 - abs(rng.normal(0.003, 0.002)))
        for i, part in enumerate(rng.dirichlet(np.full(int(rng.integers(1, 4)), 8.0))):
            block = f"B{n}{'abc'[i]}"
            add(book.blocks, block=block, session=s, mass_g=read(cast * part))
            for draw in rng.dirichlet(np.full(int(rng.integers(1, 4)), 8.0)):
                add(book.draws, block=block, date=day + timedelta(days=30), mass_g=read(cast * part * draw))
            add(book.stocktakes, date=day + timedelta(days=31), item_kind="block", item=block, mass_g=0.0)
    return book


def typed_text(mass_g: float, unit: str) -> str:
    return f"{mass_g / GRAMS[unit]:.{0 if unit == 'g' else 3 if unit == 'kg' else 2}f}"


def pen(unit: str) -> Pen:
    return Pen(lambda w: Typed(typed_text(w.mass_g or 0.0, unit), unit), VESSELS, lambda log: STEP_G)


def judge(book: Records, unit: str) -> Judgement:
    return suspects(weighed(balances(book), uncertainty), pen(unit))


def slipped(rng: np.random.Generator, kind: str, mass_g: float, unit: str) -> float | None:
    """What stands in the cell after a slip; None where this slip cannot happen here."""
    text = typed_text(mass_g, unit)
    places = [i for i, c in enumerate(text) if c.isdigit()]
    if kind == "swap":
        pairs = [(i, j) for i, j in itertools.pairwise(places) if text[i] != text[j]]
        if not pairs:
            return None
        i, j = pairs[int(rng.integers(len(pairs)))]
        return float(text[:i] + text[j] + text[i + 1 : j] + text[i] + text[j + 1 :]) * GRAMS[unit]
    if kind == "digit":
        i = places[int(rng.integers(len(places)))]
        digit = str(rng.choice([d for d in "0123456789" if d != text[i]]))
        return float(text[:i] + digit + text[i + 1 :]) * GRAMS[unit]
    if kind == "decimal":
        return mass_g * float(rng.choice([0.01, 0.1, 10.0, 100.0], p=[0.1, 0.4, 0.4, 0.1]))
    if kind == "unit":
        other = str(rng.choice([u for u in GRAMS if u != unit]))
        return mass_g / GRAMS[other] * GRAMS[unit]
    vessel = float(rng.choice(list(VESSELS.values())))
    return mass_g + vessel if rng.random() < 0.7 or mass_g <= vessel else mass_g - vessel


def plant(rng: np.random.Generator, book: Records, kind: str, unit: str, any_size: bool) -> Planted:
    """Change one cell (two for neighbouring rows, a whole row where it is missing) and say what was meant."""
    while True:
        log = str(rng.choice(list(WEIGHTS)))
        rows = getattr(book, log)
        column = str(rng.choice(WEIGHTS[log]))
        n = int(rng.integers(len(rows) - 1))
        meant = rows[n][f"{column}_g"]
        if kind == "missing row":
            if log not in ("blocks", "draws"):
                continue
            if log == "blocks" and sum(b["session"] == rows[n]["session"] for b in rows) == 1:
                continue  # a session without any block is wax set aside: nothing is missing yet
            gone = rows.pop(n)
            for i, row in enumerate(rows):
                row["row"] = i + 1
            book.draws[:] = [d for d in book.draws if log != "blocks" or d["block"] != gone["block"]]
            for i, row in enumerate(book.draws):
                row["row"] = i + 1
            return Planted(kind, log, (None,), column, meant)
        new = rows[n + 1][f"{column}_g"] if kind == "neighbour" else slipped(rng, kind, meant, unit)
        if new is None or new <= 0 or (not any_size and abs(new - meant) < max(40.0, 0.01 * meant)) or new == meant:
            continue
        rows[n][f"{column}_g"] = new
        if kind == "neighbour":
            rows[n + 1][f"{column}_g"] = meant
        return Planted(kind, log, (n + 1, n + 2) if kind == "neighbour" else (n + 1,), column, meant)


def score(found: Judgement, planted: Planted) -> tuple[bool, bool, bool]:
    """Whether the right weight is named first, stands among the first three, and its value is right (0.5 %)."""
    column = None if planted.kind == "missing row" else planted.column
    hits = [s.log == planted.log and s.row in planted.rows and s.column == column for s in found.suspects[:3]]
    first = bool(hits and hits[0])
    if not first:
        return False, any(hits), False
    top = found.suspects[0]
    if planted.kind == "neighbour":
        return True, True, top.kind == "rows exchanged"
    near = top.likely_g is not None and abs(top.likely_g - planted.meant_g) <= max(10.0, 0.005 * planted.meant_g)
    return True, True, near


def simulate(books: int, seed: int, any_size: bool = False) -> dict[str, np.ndarray]:
    """By kind of slip: planted, first, among three, right value."""
    table: dict[str, np.ndarray] = defaultdict(lambda: np.zeros(4, int))
    for n in range(books):
        rng = np.random.default_rng((seed, n))
        unit = ("kg", "g", "lb")[n // len(KINDS) % 3]
        book = clean_book(rng, int(rng.integers(12, 31)))
        planted = plant(rng, book, KINDS[n % len(KINDS)], unit, any_size)
        result = score(judge(book, unit), planted)
        table[planted.kind] += np.array([1, *result])
    return dict(table)


def false_flags(sessions: int, seed: int) -> int:
    """How many suspects and missing rows are named in clean books with so many sessions in all."""
    flags = 0
    for n in range(sessions // 20):
        flags += len({s.session for s in judge(clean_book(np.random.default_rng((seed, n)), 20), "kg").suspects})
    return flags


def coarse(books: int, true_g: float, said_g: float, seed: int = 5) -> tuple[float, ...]:
    """Of clean books read in ``true_g``, whose scale is said to read in ``said_g`` and no more: the share in which the scale is
    told, with the step that it has, in which any row is listed, and one at .5 or over."""
    told = right = listed = high = 0

    def said(log: str, mass_g: float) -> float:
        return said_g / 12**0.5

    for n in range(books):
        steps = balances(clean_book(np.random.default_rng((seed, n)), 20, true_g, relative=0.0))
        scale = scale_fit(steps, said)
        found = suspects(weighed(steps, as_shown(said, scale)), replace(pen("kg"), step_g=lambda log: said_g)).suspects
        told += scale is not None
        right += scale is not None and scale.step_g == true_g
        listed += bool(found)
        high += any(s.chance >= 0.5 for s in found)
    return told / books, right / books, listed / books, high / books


def shown(table: dict[str, np.ndarray]) -> str:
    whole = {**table, "all": sum(table.values())}
    lines = [f"{'slip':12} {'books':>6} {'first':>6} {'of 3':>6} {'value':>6}"]
    lines += [f"{k:12} {v[0]:6d} {v[1] / v[0]:6.2f} {v[2] / v[0]:6.2f} {v[3] / v[0]:6.2f}" for k, v in whole.items()]
    return "\n".join(lines)


if __name__ == "__main__":
    number = next((int(a) for a in sys.argv[1:] if a.isdigit()), 0)
    if "coarse" in sys.argv:
        print("read in, said, books: scale told, with its step, any row, a row at .5 or over")
        for true_g, said_g in ((1, 1), (5, 5), (5, 1), (20, 1)):
            figures = coarse(number or 100, true_g, said_g)
            print(f"{true_g:3d} g {said_g:3d} g {number or 100:5d} " + " ".join(f"{f:6.2f}" for f in figures))
    else:
        print(shown(simulate(number or 300, 4, "--any" in sys.argv)))
        print("false flags in 200 clean sessions:", false_flags(200, 5))
