"""Slips that people make beside mistyping: how often the right one heads the list, where the weights can tell.

Run: ``python -m tests.bench.suspects_human [books]``. One slip in a fully weighed book of 12 to 20 sessions
(:func:`tests.bench.suspects_simulation.clean_book`): a row entered twice, a vessel left on, pounds and ounces as a decimal
(both ways), a weight in lb entered as kg, a row missing (block, load), a wrong block, harvest or session. *first*: the right
row and kind head the list; *named*: the row is listed at all. Where the slip moves a weight by less than 2 % it is drawn again.
"""

from __future__ import annotations

import sys
from typing import Any

import numpy as np

from pipeline.analyses.balances_of_book import Records, balances
from pipeline.analyses.possible_slips import Pen
from pipeline.analyses.suspects import Suspect, suspects
from pipeline.analyses.typing_slips import Typed
from pipeline.analyses.weighing_network import weighed
from pipeline.contract.quantities import GRAMS
from tests.bench.suspects_named import expected
from tests.bench.suspects_simulation import STEP_G, VESSELS, clean_book, typed_text, uncertainty

KINDS = (
    "entered twice: draw", "entered twice: load", "vessel", "3 lb 3 oz as 3.3", "3.3 lb as 3 lb 3 oz", "lb for kg", "missing row: block",
    "missing row: load", "wrong block", "wrong harvest", "wrong session",
)  # fmt: skip
LEAST = 0.02
WEIGHTS = (("loads", "mass"), ("passes", "mass_in"), ("passes", "wax_out"), ("blocks", "mass"), ("harvests", "mass"))


def planted(rng: np.random.Generator, kind: str) -> tuple[Records, dict[tuple[str, int, str], Typed], tuple[str, int | None, str]]:
    """A book with one slip, what was typed where it is no plain number, and the (log, row, kind) to be named."""
    book = clean_book(rng, int(rng.integers(12, 21)))
    what = kind.partition(":")[0]
    if what == "entered twice":
        log = "draws" if kind.endswith("draw") else "loads"
        rows = getattr(book, log)
        row = rows[int(rng.integers(len(rows)))]
        rows.append(row | {"row": len(rows) + 1})
        return book, {}, (log, len(rows), what)
    if what == "missing row":
        return book, {}, (_gone(rng, book, "blocks" if kind.endswith("block") else "loads"), None, what)
    if what in ("wrong block", "wrong harvest", "wrong session"):
        return book, {}, _misnamed(rng, book, what)
    return _mistyped(rng, book, what)


def _gone(rng: np.random.Generator, book: Records, log: str) -> str:
    """Take a row out; of a session with one block alone, or of one load alone, nothing would be missing."""
    rows: list[dict[str, Any]] = getattr(book, log)  # type: ignore[assignment]
    while True:
        gone = rows[int(rng.integers(len(rows)))]
        if sum(r["session"] == gone["session"] for r in rows) > 1:
            break
    rows.remove(gone)
    for i, row in enumerate(rows):
        row["row"] = i + 1
    if log == "blocks":
        book.draws[:] = [d for d in book.draws if d["block"] != gone["block"]]  # type: ignore[index]
        for i, row in enumerate(book.draws):
            row["row"] = i + 1  # type: ignore[index]
    return log


def _misnamed(rng: np.random.Generator, book: Records, what: str) -> tuple[str, int | None, str]:
    log, column = {"wrong block": ("draws", "block"), "wrong harvest": ("loads", "source")}.get(what, ("loads", "session"))
    rows: list[dict[str, Any]] = getattr(book, log)  # type: ignore[assignment]
    row = rows[int(rng.integers(len(rows)))]
    others = sorted({r[column] for r in rows} - {row[column]})
    row[column] = str(rng.choice(others))
    return log, row["row"], "wrong name"


def _mistyped(
    rng: np.random.Generator, book: Records, what: str
) -> tuple[Records, dict[tuple[str, int, str], Typed], tuple[str, int | None, str]]:
    while True:
        log, column = WEIGHTS[int(rng.integers(len(WEIGHTS)))]
        rows: list[dict[str, Any]] = getattr(book, log)  # type: ignore[assignment]
        row = rows[int(rng.integers(len(rows)))]
        mass, kind = row[f"{column}_g"], what
        pounds, ounces = divmod(round(mass / GRAMS["oz"]), 16)
        if what == "vessel":
            new, typed = mass + 1840.0, Typed(typed_text(mass + 1840.0, "kg"), "kg")
        elif what == "lb for kg":
            text = f"{mass / GRAMS['lb']:.2f}"
            new, typed, kind = float(text) * 1000, Typed(text, "kg"), "unit"
        elif what == "3 lb 3 oz as 3.3":
            new, typed, kind = float(f"{pounds}.{ounces}") * GRAMS["lb"], Typed(f"{pounds}.{ounces}", "lb"), "pounds and ounces"
        else:
            tenths = round(mass / GRAMS["lb"] * 10)
            new = (tenths // 10) * GRAMS["lb"] + (tenths % 10) * GRAMS["oz"]
            typed, kind = Typed(f"{tenths // 10} lb {tenths % 10} oz", "lb"), "pounds and ounces"
        if abs(new - mass) > LEAST * mass:
            row[f"{column}_g"] = new
            return book, {(log, row["row"], column): typed}, (log, row["row"], kind)


def judged(book: Records, texts: dict[tuple[str, int, str], Typed]) -> tuple[Suspect, ...]:
    """The suspects of a book typed in kg, but for these cells."""

    def typed(w: Any) -> Typed:
        return texts.get((w.log, w.row, w.column)) or Typed(typed_text(w.mass_g or 0.0, "kg"), "kg")

    return suspects(weighed(balances(book), uncertainty, expected), Pen(typed, VESSELS, lambda log: STEP_G)).suspects


def right(s: Suspect, wanted: tuple[str, int | None, str]) -> bool:
    """Whether a suspect is the row and the kind; of two rows that say the same, either was entered twice."""
    return (s.log, s.row, s.kind) == wanted


def table(books: int, seed: int = 8) -> dict[str, tuple[float, float]]:
    """By kind: the share of books in which the slip heads the list, and in which its row is listed."""
    found = {}
    for n, kind in enumerate(KINDS):
        first = named = 0
        for i in range(books):
            book, texts, wanted = planted(np.random.default_rng((seed, n, i)), kind)
            said = judged(book, texts)
            first += bool(said) and right(said[0], wanted)
            named += any((s.log, s.row) == wanted[:2] for s in said)
        found[kind] = (first / books, named / books)
    return found


if __name__ == "__main__":
    number = next((int(a) for a in sys.argv[1:] if a.isdigit()), 40)
    results = table(number)
    print(f"{'slip':22} {'books':>6}  first  named")
    for kind, (first, named) in results.items():
        print(f"{kind:22} {number:6d} {first:6.2f} {named:6.2f}")
    print(f"{'all':22} {number * len(results):6d} {np.mean([f for f, _ in results.values()]):6.2f}")
