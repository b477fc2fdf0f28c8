"""Balances in a line or two each, for tests that call the analyses with them."""

from __future__ import annotations

from itertools import count

from pipeline.analyses.balances_of_book import Records, balances
from pipeline.analyses.step_balance import Balance, Weight

_ROWS = count(1)


def weight(mass_g: float | None, log: str = "loads", row: int | None = None, column: str = "mass", again: bool = False) -> Weight:
    """One mass cell; without a row it has one of its own."""
    return Weight(log, next(_ROWS) if row is None else row, column, mass_g, again)


def step(
    kind: str, into: list[float | None], out: list[float | None], closed: bool = True, of: str = "S", number: int | None = None,
    alike: tuple[tuple[str | None, ...], ...] | None = None, session: str | None = "S",
) -> Balance:  # fmt: skip
    """A balance of weights that stand in no other."""
    return Balance(kind, of, tuple(map(weight, into)), tuple(map(weight, out)), closed, alike or ((kind,),), session, number)


def melted(
    kind: str, stage: str, method: str, comb: str | None, lost: float, number: int = 1, session: str = "S", in_g: float = 1000.0
) -> Balance:  # fmt: skip
    """A pass of a kilogram that loses this share, as a book has it; a melt is half wax, and loses the share of what is no wax."""
    passes = [{"row": 1, "session": session, "pass": number, "mass_in_g": in_g, "wax_out_g": in_g * (1 - lost), "residue_g": None}]
    steps = [{"session": session, "pass": number, "stage": stage, "method": method, "comb": comb}]
    if kind == "melt":
        passes[0] |= {"wax_out_g": in_g / 2, "residue_g": in_g / 2 * (1 - lost)}
    return next(b for b in balances(Records(passes=passes, steps=steps)) if b.kind == kind)
