"""Every figure of a book worked out the slow way: the executable reading of what the figures mean.

Each rule stands once, as a short method whose docstring says it in words. Exact fractions inside; `float` only where a
figure leaves. The shelf (stock, candles) is in `tests.oracle.shelf`, candles in `tests.oracle.candles`.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from datetime import date
from fractions import Fraction
from typing import Any

from tests.oracle.book import ZERO, Book, Load, Row

MIXED_BELOW = Fraction(9, 10)


@dataclass(frozen=True)
class Step:
    """A weighed step: one pass, or a run of passes not weighed between, under the name of the first."""

    number: int
    method: str
    filter: str | None
    day: date
    in_g: Fraction | None  # None: comb in it was weighed nowhere
    flow_in_g: Fraction | None  # the same with the estimate by frames
    before_g: Fraction  # the wax that came from the step before
    wax_g: Fraction
    residue_g: Fraction
    passes: int
    end: date  # the day its wax came off
    loaded_g: Fraction | None  # over its passes, with the estimate by frames
    in_weighed: bool
    residue_weighed: bool


@dataclass(frozen=True)
class Origin:
    """Where a gram of comb came from, and whether yields may know of it.

    `standing` is `counted`; or `bought`, which only the yield on slumgum counts; or `out`, weighed nowhere.
    """

    season: str | None
    comb: str | None
    apiary: str | None
    hive: str | None
    standing: str = "counted"


@dataclass(frozen=True)
class Part:
    """What one session gave out of one origin: the row that every group sums."""

    session: str
    method: str
    origin: Origin
    comb_g: Fraction
    slumgum_g: Fraction
    wax_g: Fraction


def total(masses: Iterable[Fraction | None]) -> Fraction | None:
    """A sum that cannot be known where one of its masses cannot."""
    found = list(masses)
    return None if None in found else sum((m for m in found if m is not None), ZERO)


def shared(loads: list[Load], mass: Callable[[Load], Fraction | None] = lambda load: load.mass) -> list[Fraction]:
    """Shares by mass; evenly where there is no mass to share by."""
    masses = [mass(load) or ZERO for load in loads]
    whole = sum(masses, ZERO)
    return [m / whole for m in masses] if whole else [Fraction(1, len(loads))] * len(loads)


class Session:
    """One rendering session: its steps, and what became of what was loaded into it."""

    def __init__(self, book: Book, name: str) -> None:
        self.book, self.name = book, name
        self.passes = book.passes[name]
        self.loads = [load for load in book.loads if load.session == name]
        self.comb = [load for load in self.loads if load.kind == "comb"]
        self.slumgum = [load for load in self.loads if load.kind == "slumgum"]
        self.wax = [load for load in self.loads if load.is_wax]
        self.blocks = [row for row in book.logs["blocks"] if row.get("session") == name]
        self.passed_on_loads = [load for load in book.loads if (load.kind, load.source) == ("wax", name)]
        self.season = book.settings.season(self.passes[0]["date"])
        self.method: str = self.passes[0]["method"]
        self.wax_only = bool(self.wax) and not self.comb and not self.slumgum
        self.steps = self._steps()

    # The chain of passes ----------------------------------------------------------------------------------------

    def loaded_into(self, number: int, mass: Callable[[Load], Fraction | None]) -> Fraction | None:
        """What was loaded into a pass; a session without a load is taken to have loaded its first mass_in."""
        if not self.loads and number == self.passes[0]["pass"]:
            return self.passes[0].get("mass_in_g")
        return total(mass(load) for load in self.loads if load.number == number)

    def _steps(self) -> list[Step]:
        steps: list[Step] = []
        run: list[Row] = []
        for row in self.passes:
            run.append(row)
            if row.get("wax_out_g") is not None:
                steps.append(self._step(run, steps[-1].wax_g if steps else ZERO))
                run = []
        return steps

    def _step(self, run: list[Row], before: Fraction) -> Step:
        """mass_in of the first pass of the run (empty: its loads and the last wax), and the later passes' loads."""

        def mass_in(mass: Callable[[Load], Fraction | None]) -> Fraction | None:
            first = run[0].get("mass_in_g")
            if first is None:
                first = total([before, self.loaded_into(run[0]["pass"], mass)])
            return total([first, *(self.loaded_into(row["pass"], mass) for row in run[1:])])

        return Step(
            run[0]["pass"], run[0]["method"], run[0].get("filter"), run[0]["date"],
            mass_in(lambda load: load.mass), mass_in(lambda load: load.flow_mass), before,
            run[-1]["wax_out_g"], sum((row.get("residue_g") or ZERO for row in run), ZERO), len(run), max(row["date"] for row in run),
            total(self.loaded_into(row["pass"], lambda load: load.flow_mass) for row in run),
            run[0].get("mass_in_g") is not None, all(row.get("residue_g") is not None for row in run),
        )  # fmt: skip

    def stage(self, step: Step) -> str:
        """Refining: every pass from the second on, and every pass of a session fed by wax alone."""
        return "refining" if step.number > 1 or self.wax_only else "first"

    # The waterfall ----------------------------------------------------------------------------------------------

    @property
    def last_wax_g(self) -> Fraction:
        return self.steps[-1].wax_g if self.steps else ZERO

    @property
    def unfinished(self) -> bool:
        """Its last pass so far gave no weight."""
        return self.passes[-1].get("wax_out_g") is None

    @property
    def blocks_g(self) -> Fraction:
        return sum((row["mass_g"] for row in self.blocks), ZERO)

    @property
    def passed_on_g(self) -> Fraction:
        return sum((load.mass or ZERO for load in self.passed_on_loads), ZERO)

    @property
    def set_aside_g(self) -> Fraction:
        """The rest of the last wax while no block was cast and none emptied it; under two scale steps it is casting."""
        rest = self.last_wax_g - self.passed_on_g
        gone = bool(self.blocks) or any(load.emptied for load in self.passed_on_loads)
        two_steps = 2 * self.book.settings.scale_of("passes")[1].step_g
        return ZERO if gone or self.unfinished or rest < two_steps else rest

    @property
    def loaded_g(self) -> Fraction | None:
        """L, everything loaded over all passes, with the estimate for comb that was weighed nowhere."""
        return total(self.loaded_into(row["pass"], lambda load: load.flow_mass) for row in self.passes)

    def flow(self) -> dict[str, Fraction | None]:
        """L = blocks + passed on + set aside + residue + unaccounted + handling + casting."""
        went_in = total(step.flow_in_g for step in self.steps)
        gave = sum((step.wax_g + step.residue_g for step in self.steps), ZERO)
        before = sum((step.before_g for step in self.steps), ZERO)
        loaded = self.loaded_g
        unknown = went_in is None or loaded is None
        return {
            "loaded_g": loaded,
            "blocks_g": self.blocks_g,
            "passed_on_g": self.passed_on_g,
            "set_aside_g": self.set_aside_g,
            "residue_g": sum((step.residue_g for step in self.steps), ZERO),
            "unaccounted_g": None if went_in is None else went_in - gave,
            "handling_g": None if unknown else before + loaded - went_in,  # type: ignore[operator]
            "casting_g": self.last_wax_g - self.passed_on_g - self.set_aside_g - self.blocks_g,
        }

    # The session's own yield ------------------------------------------------------------------------------------

    @property
    def unknown(self) -> bool:
        """Comb was loaded that was weighed nowhere: no yield, and out of the groups."""
        return any(load.mass is None for load in self.loads)

    @property
    def wax_loaded_g(self) -> Fraction:
        return sum((load.mass or ZERO for load in self.wax), ZERO)

    @property
    def yield_sides(self) -> tuple[Fraction | None, Fraction]:
        """What the session's yield divides: comb and slumgum loaded, and the wax won beyond the wax loaded."""
        loaded = None if self.unknown or self.loaded_g is None else self.loaded_g - self.wax_loaded_g
        return loaded, self.blocks_g + self.passed_on_g + self.set_aside_g - self.wax_loaded_g

    @property
    def yield_share(self) -> Fraction | None:
        loaded, wax = self.yield_sides
        return wax / loaded if loaded and not self.wax_only else None

    @property
    def u2(self) -> float | None:
        """GUM: every weighing adds its scale's step^2/12; between two scales their gains no longer cancel."""
        loaded, share = self.yield_sides[0], self.yield_share
        if share is None or not loaded:
            return None
        won, log = self.weighed_on
        fed = [log] * max(len(self.comb) + len(self.slumgum), 1)
        scale_of = self.book.settings.scale_of
        variance = sum(scale_of(log)[1].step_g ** 2 for log in won) / Fraction(12)
        variance += share**2 * sum(scale_of(log)[1].step_g ** 2 for log in fed) / Fraction(12)
        scales = dict(scale_of(log) for log in (*won, *fed))
        gains = sum(scale.relative**2 for scale in scales.values()) if len(scales) > 1 else 0
        return float(variance / loaded**2 + share**2 * gains)

    @property
    def weighed_on(self) -> tuple[list[str], str]:
        """The logs that each weighing of its wax stands in, and the one that its comb and slumgum were weighed for."""
        won = ["passes"] if self.set_aside_g else ["blocks"] * len(self.blocks) + ["loads"] * len(self.passed_on_loads)
        return won + ["loads"] * len(self.wax), "loads" if self.loads else "passes"

    @property
    def flags(self) -> set[str]:
        unweighed = any(not load.weighed for load in self.loads)
        unweighed |= any(row.get("wax_out_g") is None or row.get("residue_g") is None for row in self.passes)
        found = {
            "slumgum": self.slumgum,
            "wax_loaded": self.wax,
            "set_aside": self.set_aside_g > 0,
            "unweighed": unweighed,
        }
        return {name for name, there in found.items() if there}

    # The kind of comb -------------------------------------------------------------------------------------------

    @property
    def comb_kind(self) -> str | None:
        """One kind where it is 90 % or more of the comb loaded, else mixed; unknown without comb."""
        by_kind: dict[str, Fraction] = defaultdict(Fraction)
        for load, share in zip(self.comb, shared(self.comb, lambda o: o.flow_mass), strict=True) if self.comb else ():
            by_kind[self.book.harvests[load.source]["comb"]] += share
        kept = [kind for kind, share in by_kind.items() if share >= MIXED_BELOW]
        return kept[0] if kept else ("mixed" if by_kind else None)


