"""Books in which nothing changes, and books in which the last season does: how often does the trend claim a change?

``python -m tests.bench.trend_claims [BOOKS] [JOBS]``: so many books (100) of 10, 20, 30, 40 and 50 sessions each. Kinds of comb,
methods and filters are mixed; nothing differs from season to season but chance. Then the power: a true change of the last
season's yields by 5 and 3 points, at three sizes of the keeper's own scatter. Exact 95 % limits. A book is half a second, so
``python -m tests.bench.trend_claims power 400`` judges the season alone, without a book, at the half of the level that is its own.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from datetime import date, timedelta
from functools import partial
from pathlib import Path

import numpy as np
from scipy.special import expit
from scipy.stats import binomtest

from pipeline.analyses import trend_claims
from pipeline.analyses.last_season_against_earlier import Sums, shift
from pipeline.answers import trend
from pipeline.flow import load

SIZES = (10, 20, 30, 40, 50)
SEASONS = (2, 3, 4, 5, 6)
LEVEL = {("cappings", "steam"): 1.7, ("cappings", "solar"): 1.3, ("brood comb", "steam"): -0.6, ("brood comb", "solar"): -1.4,
         ("white comb", "steam"): 0.8, ("white comb", "solar"): 0.2}  # fmt: skip
"""Log odds of a session's yield."""


@dataclass(frozen=True, slots=True)
class World:
    """``sessions`` of a book over ``seasons``; ``scatter``: of its sessions in log odds; ``change``: of the last season's yields."""

    sessions: int
    seasons: int
    scatter: float = 0.2
    change: float = 0.0


def write(folder: Path, world: World, rng: np.random.Generator) -> date:
    """A book of that world on a 5 g scale; returns the day after its last season."""
    logs = {
        "harvests": ["harvest,date,comb,mass_g"],
        "loads": ["session,source,mass_g"],
        "passes": ["session,pass,date,method,mass_in_g,wax_out_g,residue_g,filter"],
        "blocks": ["block,date,mass_g,session"],
    }
    for i in range(world.sessions):
        for log, row in _session(i, world, rng):
            logs[log].append(row)
    for log, rows in logs.items():
        (folder / f"{log}.csv").write_text("\n".join(rows) + "\n", "utf-8")
    (folder / "book.toml").write_text('name = "t"\n', "utf-8")
    return date(2015 + world.seasons, 12, 1)


def _drawn(i: int, world: World, rng: np.random.Generator) -> tuple[str, str, int, float]:
    """One session: its comb, method and season, and the share of wax won."""
    season = i * world.seasons // world.sessions
    comb = ("cappings", "brood comb", "white comb")[rng.choice(3, p=(0.45, 0.35, 0.2))]
    method = ("steam", "solar")[int(rng.random() < 0.3)]
    share = float(expit(LEVEL[comb, method] + rng.normal(0, world.scatter)))
    return comb, method, season, share + world.change * (season == world.seasons - 1)


def _session(i: int, world: World, rng: np.random.Generator) -> Iterator[tuple[str, str]]:
    comb, method, season, share = _drawn(i, world, rng)
    day = date(2016 + season, 4, 1) + timedelta(int(rng.integers(0, 200)))
    loaded = 5 * round(float(np.exp(rng.normal(np.log(5000), 0.6))) / 5)
    crude = loaded * share
    fine = crude * float(1 - np.exp(rng.normal(np.log(0.025), 0.4)))
    cast = fine * float(1 - abs(rng.normal(0, 0.004)))
    slumgum = (loaded - crude) * float(rng.uniform(0.5, 0.9))
    dregs = (crude - fine) * float(rng.uniform(0.3, 0.8))
    into, first, second, block, left, rest = (
        max(5 * round((g + rng.normal(0, 2)) / 5), 5) for g in (crude, crude, fine, cast, slumgum, dregs)
    )
    sieve = ("felt", "sieve")[int(rng.random() < 0.5)]
    yield "harvests", f"H{i},{day - timedelta(5)},{comb},{loaded}"
    yield "loads", f"S{i},H{i},{loaded}"
    yield "passes", f"S{i},1,{day},{method},{loaded},{first},{left if rng.random() < 0.7 else ''},"
    yield "passes", f"S{i},2,{day + timedelta(1)},water bath,{into},{second},{rest},{sieve}"
    yield "blocks", f"B{i},{day + timedelta(2)},{block},S{i}"


