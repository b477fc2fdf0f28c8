"""Where wax came from, walked step by step in plain Python and exact fractions: the slow road that the program must agree with."""

from __future__ import annotations

from collections import defaultdict
from fractions import Fraction

from tests.oracle.book import Book, Load, walk
from tests.oracle.figures import Oracle

Shares = dict[tuple[str, str | None], Fraction]
UNKNOWN = ("unknown", None)


class Loop(Exception):  # noqa: N818
    """A thing that is behind itself."""


class Walk:
    """Shares of one book's things, worked out by asking each thing what it was made of."""

    def __init__(self, book: Book) -> None:
        self.book = book
        self.waxes = {r["session"]: r for r in Oracle(book).flow("session")}
        self.loads: dict[str, list[Load]] = defaultdict(list)
        for load in book.loads:
            self.loads[load.session].append(load)
        self.drawn: dict[int, Fraction] = {}
        for block in book.blocks:
            took, _ = walk(book.ledger("block", block))
            self.drawn |= {key[1]: mass for key, mass in took.items() if key[0] == "draw"}

    def up(self, kind: str, name: str, behind: tuple[tuple[str, str], ...] = ()) -> Shares:
        """Harvests, bought blocks and unknown behind a thing, summing to one."""
        if (kind, name) in behind:
            raise Loop(f"{kind} {name}")
        seen = (*behind, (kind, name))
        parts: Shares = defaultdict(Fraction)
        for source, share in self.made_of(kind, name):
            ends = {source: Fraction(1)} if source[0] in ("harvest", "unknown", "bought") else self.up(source[0], str(source[1]), seen)
            for end, part in ends.items():
                parts[end] += share * part
        return {("block", end[1]) if end[0] == "bought" else end: s for end, s in parts.items() if s}

    def made_of(self, kind: str, name: str) -> list[tuple[tuple[str, str | None], Fraction]]:
        """The next step back only, with shares that sum to one."""
        if kind == "block":
            row = self.book.blocks[name]
            origin = next(((k, row[k]) for k in ("session", "batch") if row.get(k)), ("bought", name))
            return [(origin, Fraction(1))]
        if kind == "batch":
            drawn = [(d["block"], self.drawn[i]) for i, d in enumerate(self.book.logs["draws"]) if d.get("batch") == name]
            total = sum(m for _, m in drawn if m > 0)
            return [(("block", b), m / total) for b, m in drawn if m > 0] if total else [(UNKNOWN, Fraction(1))]
        if kind == "harvest":
            return [(("harvest", name), Fraction(1))]
        return self._session(name, slumgum=kind == "slumgum")

    def holders(self) -> list[dict[str, object]]:
        """The wax that each thing holds or held: what a session gave, a block weighed, a draw took, a batch got, a sale carried off."""
        found: list[dict[str, object]] = []
        for name, made in self.waxes.items():
            gave = made["blocks_g"] + made["passed_on_g"] + made["set_aside_g"]
            found.append({"kind": "session", "id": name, "wax_g": gave if gave > 0 else self.book.passes[name][-1].get("wax_out_g")})
        found += [{"kind": "block", "id": name, "wax_g": row["mass_g"]} for name, row in self.book.blocks.items()]
        found += [{"kind": "draw", "id": str(i + 1), "wax_g": mass} for i, mass in self.drawn.items() if mass]
        poured = {}
        for row in self.book.logs["batches"]:
            drawn = [self.drawn[i] for i, d in enumerate(self.book.logs["draws"]) if d.get("batch") == row["batch"]]
            wax = sum(drawn, Fraction(0)) if drawn else None
            found.append({"kind": "batch", "id": row["batch"], "wax_g": wax, "candle": row["candle"], "date": row["date"]})
            poured[row["batch"]] = wax, row["count"] if row.get("good") is None else row["good"]
        for i, row in enumerate(self.book.logs["sales"], start=1):
            wax, good = poured.get(row.get("batch"), (None, 0))
            each = wax / good if wax is not None and good else None
            found.append({"kind": "sale", "id": str(i), "candle": row["candle"], "wax_g": None if each is None else each * row["count"]})
        return found

    def _session(self, name: str, slumgum: bool) -> list[tuple[tuple[str, str | None], Fraction]]:
        loads = self.loads[name]
        if not loads:
            return [(UNKNOWN, Fraction(1))]
        wax, comb = [x for x in loads if x.is_wax], [x for x in loads if not x.is_wax]
        made = self.waxes[name]
        total = made["blocks_g"] + made["passed_on_g"] + made["set_aside_g"] or self.book.passes[name][-1]["wax_out_g"]
        kept = sum(_weights(wax), Fraction(0))
        rest = sum(_weights(comb), Fraction(0))
        if slumgum:
            share = Fraction(0 if comb else 1)
        elif not comb:
            share = Fraction(1)
        else:
            share = min(Fraction(1), kept / total if total > 0 else kept / (kept + rest))
        found = [(_source(x), share * w / kept) for x, w in zip(wax, _weights(wax), strict=True)]
        return found + [(_source(x), (1 - share) * w / rest) for x, w in zip(comb, _weights(comb), strict=True)]


def _source(load: Load) -> tuple[str, str]:
    return {"comb": "harvest", "block": "block", "wax": "session", "slumgum": "slumgum"}[load.kind], load.source


def _weights(loads: list[Load]) -> list[Fraction]:
    """What each load counts: its mass, or all alike where one was weighed nowhere."""
    masses = [x.flow_mass for x in loads]
    return [Fraction(m) for m in masses if m] if all(m and m > 0 for m in masses) else [Fraction(1)] * len(masses)
