"""A book's rows put together as balances; the only place that knows which cells weigh the same wax."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from pipeline.analyses.weighings import Balance, Weight

Row = Mapping[str, Any]


@dataclass(frozen=True)
class Records:
    """The rows that hold weighings, in file order, missing cells None; masses in g.

    ``harvests``: row, harvest, mass_g. ``loads``: row, session, pass, source_kind, source, part, mass_g (as weighed),
    emptied, date. ``passes``: row, session, pass, mass_in_g, wax_out_g, residue_g. ``steps``: session, pass, stage,
    method, comb. ``blocks``: row, block, session, mass_g. ``draws``: row, block, date, mass_g. ``stocktakes``: row,
    date, item_kind, item, mass_g. ``unweighed_pours``: dates of pours whose wax was drawn without a note.
    """

    harvests: Sequence[Row] = ()
    loads: Sequence[Row] = ()
    passes: Sequence[Row] = ()
    steps: Sequence[Row] = ()
    blocks: Sequence[Row] = ()
    draws: Sequence[Row] = ()
    stocktakes: Sequence[Row] = ()
    unweighed_pours: Sequence[Any] = ()


def balances(records: Records) -> list[Balance]:
    """Every balance of the book, whether or not it can be checked."""
    sorted_out = _Sorted(records)
    found = [b for session in sorted_out.passes for b in sorted_out.session(session)]
    found += [b for row in records.harvests for b in sorted_out.store("harvest", row)]
    found += [b for row in records.blocks for b in sorted_out.store("block", row)]
    return found


def _weight(log: str, row: Row, column: str = "mass") -> Weight:
    value = row[f"{column}_g"]
    return Weight(log, int(row["row"]), column, None if value is None else float(value))


class _Sorted:
    """The records by what they belong to."""

    def __init__(self, records: Records) -> None:
        self.passes: dict[str, list[Row]] = defaultdict(list)
        self.steps = {(r["session"], r["pass"]): r for r in records.steps}
        self.into: dict[tuple[str, int], list[Row]] = defaultdict(list)
        self.outof: dict[tuple[str, str, str | None], list[Row]] = defaultdict(list)
        self.blocks: dict[str, list[Row]] = defaultdict(list)
        self.counted: dict[tuple[str, str], list[Row]] = defaultdict(list)
        self.unweighed_pours = records.unweighed_pours
        for r in records.passes:
            self.passes[r["session"]].append(r)
        for r in records.loads:
            self.into[r["session"], r["pass"] or 1].append(r)
            self.outof[r["source_kind"], r["source"], r["part"]].append(r)
        for r in records.blocks:
            if r["session"] is not None:
                self.blocks[r["session"]].append(r)
        for r in records.draws:
            self.outof["block", r["block"], None].append(r)
        for r in records.stocktakes:
            if r["item"] is not None and r["mass_g"] is not None:
                self.counted[r["item_kind"], r["item"]].append(r)

    def session(self, session: str) -> list[Balance]:
        """Joins, melts, casting and slumgum of one session."""
        passes = sorted(self.passes[session], key=lambda r: r["pass"])
        runs = _runs(passes)
        found: list[Balance] = []
        before: Weight | None = None
        for run in runs:
            first, last = run[0], run[-1]
            loads = [_weight("loads", r) for r in self.into[session, first["pass"]]]
            later = [_weight("loads", r) for p in run[1:] for r in self.into[session, p["pass"]]]
            mass_in, wax_out = _weight("passes", first, "mass_in"), _weight("passes", last, "wax_out")
            into = (*((before,) if before else ()), *loads)
            words = f"pass {first['pass']} of session {session}"
            if into:
                alike = (("join", str(min(first["pass"], 2))),)
                at = ("passes", first["row"])
                found.append(
                    Balance("join", f"what went into {words}", into, (mass_in,), True, alike, session, at, None)
                )
            found.append(self._melt(session, run, (mass_in, *later), wax_out, words))
            before = wax_out
        return found + self._ends(session, passes, before)

    def _melt(self, session: str, run: list[Row], into: tuple[Weight, ...], wax_out: Weight, words: str) -> Balance:
        residues = [_weight("passes", p, "residue") for p in run]
        given = tuple(w for w in residues if w.mass_g is not None)
        step = self.steps.get((session, run[0]["pass"]), {})
        scraped = "residue" if len(given) == len(residues) else "no residue"
        stage, method, comb = step.get("stage"), step.get("method"), step.get("comb")
        kind, which = ("melt", scraped, stage, method), str(run[0]["pass"])
        alike = ((*kind, comb, which), (*kind, which), (*kind, comb), kind, kind[:3])
        return Balance("melt", words, into, (wax_out, *given), True, alike, session, ("passes", run[0]["row"]), None)

    def _ends(self, session: str, passes: list[Row], wax_out: Weight | None) -> list[Balance]:
        found = []
        passed = self.outof["session", session, "wax"]
        blocks = self.blocks[session]
        out = (*(_weight("blocks", r) for r in blocks), *(_weight("loads", r) for r in passed))
        if wax_out is not None and out:
            kind = "cast" if blocks else "wax"
            closed = bool(blocks) or _emptied(passed)
            name, at, missing = f"the wax of session {session}", ("passes", wax_out.row), "blocks" if blocks else None
            found.append(Balance(kind, name, (wax_out,), out, closed, ((kind,),), session, at, missing))
        slumgum = self.outof["session", session, "slumgum"]
        residues = tuple(_weight("passes", p, "residue") for p in passes)
        if slumgum and all(w.mass_g is not None for w in residues):
            out = tuple(_weight("loads", r) for r in slumgum)
            name, at = f"the slumgum of session {session}", ("passes", passes[0]["row"])
            whole = _emptied(slumgum)
            found.append(Balance("slumgum", name, residues, out, whole, (("slumgum",),), session, at, None))
        return found

    def store(self, kind: str, row: Row) -> list[Balance]:
        """A harvest or block from its weighing to its end, cut at each stocktake of it."""
        log = f"{kind}s"
        outs = sorted(self.outof[kind, row[kind], None], key=lambda r: r["date"])
        found = []
        start = _weight(log, row)
        for count in sorted(self.counted[kind, row[kind]], key=lambda r: r["date"]):
            gone = [r for r in outs if r["date"] <= count["date"]]
            outs = outs[len(gone) :]
            end = _weight("stocktakes", count)
            if not self._unknown_use(kind, gone, count["date"]):
                found.append(self._store(kind, row, start, gone, end))
            start = end
        if outs:
            found.append(self._store(kind, row, start, outs, None))
        return found

    def _unknown_use(self, kind: str, gone: list[Row], counted: Any) -> bool:
        """Whether what is gone need not be logged: a harvest of which nothing was loaded, a pour nobody weighed out."""
        return not gone if kind == "harvest" else any(day <= counted for day in self.unweighed_pours)

    def _store(self, kind: str, row: Row, start: Weight, gone: list[Row], end: Weight | None) -> Balance:
        out = tuple(_weight("loads" if "session" in r else "draws", r) for r in gone)
        closed = end is not None or _emptied(gone)
        name = f"{kind} {row[kind]}"
        session = next((r["session"] for r in gone if "session" in r), None)
        missing = "loads" if kind == "harvest" else "draws"
        ends = (end,) if end is not None else ()
        return Balance(
            kind, name, (start,), (*out, *ends), closed, ((kind,),), session, (f"{kind}s", row["row"]), missing
        )


def _emptied(rows: list[Row]) -> bool:
    """Whether a row says so, or took all that was left."""
    return any(r.get("emptied") or r["mass_g"] is None for r in rows)


def _runs(passes: list[Row]) -> list[list[Row]]:
    """Passes in order, those not weighed between taken as one step."""
    runs: list[list[Row]] = [[]]
    for p in passes:
        runs[-1].append(p)
        if p["wax_out_g"] is not None:
            runs.append([])
    return [r for r in runs if r]
