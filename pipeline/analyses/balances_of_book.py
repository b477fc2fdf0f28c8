"""A book's rows put together as balances; the only place that knows which cells weigh the same wax."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

from pipeline.analyses.shelf_balance import Move, shelf_balances
from pipeline.analyses.step_balance import Balance, Weight

Row = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Records:
    """The rows that hold weighings, in file order, missing cells None; masses in g.

    ``harvests``: row, harvest, mass_g. ``loads``: row, session, pass, source_kind, source, part, mass_g (as weighed),
    emptied, date. ``passes``: row, session, pass, mass_in_g, wax_out_g, residue_g. ``steps``: session, pass, stage,
    method, comb. ``blocks``: row, block, session, date, blend, mass_g. ``draws``: row, block, date, mass_g. ``stocktakes``: row,
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
    found += shelf_balances(sorted_out.shelf(records), records.unweighed_pours)
    return found


class _Sorted:
    """The records by what they belong to."""

    def __init__(self, records: Records) -> None:
        self.passes: dict[str, list[Row]] = defaultdict(list)
        self.steps = {(r["session"], r["pass"]): r for r in records.steps}
        self.into: dict[tuple[str, int], list[Row]] = defaultdict(list)
        self.outof: dict[tuple[str, str, str | None], list[Row]] = defaultdict(list)
        self.blocks: dict[str, list[Row]] = defaultdict(list)
        self.counted: dict[tuple[str, str], list[Row]] = defaultdict(list)
        self.cells: dict[tuple[str, str], dict[int, Weight]] = defaultdict(dict)
        self.unweighed_pours = records.unweighed_pours
        self.again = {("loads", n) for n in _again(records.loads, _SAME_LOAD)}
        self.again |= {("draws", n) for n in _again(records.draws, _SAME_DRAW)}
        self.again |= {("blocks", n) for n in _again(records.blocks, _SAME_BLOCK)}
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
        found: list[Balance] = []
        before: Weight | None = None
        for run in _runs(passes):
            number = run[0]["pass"]
            loads = [self._weight("loads", r) for r in self.into[session, number]]
            later = [self._weight("loads", r) for p in run[1:] for r in self.into[session, p["pass"]]]
            mass_in, wax_out = self._weight("passes", run[0], "mass_in"), self._weight("passes", run[-1], "wax_out")
            into = (*((before,) if before else ()), *loads)
            if into or mass_in.mass_g:  # where nothing was loaded, a load of another name may belong
                alike = _ALIKE["first join" if number <= 1 else "later join"]
                found.append(Balance("join", session, into, (mass_in,), True, alike, session, number))
            found += self._melts(session, run, (mass_in, *later), wax_out)
            before = wax_out
        return found + self._ends(session, passes, before)

    def _melts(self, session: str, run: list[Row], into: tuple[Weight, ...], wax_out: Weight) -> list[Balance]:
        """What came of one step: the wax alone, and with the residue where all of it was weighed."""
        residues = tuple(self._weight("passes", p, "residue") for p in run)
        number = run[0]["pass"]
        step = self.steps.get((session, number), {})
        of = (step.get("stage"), step.get("method"), step.get("comb"), str(number))
        found = []
        if wax_out.mass_g != 0:  # all lost is a reading, and no yield
            found.append(Balance("yield", session, into, (wax_out,), True, _melts_alike("yield", *of), session, number))
        if all(w.mass_g is not None for w in residues):
            out = (wax_out, *residues)
            found.append(Balance("melt", session, into, out, True, _melts_alike("melt", *of), session, number))
        return found

    def _ends(self, session: str, passes: list[Row], wax_out: Weight | None) -> list[Balance]:
        found = []
        passed = self.outof["session", session, "wax"]
        blocks = self.blocks[session]
        out = (*(self._weight("blocks", r) for r in blocks), *(self._weight("loads", r) for r in passed))
        if wax_out is not None and out:
            kind = "cast" if blocks else "wax"
            closed = bool(blocks) or _emptied(passed)
            found.append(Balance(kind, session, (wax_out,), out, closed, _ALIKE[kind], session))
        slumgum = self.outof["session", session, "slumgum"]
        residues = tuple(self._weight("passes", p, "residue") for p in passes)
        if slumgum and all(w.mass_g is not None for w in residues):
            out = tuple(self._weight("loads", r) for r in slumgum)
            found.append(Balance("slumgum", session, residues, out, _emptied(slumgum), _ALIKE["slumgum"], session))
        return found

    def store(self, kind: str, row: Row) -> list[Balance]:
        """A harvest or block from its weighing to its end, cut at each stocktake of it."""
        outs = sorted(self.outof[kind, row[kind], None], key=lambda r: r["date"])
        found = []
        start = self._weight(f"{kind}s", row)
        for count in sorted(self.counted[kind, row[kind]], key=lambda r: r["date"]):
            gone = [r for r in outs if r["date"] <= count["date"]]
            outs = outs[len(gone) :]
            end = self._weight("stocktakes", count)
            if not self._unknown_use(kind, gone, count["date"]):
                found.append(self._store(kind, row[kind], start, gone, end))
            start = end
        if outs or not found:
            found.append(self._store(kind, row[kind], start, outs, None))
        return found

    def shelf(self, records: Records) -> list[Move]:
        """What came onto the shelf, left it and was counted on it; pure wax only."""
        counts = [r for r in records.stocktakes if r["mass_g"] is not None]
        if not any(r["item_kind"] == "shelf" for r in counts):
            return []
        pure = {r["block"]: r for r in records.blocks if r["blend"] is None}
        moves = [Move(r["date"], "cast", r["row"], r["block"], self._weight("blocks", r)) for r in pure.values()]
        for block in pure:
            for r in self.outof["block", block, None]:
                weight = self._weight("loads" if "session" in r else "draws", r)
                moves.append(Move(r["date"], "gone", r["row"], block, weight, bool(r.get("emptied"))))
        for r in counts:
            if r["item_kind"] == "shelf" or r["item"] in pure:
                block = None if r["item_kind"] == "shelf" else r["item"]
                moves.append(Move(r["date"], "counted", r["row"], block, self._weight("stocktakes", r)))
        return moves

    def _unknown_use(self, kind: str, gone: list[Row], counted: Any) -> bool:
        """Whether what is gone need not be logged: a harvest of which nothing was loaded, a pour nobody weighed out."""
        return not gone if kind == "harvest" else any(day <= counted for day in self.unweighed_pours)

    def _store(self, kind: str, name: str, start: Weight, gone: list[Row], end: Weight | None) -> Balance:
        out = tuple(self._weight("loads" if "session" in r else "draws", r) for r in gone)
        session = next((r["session"] for r in gone if "session" in r), None)
        ends = (end,) if end is not None else ()
        closed = end is not None or _emptied(gone)
        return Balance(kind, name, (start,), (*out, *ends), closed, _ALIKE[kind], session)

    def _weight(self, log: str, row: Row, column: str = "mass") -> Weight:
        """The one weight of a cell, however many balances it stands in."""
        cells = self.cells[log, column]
        number = int(row["row"])
        if number not in cells:
            value = row[f"{column}_g"]
            again = (log, number) in self.again
            cells[number] = Weight(log, number, column, None if value is None else float(value), again)
        return cells[number]


_ALIKE: Mapping[str, tuple[tuple[str, ...], ...]] = {
    kind: ((kind,),) for kind in ("harvest", "block", "slumgum", "cast", "wax", "first join", "later join")
}


@cache
def _melts_alike(
    kind: str, stage: str | None, method: str | None, comb: str | None, number: str
) -> tuple[tuple[str | None, ...], ...]:
    """The keys that a melt shares with others, closest first, each once: comb and number of the pass, then wider ones."""
    step = (kind, stage, method)
    return tuple(dict.fromkeys(((*step, comb, number), (*step, None, number), (*step, comb), step, step[:2])))


_SAME_LOAD = ("session", "pass", "source_kind", "source", "part", "mass_g")
_SAME_DRAW = ("block", "date", "mass_g")
_SAME_BLOCK = ("session", "date", "mass_g")


def _again(rows: Sequence[Row], columns: Sequence[str]) -> list[int]:
    """The numbers of rows that say in these columns what an earlier one says."""
    seen: set[tuple[Any, ...]] = set()
    found = []
    for row in rows:
        key = tuple(row.get(c) for c in columns)
        if key in seen and row["mass_g"] is not None:
            found.append(int(row["row"]))
        seen.add(key)
    return found


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
