"""The rules of ``checks/`` that a new row alone can break, asked of that row and the few rows it leads to."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from fractions import Fraction

from pipeline.quantities import Refusal
from pipeline.recording.names import Names

Row = Mapping[str, str]
Rule = Callable[[Names, Row], tuple[str, Refusal] | None]
_SUM_SLACK = Fraction(1, 20)  # per cent, as in checks/recipe_sum.sql


def broken(names: Names, log: str, row: Row) -> list[tuple[str, Refusal]]:
    """The columns at fault and why, for one row as it would stand in the log (its own unit, decimal dots)."""
    return [found for rule in _RULES.get(log, ()) if (found := rule(names, row)) is not None]


def _recipe_sum(_names: Names, row: Row) -> tuple[str, Refusal] | None:
    wax, oil = (Fraction((row.get(name) or "0").replace(",", ".")) for name in ("wax_pct", "oil_pct"))
    total = wax + oil
    if not row.get("wax_pct") or abs(total - 100) <= _SUM_SLACK:
        return None
    message = (
        f"wax and oil make {float(total):g} %, {float(abs(total - 100)):g} % {'over' if total > 100 else 'under'} 100"
    )
    return "wax_pct", Refusal("recipe_sum", message, "let them sum to 100; scent is counted on top")


def _measured_as_it_is(names: Names, row: Row) -> tuple[str, Refusal] | None:
    item = row.get("item", "").removeprefix("candle ")
    is_candle = bool(item) and item in names.first("candles")
    if is_candle and row.get("mass"):
        return "count", Refusal(
            "stocktake_measure", "candles are counted, but a mass is given", "write how many there are"
        )
    if not is_candle and row.get("count"):
        return "mass", Refusal(
            "stocktake_measure", "wax and comb are weighed, but a count is given", "write what it weighed"
        )
    return None


def _slumgum_weighed(names: Names, row: Row) -> tuple[str, Refusal] | None:
    if row.get("part") != "slumgum" or row.get("mass"):
        return None
    source = row.get("source", "").removeprefix("session ")
    rows = names.shape("passes").column("session", "residue")
    if all(residue for session, residue in rows if session == source):
        return None
    message = f"all slumgum of {source} was loaded, but not every residue of it was weighed"
    return "mass", Refusal("slumgum_unweighed", message, "weigh what is loaded, or the missing residues")


def _no_loop(names: Names, row: Row) -> tuple[str, Refusal] | None:
    """Nothing that a session loads may come out of that session, however long the way round."""
    if not row.get("part") and row.get("source", "").removeprefix("block ") not in names.first("blocks"):
        return None  # comb came from no session
    from_session: dict[str, str] = {}
    for block, session in names.shape("blocks").column("block", "session"):
        from_session[block] = session
    fed: dict[str, set[str]] = {}
    for session, source in names.shape("loads").column("session", "source"):
        fed.setdefault(session, set()).add(from_session.get(source) or source.removeprefix("session "))
    goal, ahead, seen = row.get("session", ""), [row.get("source", "")], set[str]()
    while ahead:
        name = from_session.get(ahead[-1]) or ahead[-1].removeprefix("session ")
        ahead.pop()
        if name == goal:
            return "source", Refusal(
                "source_loop", f"{row.get('source')} itself came out of {goal}", "correct the source"
            )
        if name not in seen:
            seen.add(name)
            ahead.extend(fed.get(name, ()))
    return None


_RULES: dict[str, tuple[Rule, ...]] = {
    "blends": (_recipe_sum,),
    "stocktakes": (_measured_as_it_is,),
    "loads": (_slumgum_weighed, _no_loop),
}
