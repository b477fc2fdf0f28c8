"""Invented keepers in worlds that break what the forecast assumes: does its 80 % interval hold, and how wide is it?

``python -m tests.bench.forecast_worlds [BOOKS] [JOBS]``: in each world so many books (200) of a few seasons; five lots of comb
wait for the next season. Coverage with exact 95 % limits, and the width against that of somebody who knows the book's own
levels and the size of its noise, but not this lot's. Last, the chance of a whole plan against how often it came true.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import cache, partial
from itertools import pairwise

import numpy as np
import numpy.typing as npt
from scipy.special import expit
from scipy.stats import binomtest

from pipeline.analyses.frame_weights import Counted, FrameWeights
from pipeline.analyses.pending_wax import Past, Pending, WaitingLot, expected
from pipeline.analyses.refining_loss_model import Refining
from pipeline.analyses.yield_model import RenderedLot
from pipeline.analyses.yield_priors import Prior, Priors
from pipeline.contract import shipped_files

Array = npt.NDArray[np.float64]
KINDS, SHARES = ("cappings", "white comb", "brood comb"), (0.4, 0.25, 0.35)
METHODS = ("solar", "steam")
STEAMED = 0.6  # of the lots, where both methods are used
LOTS = 5  # outcomes a book
NOISE, BETWEEN = 0.35, 0.30  # log odds: sessions of one book, and books (and their methods) among each other
KNOWN = 3000  # draws that the ideal interval is taken from
FIRST = 2020


@dataclass(frozen=True, slots=True)
class World:
    """How a keeper's sessions come about; sds in log odds. ``wanted``: coverage, and the most width over the ideal."""

    name: str
    seasons: int = 4
    sessions: int = 5
    few: bool = False
    noise: float = NOISE
    heavy: bool = False
    lost: float = 0.0
    season_sd: float = 0.0
    drift: float = 0.0
    methods: str = "one"  # one; history: both before, the usual one ahead; either: both, each lot by any
    frames: str = ""  # "": weighed; book: three harvests of the kind were weighed and counted; never: none was
    refined: bool = False
    wanted: tuple[float, float, float | None] | None = (0.74, 0.88, 1.6)