def told(world: World, seeds: Sequence[int]) -> list[list[str]]:
    """The kinds of claim that each book's trend makes."""
    found = []
    for seed in seeds:
        with tempfile.TemporaryDirectory() as room:
            today = write(Path(room), world, np.random.default_rng([20_250_814, seed, world.sessions, world.seasons]))
            found.append([claim.kind for claim in trend.trend(load(Path(room), today)).claims])
    return found


def line(name: str, found: list[list[str]], kinds: Sequence[str] | None = None) -> str:
    """How many of the books have such a claim."""
    n, k = len(found), sum(any(kinds is None or c in kinds for c in trend_claims) for trend_claims in found)
    limits = binomtest(k, n).proportion_ci()
    return f"{name:62} {k / n:5.2f}  {limits.low:.2f}-{limits.high:.2f}  n {n}"


def table(books: int, jobs: int) -> Iterator[str]:
    """The tables, line by line."""
    with ProcessPoolExecutor(jobs) as pool:

        def run(world: World) -> list[list[str]]:
            parts = pool.map(partial(told, world), [range(i, books, jobs) for i in range(jobs)])
            return [trend_claims for part in parts for trend_claims in part]

        yield "nothing changes: books with a claim of change"
        every = []
        for sessions, seasons in zip(SIZES, SEASONS, strict=True):
            found = run(World(sessions, seasons))
            every += found
            yield line(f"  {sessions} sessions, {seasons} seasons", found)
        yield line("  all together", every)
        for kind in ("season", "slope", "refining", "limit", "leak"):
            yield line(f"    of it {kind}", every, (kind,))
        yield "the last season gave other yields: books that are told so"
        for change in (0.05, 0.03):
            for scatter in (0.2, 0.35, 0.5):
                found = run(World(50, 5, scatter, change))
                yield line(f"  {100 * change:.0f} points, own scatter {scatter}, 50 sessions of 5 seasons", found, ("season",))


def season_alone(world: World, books: int) -> list[list[str]]:
    """Whether the last season of each book is told, its sessions judged as drawn."""
    rng, found = np.random.default_rng(20_250_814), []
    for _ in range(books):
        moved = shift(_sums(i, world, rng) for i in range(world.sessions))
        found.append(["season"] * (moved is not None and moved.p <= trend_claims.LEVEL / 2))
    return found


def _sums(i: int, world: World, rng: np.random.Generator) -> Sums:
    comb, method, season, share = _drawn(i, world, rng)
    within = min(max(share, 0.005), 0.995)
    odds = float(np.log(within / (1 - within)))
    return Sums((comb, method), str(2016 + season), 1, odds, odds**2, within)


def power(books: int) -> Iterator[str]:
    """The season's table, without books."""
    yield "the season alone, 50 sessions of 5 seasons: books that are told of a change"
    for change in (0.0, 0.03, 0.05):
        for scatter in (0.2, 0.35, 0.5):
            yield line(f"  {100 * change:.0f} points, own scatter {scatter}", season_alone(World(50, 5, scatter, change), books))


if __name__ == "__main__":
    if sys.argv[1:2] == ["power"]:
        for text in power(int(sys.argv[2]) if len(sys.argv) > 2 else 400):
            print(text, flush=True)
        sys.exit()
    asked = [int(a) for a in sys.argv[1:]]
    for text in table(asked[0] if asked else 100, asked[1] if len(asked) > 1 else 2):
        print(text, flush=True)
