"""How often the mistyped weight is named, beside Bayes' rule by somebody who knows how the books were made.

Run: ``python -m tests.bench.suspects_named [books] [--seed N]`` (181 books of 3, 10 and 40 sessions; two slips; clean books). *named*:
the right cell is among the first five of the list (of Bayes' rule, at a chance of .02 or more); *first*: it heads the
list; *value*: and what was meant is right within 1 %. Bayes' rule is told that each book has one slip; *untold*, it takes one
weight in 200 for a slip and names where it is likelier than not that there is one. ``calibration`` pools every listed chance.
"""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from dataclasses import dataclass
from math import hypot, sqrt

import numpy as np

from pipeline.analyses.balances_of_book import balances
from pipeline.analyses.possible_slips import Pen
from pipeline.analyses.suspects import Suspect, suspects
from pipeline.analyses.typing_slips import Typed
from pipeline.analyses.weighing_network import weighed
from pipeline.contract import shipped_files
from tests.bench import slip_bayes
from tests.bench.slipped_books import KINDS, VESSELS, Book, Cell, Planted, clean_book, one_slip, two_slips

SEED = 181
STEP_G, RELATIVE = 5.0, 0.001
FAINT, LISTED, TOP = 0.02, 0.5, 5


def uncertainty(log: str, mass_g: float) -> float:
    """The scale of a book.toml that says nothing: 5 g and one part in a thousand."""
    return hypot(STEP_G / sqrt(12), RELATIVE * mass_g)


def judged(book: Book) -> Sequence[Suspect]:
    """The suspects of a book."""

    def typed(weight: object) -> Typed:
        cell = Cell(weight.log, weight.row, weight.column)  # type: ignore[attr-defined]
        return Typed(book.texts[cell], book.unit)

    network = weighed(balances(book.records), uncertainty, expected)
    return suspects(network, Pen(typed, VESSELS, lambda log: STEP_G)).suspects


RANGES = {(r["comb"], r["method"]): (float(r["low"]), float(r["high"])) for r in shipped_files.reference("yield_priors")}


def expected(comb: str | None, method: str | None) -> tuple[float, float]:
    """The yields that the program ships."""
    return RANGES[comb or "", method or ""]


def place(s: Suspect) -> Cell:
    """The cell that a suspect stands in."""
    return Cell(s.log, s.row or 0, s.column or "")


@dataclass
class Score:
    """Of the books of one row: how many, and how many named, first and with the right value, by both."""

    books: int = 0
    named: int = 0
    first: int = 0
    value: int = 0
    bayes_named: int = 0
    bayes_first: int = 0
    untold: int = 0

    def add(self, book: Book, planted: Planted, said: list[tuple[float, bool]]) -> None:
        """Judge one book; ``said`` gains every listed chance with whether it was right."""
        found = judged(book)[:TOP]
        best, sure = slip_bayes.posterior(book)
        self.books += 1
        said += [(s.chance, place(s) == planted.cell) for s in found]
        self.named += any(place(s) == planted.cell for s in found)
        if found and place(found[0]) == planted.cell:
            self.first += 1
            likely = found[0].likely_g
            self.value += likely is not None and abs(likely - planted.meant_g) <= 0.01 * planted.meant_g
        listed = [c for c, p in best[:TOP] if p >= FAINT]
        self.bayes_named += planted.cell in listed
        self.untold += sure >= LISTED and planted.cell in listed
        self.bayes_first += best[0][0] == planted.cell

    def shown(self, name: str) -> str:
        """One line of the table, with the standard error of ``named``."""
        n = max(self.books, 1)
        figures = [x / n for x in (self.named, self.first, self.value, self.bayes_named, self.bayes_first, self.untold)]
        error = sqrt(figures[0] * (1 - figures[0]) / n)
        return f"{name:22} {self.books:6d} " + " ".join(f"{f:7.2f}" for f in figures) + f"  +- {error:.2f}"


def one(books: int, seed: int) -> list[tuple[float, bool]]:
    """Print the table of one slip; every chance that was said, and whether it was right."""
    said: list[tuple[float, bool]] = []
    print(f"{'one slip':22} {'books':>6}   named   first   value  Bayes:named first  untold")
    for sessions in (3, 10, 40):
        by_kind = {k: Score() for k in KINDS}
        whole = Score()
        for n in range(books):
            book, planted = one_slip(seed, n, sessions)
            here = Score()
            here.add(book, planted, said)
            for total in (whole, by_kind[planted.kind]):
                for key, more in vars(here).items():
                    setattr(total, key, getattr(total, key) + more)
        for kind, score in by_kind.items():
            print(score.shown(f"  {sessions} sessions, {kind}"))
        print(whole.shown(f"{sessions} sessions"))
    return said


def two(books: int, seed: int) -> None:
    """Print the table of two slips in one session."""
    print("\ntwo slips in one session: both named; one of them; Bayes: both in the likeliest pair")
    for sessions in (3, 10):
        both = either = best = 0
        for n in range(books):
            book, planted = two_slips(seed, n, sessions)
            cells = {p.cell for p in planted}
            found = {place(s) for s in judged(book)}
            both, either = both + (cells <= found), either + bool(cells & found)
            best += set(slip_bayes.pairs(book)[0][0]) == cells
        print(f"{sessions:3d} sessions {books:6d} {both / books:7.2f} {either / books:7.2f} {best / books:7.2f}")


def clean(books: int, seed: int) -> None:
    """Print how many clean books have a row at all, and one at .5 or over."""
    print("\nclean books: share with any row; with a row at .5 or over")
    for sessions in (3, 10, 40):
        found = [
            [s.chance for s in judged(clean_book(np.random.default_rng((seed, 9, sessions, n)), sessions, ("kg", "g", "lb")[n % 3]))]
            for n in range(books)
        ]
        figures = [np.mean([any(p >= level for p in ps) for ps in found]) for level in (0, LISTED)]
        print(f"{sessions:3d} sessions {books:6d} " + " ".join(f"{f:7.3f}" for f in figures))


def calibration(said: list[tuple[float, bool]]) -> None:
    """Print how often what was said at a chance was right."""
    print("\ncalibration: chance said, times said, right")
    for low, high in ((0.02, 0.1), (0.1, 0.3), (0.3, 0.5), (0.5, 0.7), (0.7, 0.9), (0.9, 0.99), (0.99, 1.01)):
        here = [(p, hit) for p, hit in said if low <= p < high]
        if here:
            right = float(np.mean([hit for _, hit in here]))
            error = sqrt(right * (1 - right) / len(here))
            print(f"{np.mean([p for p, _ in here]):6.2f} {len(here):6d} {right:6.2f}  +- {error:.2f}")


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description="how often the mistyped weight is named")
    parser.add_argument("books", type=int, nargs="?", default=181)
    parser.add_argument("--seed", type=int, default=SEED)
    asked = parser.parse_args()
    calibration(one(asked.books, asked.seed))
    two(min(asked.books, 60), asked.seed)
    clean(asked.books, asked.seed)