WORLDS = (
    World("as the priors say"),
    World("two to four sessions of history", few=True),
    World("heavy noise (t with 3 degrees)", heavy=True),
    World("one session in twenty lost", lost=0.05, wanted=(0.74, 0.88, None)),
    World("quiet (noise .12)", noise=0.12, wanted=(0.74, 1.0, 1.9)),
    World("a season's own level (sd .25)", season_sd=0.25, wanted=(0.74, 0.88, None)),
    World("six seasons, each its own level (sd .25)", seasons=6, season_sd=0.25, wanted=(0.74, 0.88, None)),
    World("six seasons, all alike", seasons=6),
    World("two methods, the usual one ahead", methods="history"),
    World("two methods, each lot by either", methods="either", wanted=(0.74, 0.88, None)),
    World("noise twice the prior's", noise=2 * NOISE, wanted=(0.74, 0.88, None)),
    World("frames only (15 % scatter), kind weighed", frames="book", wanted=(0.74, 0.88, None)),
    World("frames only, kind never weighed", frames="never", wanted=(0.74, 0.88, None)),
    World("refined in a session of its own", refined=True),
    World("drift .3 a season, and its level, four seasons", seasons=4, drift=0.3, season_sd=0.25, wanted=None),
    World("drift .3 a season, and its level", seasons=5, drift=0.3, season_sd=0.25, wanted=(0.65, 1.0, None)),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Waiting:
    """A lot of comb: what it weighs or how many frames it has, what it gave, and draws of it with all levels known."""

    comb: str
    mass_g: float
    frames: int | None
    came_g: float
    known_g: Array


@dataclass(frozen=True, slots=True)
class Keeper:
    """One invented book: its finished sessions, frames weighed (comb, frames, g), refinings (in, out g), and the lots."""

    sessions: list[RenderedLot]
    lots: list[Waiting]
    weighed: list[tuple[str, int, float]] = field(default_factory=list)
    refined: list[tuple[float, float]] = field(default_factory=list)


@cache
def priors() -> Priors:
    """The shipped ranges."""
    rows = shipped_files.reference("yield_priors")
    return Priors.of(Prior(r["comb"], r["method"] or None, float(r["low"]), float(r["high"])) for r in rows)


@cache
def frame_ranges() -> tuple[tuple[str, float, float], ...]:
    """The shipped ranges of what a frame weighs."""
    rows = shipped_files.reference("frame_weights")
    return tuple((r["comb"], float(r["low_g"]), float(r["high_g"])) for r in rows)


def frame_g(comb: str, rng: np.random.Generator) -> float:
    """What a frame of the kind weighs with this keeper, g: the shipped range is right."""
    low, high = next((low, high) for kind, low, high in frame_ranges() if kind == comb)
    return float(np.exp(rng.normal((np.log(low) + np.log(high)) / 2, np.log(high / low) / 2.563)))


class Truth:
    """One keeper's own levels, drawn from the priors, and the luck of the world."""

    def __init__(self, world: World, rng: np.random.Generator) -> None:
        """Draw the levels."""
        self.world, self.rng = world, rng
        self.offset = rng.normal(0, BETWEEN)
        self.own = {k: rng.normal(0, priors().sd(k)) for k in KINDS}
        self.by = {m: rng.normal(0, BETWEEN) for m in METHODS}
        self.levels = [rng.normal(0, world.season_sd) + world.drift * i for i in range(world.seasons + 1)]
        self.each_g = {k: frame_g(k, rng) for k in KINDS}

    def shares(self, comb: str, method: str, season: int, size: int) -> Array:
        """Yields of so many lots."""
        rng = self.rng
        luck = rng.standard_t(3, size) / np.sqrt(3) if self.world.heavy else rng.standard_normal(size)
        level = priors().centre(comb, method) + self.offset + self.own[comb] + self.by[method] + self.levels[season]
        return np.asarray(expit(level + self.world.noise * luck) * (rng.random(size) >= self.world.lost))

    def ends(self, size: int) -> Array:
        """What is left of wax once it is refined in a session of its own, where this keeper does that."""
        return 1 - np.exp(self.rng.normal(np.log(0.035), 0.5, size)) if self.world.refined else np.ones(size)

    def comb(self) -> str:
        """A kind of comb."""
        return KINDS[self.rng.choice(3, p=SHARES)]


def keeper(world: World, rng: np.random.Generator) -> Keeper:
    """A book and its waiting lots."""
    truth = Truth(world, rng)
    done = list(_history(truth))
    refined = [(g, g * float(truth.ends(1)[0])) for g in rng.uniform(3000, 9000, world.seasons * world.refined)]
    weighed = [
        (comb, n, n * truth.each_g[comb] * float(np.exp(rng.normal(0, 0.15))))
        for comb in KINDS * (world.frames == "book") for n in rng.integers(10, 40, 3).tolist()
    ]  # fmt: skip
    end = float(truth.ends(1)[0])
    combs = [done[rng.integers(len(done))].comb if world.few else truth.comb() for _ in range(LOTS)]
    return Keeper(done, [_lot(truth, comb, end) for comb in combs], weighed, refined)


def _history(truth: Truth) -> Iterator[RenderedLot]:
    world, rng = truth.world, truth.rng
    counts = [world.sessions] * world.seasons
    if world.few:
        counts = [0] * (world.seasons - 1) + [int(rng.integers(2, 5))]
    for season, count in enumerate(counts):
        for i in range(count):
            comb, loaded = truth.comb(), float(rng.uniform(3000, 15000))
            method = METHODS[1] if world.methods == "one" else METHODS[int(rng.random() < STEAMED)]
            wax = loaded * float(truth.shares(comb, method, season, 1)[0])
            day = date(FIRST + season, 5, 1) + timedelta(12 * i)
            yield RenderedLot(f"S{season}{i:02}", day, comb, method, loaded, wax, str(FIRST + season), world.refined)


def _lot(truth: Truth, comb: str, end: float) -> Waiting:
    """A waiting lot: one outcome, and ``KNOWN`` others of somebody who knows the levels."""
    world, rng, size = truth.world, truth.rng, KNOWN + 1
    mass, frames, scatter = float(rng.uniform(3000, 12000)), None, np.zeros(size)
    if world.frames:
        frames = int(rng.integers(15, 80))
        mass, scatter = frames * truth.each_g[comb], rng.normal(0, 0.15, size)
    steamed = rng.random(size) < STEAMED if world.methods == "either" else np.ones(size, bool)
    shares = np.where(steamed, *(truth.shares(comb, m, world.seasons, size) for m in METHODS[::-1]))
    gave = mass * np.exp(scatter) * shares
    return Waiting(comb, mass, frames, float(gave[0]) * end, gave[1:] * truth.ends(KNOWN))


def told(book: Keeper, world: World) -> Pending:
    """What the program says of the lots; where the usual method is sure to be taken, the harvest says so."""
    today, season = date(FIRST + world.seasons, 4, 1), str(FIRST + world.seasons)
    method = METHODS[1] if world.methods == "history" else None
    lots = [
        WaitingLot(f"H{i}", w.comb, w.mass_g, today, season, method, None if w.frames is None else Counted(w.frames))
        for i, w in enumerate(book.lots)
    ]
    past = Past(book.sessions, priors(), FrameWeights.of(book.weighed, frame_ranges()), Refining.of(book.refined))
    return expected(lots, past, today)


@dataclass(frozen=True, slots=True)
class Found:
    """What came of books: lots held, their widths and ideal widths, said chances of plans and whether they held."""

    held: list[bool]
    width: list[float]
    ideal: list[float]
    said: list[float]
    came: list[bool]


def run(world: World, seeds: Sequence[int]) -> Found:
    """One world's books."""
    found = Found([], [], [], [], [])
    for seed in seeds:
        rng = np.random.default_rng([20_250_814, seed, len(world.name)])
        book = keeper(world, rng)
        pending = told(book, world)
        by_source = {f.lot.source: f for f in pending.lots}
        for i, w in enumerate(book.lots):
            f = by_source[f"H{i}"]
            found.held.append(f.low_g <= w.came_g <= f.high_g)
            found.width.append(f.high_g - f.low_g)
            low, high = np.quantile(w.known_g, (0.1, 0.9))
            found.ideal.append(float(high - low))
        came = sum(w.came_g for w in book.lots)
        known = float(np.median(sum(w.known_g for w in book.lots)))
        for factor in np.exp(rng.normal(0, 0.25, 4)):
            found.said.append(float((pending.total_g() >= known * factor).mean()))
            found.came.append(came >= known * factor)
    return found


def _merged(parts: Sequence[Found]) -> Found:
    return Found(*([x for p in parts for x in getattr(p, name)] for name in Found.__slots__))


def _judged(world: World, held: float, ratio: float) -> str:
    """What was wanted, and whether it came."""
    if world.wanted is None:
        return "cannot be caught"
    low, high, most = world.wanted
    good = low <= held <= high and (most is None or ratio <= most)
    return f"{low:.2f}-{high:.2f}" + (f", {most:.1f}" if most else "") + ("" if good else "  MISSED")


def table(books: int, jobs: int, worlds: Sequence[World] = WORLDS) -> str:
    """The whole table as text."""
    lines = [f"{'world':46} {'held':>5} {'95 %':>9} {'width/ideal':>11}  wanted"]
    kept = []
    with ProcessPoolExecutor(jobs) as pool:
        for world in worlds:
            found = _merged(list(pool.map(partial(run, world), [range(i, books, jobs) for i in range(jobs)])))
            n, k = len(found.held), sum(found.held)
            limits = binomtest(k, n).proportion_ci()
            ratio = sum(found.width) / sum(found.ideal)
            figures = f"{k / n:5.2f} {limits.low:.2f}-{limits.high:.2f} {ratio:11.2f}"
            lines.append(f"{world.name:46} {figures}  {_judged(world, k / n, ratio)}")
            kept += [] if world.drift else [found]
    return "\n".join([*lines, "", "chance of a whole plan, said and came (all worlds but the drift)", *_plans(_merged(kept))])


def _plans(found: Found) -> list[str]:
    """How often a plan was covered, by the chance that was said."""
    said, came = np.array(found.said), np.array(found.came)
    bands = pairwise((0.0, 0.1, 0.3, 0.4, 0.5, 0.6, 0.7, 0.9, 1.0))
    here = {(low, high): (said >= low) & (said < high + (high == 1)) for low, high in bands}
    return [f"  {a:.1f}-{b:.1f}: {said[h].mean():.2f}, {came[h].mean():.2f} (n {h.sum()})" for (a, b), h in here.items() if h.any()]


if __name__ == "__main__":
    asked = [int(a) for a in sys.argv[1:]]
    sys.stdout.write(table(asked[0] if asked else 200, asked[1] if len(asked) > 1 else 2) + "\n")