class Oracle:
    """All sessions of a book, and the figures over them in the shapes that the program prints."""

    def __init__(self, book: Book) -> None:
        self.book = book
        self.sessions = {name: Session(book, name) for name in sorted(book.passes)}

    # Wax followed to its end ------------------------------------------------------------------------------------

    def end_g(self, session: Session) -> Fraction:
        """What a session's own wax became: blocks and wax set aside as they are, wax passed on at its end."""
        passed = sum((self.worth_g(load) for load in session.passed_on_loads), ZERO)
        return session.blocks_g + session.set_aside_g + passed

    def worth_g(self, load: Load) -> Fraction:
        """What the later session made of a load of wax: its share where wax alone was loaded, else what it weighed."""
        later = self.sessions[load.session]
        if not later.wax_only:
            return load.mass or ZERO
        return self.end_g(later) * shared(later.wax)[later.wax.index(load)]

    def still_set_aside(self, session: Session) -> bool:
        """Some of its wax, followed to its end, waits in a crock."""
        later = [self.sessions[load.session] for load in session.passed_on_loads]
        return session.set_aside_g > 0 or any(s.wax_only and self.still_set_aside(s) for s in later)

    # Comb followed to its origin --------------------------------------------------------------------------------

    def origins_of_comb(self, load: Load) -> list[tuple[Fraction, Origin]]:
        """A load of comb stands at its session's season and kind, and evenly at the hives of its harvest."""
        session, harvest = self.sessions[load.session], self.book.harvests[load.source]
        hives = harvest["hive"].split(" + ") if harvest.get("hive") else [None]
        return [
            (Fraction(1, len(hives)),
             Origin(session.season, session.comb_kind, harvest.get("apiary"), hive, "out" if session.unknown else "counted"))
            for hive in hives
        ]  # fmt: skip

    def origins(self, load: Load) -> list[tuple[Fraction, Origin]]:
        """Where the comb behind a load grew; bought wax and wax recovered from a pour grew nowhere in this book."""
        if load.kind == "comb":
            return self.origins_of_comb(load)
        source: str | None = load.source
        if load.kind == "block":
            source = self.book.blocks[load.source].get("session")
        return self.slumgum_origins(self.sessions[source]) if source else [(Fraction(1), BOUGHT)]

    def slumgum_origins(self, session: Session) -> list[tuple[Fraction, Origin]]:
        """What is left of a session came from its comb and slumgum by mass, or from its wax where there was no other."""
        if not session.loads:
            return [(Fraction(1), Origin(session.season, None, None, None))]
        feeds = session.wax if session.wax_only else session.comb + session.slumgum
        found = []
        for load, share in zip(feeds, shared(feeds, lambda o: o.flow_mass), strict=True):
            for part, origin in self.origins(load):
                standing = "out" if session.unknown else origin.standing
                found.append((share * part, replace(origin, standing=standing)))
        return found

    def parts(self, session: Session) -> list[Part]:
        """A session's wax shared over its comb and slumgum by mass; the wax loaded beside them keeps its mass."""
        if session.wax_only or session.unknown or session.loaded_g is None:
            return []
        won = self.end_g(session) - session.wax_loaded_g
        if not session.loads:
            origin = Origin(session.season, None, None, None)
            return [Part(session.name, session.method, origin, session.loaded_g, ZERO, won)]
        found = []
        feeds = session.comb + session.slumgum
        for load, share in zip(feeds, shared(feeds), strict=True):
            for part, origin in self.origins(load):
                mass, wax = (load.mass or ZERO) * part, won * share * part
                if load.kind == "comb":
                    found.append(Part(session.name, session.method, origin, mass, ZERO, wax))
                else:
                    found.append(Part(session.name, f"{session.method} (slumgum)", origin, ZERO, mass, wax))
        return found

    # Yields -----------------------------------------------------------------------------------------------------

    def yields(self, by: str | None = None) -> list[Row]:
        return self._session_yields() if by == "session" else self._group_yields(by)

    def _session_yields(self) -> list[Row]:
        rows = []
        for name, session in self.sessions.items():
            loaded, wax = session.yield_sides
            share, u2 = session.yield_share, session.u2
            rows.append({
                "session": name, "loaded_g": _out(loaded), "wax_g": _out(wax), "yield": _out(share),
                "u": None if u2 is None else math.sqrt(u2), "flags": sorted(session.flags),
            })  # fmt: skip
        return rows

    def _group_yields(self, by: str | None) -> list[Row]:
        groups: dict[tuple[Any, ...], list[Part]] = defaultdict(list)
        for session in self.sessions.values():
            for part in self.parts(session):
                if stands(part.origin, by):
                    groups[group_key(part.origin, part.method, by)].append(part)
        return [dict(zip(key_names(by), key, strict=True)) | self._group(key, parts, by) for key, parts in groups.items()]

    def _group(self, key: tuple[str | None, ...], parts: list[Part], by: str | None) -> Row:
        """A ratio of sums, never a mean of ratios."""
        mass: dict[str, Fraction] = defaultdict(Fraction)
        for part in parts:
            mass[part.session] += part.comb_g + (part.slumgum_g if by == "method" else ZERO)
        loaded, wax = sum(mass.values(), ZERO), sum((part.wax_g for part in parts), ZERO)
        u2 = self._group_u2(key, by, set(mass), wax / loaded, loaded) if loaded else 0.0
        flags = {flag for name in mass for flag in self.sessions[name].flags - {"set_aside"}}
        flags |= {"set_aside" for name in mass if self.still_set_aside(self.sessions[name])}
        flags |= {"shared"} if by == "hive" and self._shared(*key) else set()
        return {
            "loaded_g": _out(loaded), "wax_g": _out(wax), "yield": _out(wax / loaded) if loaded else None,
            "u": math.sqrt(u2) if loaded else None, "flags": sorted(flags),
        }  # fmt: skip

    def _shared(self, apiary: str | None, hive: str | None) -> bool:
        """Whether some comb loaded came from this hive and others together, so that it was counted in even parts."""
        loaded = [self.book.harvests[load.source] for load in self.book.loads if load.kind == "comb"]
        hives = [[h.strip() for h in (row.get("hive") or "").split(" + ")] for row in loaded if row.get("apiary") == apiary]
        return any(len(names) > 1 and hive in names for names in hives)

    def _group_u2(
        self, key: tuple[str | None, ...], by: str | None, names: set[str], share: Fraction, loaded: Fraction
    ) -> float:
        """Sum over sessions of f^2 n_wax + sum over comb and slumgum loads of (a y - f y - c Y)^2, in step^2/12 / C^2.

        Where comb and wax were weighed on two scales, Y^2 x the sum of relative^2 is added once per group.
        """
        variance, scales = Fraction(0), {}
        for session in (self.sessions[name] for name in sorted(names)):
            stands_there = self._standing(session, key, by)
            f = sum((part * a for part, a, _ in stands_there), ZERO)
            y = session.yield_share or ZERO
            won, fed = session.weighed_on
            variance += f**2 * sum((_step2(session.book, log) for log in won), ZERO)
            variance += _step2(session.book, fed) * sum(((a * y - f * y - c * share) ** 2 for _, a, c in stands_there), ZERO)
            scales |= dict(session.book.settings.scale_of(log) for log in (*won, fed))
        gains = sum(scale.relative**2 for scale in scales.values()) if len(scales) > 1 else ZERO
        return float(variance / loaded**2 + share**2 * gains)

    def _standing(
        self, session: Session, key: tuple[str | None, ...], by: str | None
    ) -> list[tuple[Fraction, Fraction, Fraction]]:
        """For each load of comb or slumgum: its share of the session, of it in the group (a), and loaded there (c)."""
        feeds = session.comb + session.slumgum
        if not feeds:
            return [(Fraction(1), Fraction(1), Fraction(1))]
        found = []
        for load, part in zip(feeds, shared(feeds), strict=True):
            slumgum = load.kind == "slumgum"
            method = f"{session.method} (slumgum)" if slumgum else session.method
            homes = [(s, o) for s, o in self.origins(load) if stands(o, by) and group_key(o, method, by) == key]
            a = sum((s for s, _ in homes), ZERO)
            found.append((part, a, ZERO if slumgum and by != "method" else a))
        return found

    # Flow and losses --------------------------------------------------------------------------------------------

    def flow(self, by: str | None = None) -> list[Row]:
        """The waterfall; a session whose comb cannot even be estimated stays out of the sums, so that they close."""
        groups: dict[tuple[str, ...], list[dict[str, Fraction | None]]] = defaultdict(list)
        for name, session in self.sessions.items():
            flow = session.flow()
            if by == "session" or None not in flow.values():
                key = {"session": (name,), "season": (session.season,), "method": (session.method,)}
                groups[key[by] if by else ()].append(flow)
        return [
            dict(zip(key_names(by), key, strict=True)) | {column: _out(total(f[column] for f in flows)) for column in flows[0]}
            for key, flows in groups.items()
        ]  # fmt: skip

    def combs(self, session: Session) -> list[tuple[Fraction, str | None]]:
        """Where a session stands by comb: with its comb or slumgum, or where the wax that fed it came from, by mass."""
        if session.comb and not session.slumgum:
            return [(Fraction(1), session.comb_kind)]
        return [(share, origin.comb) for share, origin in self.slumgum_origins(session)]

    def losses(self, by: str | None = None) -> list[Row]:
        """Steps as weighed, summed by group, stage and number; a step whose comb nobody weighed is left out."""
        sums: dict[tuple[Any, ...], list[Fraction]] = defaultdict(lambda: [ZERO] * 3)
        for name, session in self.sessions.items():
            for step in session.steps:
                if step.in_g is None:
                    continue
                place = {"season": session.season, "method": step.method, "filter": step.filter, "session": name}
                standing = self.combs(session) if by == "comb" else [(Fraction(1), place.get(by or ""))]
                for share, group in standing:
                    sums_here = sums[(*([group] if by else []), session.stage(step), step.number)]
                    for i, mass in enumerate((step.in_g, step.wax_g, step.residue_g)):
                        sums_here[i] += share * mass
        return [
            dict(zip((*key_names(by), "stage", "pass"), key, strict=True)) | {
                "in_g": _out(went_in), "wax_g": _out(wax), "residue_g": _out(residue),
                "unaccounted_g": _out(went_in - wax - residue), "loss": _out(1 - wax / went_in) if went_in else None,
            }
            for key, (went_in, wax, residue) in sums.items()
        ]  # fmt: skip


BOUGHT = Origin(None, None, None, None, "bought")


def stands(origin: Origin, by: str | None) -> bool:
    """By method slumgum needs its own weights only; elsewhere its comb must have been weighed in this book."""
    return by == "method" or origin.standing == "counted"


def _step2(book: Book, log: str) -> Fraction:
    return Fraction(book.settings.scale_of(log)[1].step_g) ** 2 / 12


def group_key(origin: Origin, method: str, by: str | None) -> tuple[str | None, ...]:
    """A hive is an apiary's: the same name in two apiaries is two hives."""
    return {
        None: (),
        "method": (method,),
        "season": (origin.season,),
        "comb": (origin.comb,),
        "apiary": (origin.apiary,),
        "hive": (origin.apiary, origin.hive),
    }[by]


def key_names(by: str | None) -> tuple[str, ...]:
    return {None: (), "hive": ("apiary", "hive")}.get(by, (by or "",))


def _out(value: Fraction | None) -> float | None:
    return None if value is None else float(value)
