"""``check`` and ``suspects`` never contradict each other: random books with weights changed at random.

What a weighing rule of ``check`` warns of is named by ``suspects``, stands beside something that it names, or is told as
unexplained or usual; and nothing is said to fit where ``check`` warns of a weight. ``LOOK_HARDER=50`` looks at more books.
"""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from datetime import date
from fractions import Fraction
from pathlib import Path
from random import Random

from hypothesis import given
from hypothesis import strategies as st

from pipeline.answers import suspects
from pipeline.answers.checks_and_suspects_agree import warned
from pipeline.contract.findings import Severity
from pipeline.flow import load
from pipeline.wording import suspect_sentences
from pipeline.wording.amounts import Units
from tests.books import TODAY
from tests.strategies import books, looking, made_book, write_book

MASSES = {"harvests": ("mass_g",), "loads": ("mass_g",), "passes": ("mass_in_g", "wax_out_g"), "blocks": ("mass_g",), "draws": ("mass_g",)}


USUAL = "What check warns of is within what such steps usually lose: no single weight stands out."


def weights(logs: dict) -> list[tuple[dict, str]]:
    return [(r, c) for log, columns in MASSES.items() for r in logs.get(log, []) for c in columns if r.get(c)]


@given(books(), st.randoms(use_true_random=False), st.integers(0, 3))
@looking(2)
def test_check_and_suspects_never_contradict_each_other(book, rng: Random, slips: int) -> None:
    for row, column in rng.sample(weights(book.logs), min(slips, len(weights(book.logs)))):
        row[column] *= rng.choice((Fraction(10), Fraction(1, 10), Fraction("0.45359237"), Fraction(4, 3)))
    with tempfile.TemporaryDirectory() as room:
        loaded = load(write_book(book, Path(room) / "b"), date.fromisoformat(TODAY))
        if any(f.severity is Severity.ERROR for f in loaded.findings):
            return
        fit = suspects.fit(loaded)
        told = list(suspect_sentences.each(fit, Units.of(loaded.book)))
    of_mass = warned(loaded.findings)
    assert not (of_mass and any("no weight looks mistyped" in text for text in told)), told
    alone = {(x.finding.log, x.finding.line, x.finding.rule) for x in fit.unexplained.alone}
    explained = [f for f in of_mass if (f.log, f.line, f.rule) not in alone]
    assert len(explained) <= fit.unexplained.usually or fit.suspects or any(says_odd(told)), (explained, told)


def test_a_usual_difference_is_not_said_to_fit() -> None:
    """Such a book, found by looking harder: ``check`` warns of a difference that this book usually shows."""
    with tempfile.TemporaryDirectory() as room:
        loaded = load(write_book(made_book(Random(0)), Path(room) / "b"), date.fromisoformat(TODAY))
        fit = suspects.fit(loaded)
    assert (fit.suspects, fit.unexplained.alone, fit.unexplained.usually, fit.unexplained.warned) == ((), (), 1, 1)
    assert suspect_sentences.suspects(fit, Units.of(loaded.book)) == USUAL


def says_odd(told: list[str]) -> Iterator[bool]:
    """Whether a step that went off is told."""
    return ("went missing than usual" in text for text in told)
