"""How good the wax of a block is: its measured figures against published ranges, its colour, and the melts behind it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from pipeline.flow import Loaded


@dataclass(frozen=True, slots=True)
class Measured:
    """One figure: what was measured (°C or mg KOH per g), and the published range with where it stands."""

    name: str
    value: float
    low: float | None
    high: float | None
    source: str | None
    outside: bool


@dataclass(frozen=True, slots=True)
class Quality:
    """One block: what was measured, the ratio of ester to acid value, and its melts: passes, hottest (°C), longest (min)."""

    block: str
    colour: str | None
    measured: tuple[Measured, ...]
    ratio: float | None
    passes: int
    hottest_c: float | None
    longest_min: float | None


def of_block(loaded: Loaded, block: str, sessions: Sequence[str]) -> Quality:
    """The quality of a block whose wax went through these sessions."""
    rows = loaded.warehouse.rows("SELECT * FROM block_purity WHERE block = ? ORDER BY property", [block])
    return _quality(loaded, block, rows, sessions)


def of_measured(loaded: Loaded) -> list[Quality]:
    """The quality of every block of which something was measured, in the order of the log."""
    rows = loaded.warehouse.rows(
        "SELECT p.*, b.session FROM block_purity AS p JOIN blocks AS b USING (row) ORDER BY row, property"
    )
    made = groupby(rows, key=lambda r: (r["block"], r["session"]))
    return [_quality(loaded, block, list(mine), [origin] if origin else []) for (block, origin), mine in made]


def _quality(loaded: Loaded, block: str, rows: Sequence[dict[str, object]], sessions: Sequence[str]) -> Quality:
    melts = loaded.warehouse.ask("melts_behind", [list(sessions)])[0]
    colour = loaded.warehouse.rows("SELECT colour FROM blocks WHERE block = ?", [block])
    measured = tuple(_measured(row) for row in rows)
    value = {m.name: m.value for m in measured}
    acid, ester = value.get("acid_value"), value.get("ester_value")
    return Quality(
        block,
        colour[0]["colour"] if colour else None,
        measured,
        ester / acid if acid and ester is not None else None,
        melts["passes"],
        melts["hottest_c"],
        melts["longest_min"],
    )


def _measured(row: dict[str, object]) -> Measured:
    low, high = (None if row[k] is None else float(str(row[k])) for k in ("low", "high"))
    source = None if row["source"] is None else str(row["source"])
    return Measured(str(row["property"]), float(str(row["value"])), low, high, source, bool(row["outside"]))
