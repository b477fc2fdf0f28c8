"""Weights added up and vessels taken off while recording: ``2 lb 3 oz + 1 lb``, ``10 lb 6 oz - crock``."""

from __future__ import annotations

import re
from collections.abc import Mapping
from fractions import Fraction

from pipeline.contract.quantities import Dimension, Marks, Refusal, read_quantity, with_one_spelling

KEPT_DECIMALS = 2
"""Decimals of a gram to which a sum is known: what was typed stands in the notes."""
_SIGN = re.compile(r" ([+\-]) ")


def is_sum(text: str) -> bool:
    """Whether a ``+`` or ``-`` stands between spaces in it."""
    return _SIGN.search(with_one_spelling(text)) is not None


def read_sum(text: str, marks: Marks, vessels: Mapping[str, float]) -> Fraction | Refusal:
    """The mass in g, to 0.01 g, of a sum or a difference.

    ``+`` and ``-`` stand between spaces; each term has a unit or is a vessel (name, empty weight in g).
    """
    terms = _SIGN.split(with_one_spelling(text))
    total = Fraction(0)
    for sign, term in zip(["+", *terms[1::2]], terms[::2], strict=True):
        mass = _term(term.strip(), marks, vessels)
        if isinstance(mass, Refusal):
            return mass
        total += mass if sign == "+" else -mass
    if total > 0:
        return Fraction((2 * 10**KEPT_DECIMALS * total + 1) // 2, 10**KEPT_DECIMALS)
    expected = "comes to nothing or less, and a weight over 0 was expected"
    return Refusal("not-above", f"{text} {expected}", "was it weighed without the pot, or in another?")


def _term(term: str, marks: Marks, vessels: Mapping[str, float]) -> Fraction | Refusal:
    known = {name.casefold(): mass for name, mass in vessels.items()}
    if term.casefold() in known:
        return Fraction(str(known[term.casefold()]))
    read = read_quantity(term, Dimension.MASS, None, marks)
    if isinstance(read, Refusal) and not re.search(r"[0-9]", term):
        listed = ", ".join(vessels) or "none yet"
        return Refusal(
            "unit-unknown", f"{term} is no vessel of this book ({listed})", "add it under [vessels] in book.toml"
        )
    return read
