"""Which cautions do these logs give a reason for?"""

from __future__ import annotations

from dataclasses import dataclass

from pipeline.flow import Loaded


@dataclass(frozen=True, slots=True)
class Care:
    """One caution, said once: where the first reason for it stands, how many rows give one, what to mind, and who says so."""

    caution: str
    log: str
    line: int
    rows: int
    says: str
    source: str


def care(loaded: Loaded) -> list[Care]:
    """The cautions that disease, treatments, heat, metal or water in the logs give a reason for; the gravest first."""
    found = loaded.warehouse.ask("reasons_for_cautions")
    return [
        Care(r["caution"], r["log"], loaded.lines(r["log"], {r["row"]})[r["row"]], r["rows"], r["says"], r["source"])
        for r in found
    ]
