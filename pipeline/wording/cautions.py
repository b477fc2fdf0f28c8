"""The cautions that go with hot wax and with flames, from the one table that holds them."""

from __future__ import annotations

from pipeline.contract import shipped_files
from pipeline.wording.amounts import Units

BURNING = ("test burn", "hot glass")
"""What is said wherever candles are burned to test them."""
MELTING = ("open flame", "burns", "wax fire", "air")
"""What is said wherever wax is melted."""
LOCAL = "Local rules and the advice of your supplier come first."


def cautions(names: tuple[str, ...], units: Units) -> list[str]:
    """The named cautions as sentences, in this order, in the book's spelling."""
    says = {r["caution"]: r["says"] for r in shipped_files.reference("cautions")}
    return [units.spelled(f"{says[name][0].upper()}{says[name][1:]}.") for name in names]


def limit(caution: str) -> float:
    """The most that a caution allows, in the unit of its row (°C for temperatures)."""
    return next(float(r["high"]) for r in shipped_files.reference("cautions") if r["caution"] == caution)
