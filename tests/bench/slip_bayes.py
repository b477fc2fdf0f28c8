"""The yardstick for slips: Bayes' rule by somebody who knows how :mod:`tests.bench.slipped_books` makes its books.

Every way in which each cell can have been mistyped is weighed by its chance and by the likelihood of the session with the
weight that was meant. The likelihood is a filter along the session (lots, passes, casting), each distribution taken as a
normal of its mean and variance, which is what most of them are. Nothing that judges books could name more.
"""

from __future__ import annotations

from collections import defaultdict

import numpy as np
import numpy.typing as npt

from pipeline.contract.quantities import GRAMS
from tests.bench import slipped_books as books
from tests.bench.slipped_books import DECIMALS, KINDS, VESSELS, Book, Cell, Session

Floats = npt.NDArray[np.float64]
SCALE_G2 = books.ERROR_G**2 / 3 + 1
SLIP = 0.005
"""How many weights are slips, for one who is not told that there is one in every book."""
SPILL_MEAN, SPILL_G2 = books.SPILL / 2, books.SPILL**2 / 12


def log_likelihood(session: Session, masses: dict[Cell, Floats]) -> Floats:
    """(hypotheses,) log likelihood of a session whose weighed cells hold ``masses`` (hypotheses,), g."""
    size = next(iter(masses.values())).shape
    total, mean, var = np.zeros(size), np.zeros(size), np.zeros(size)
    low, high = books.LOT_G
    for taken, load in session.lots:
        lot, spread = masses[taken], np.full(size, SCALE_G2)
        outside = np.maximum(np.maximum(low - lot, lot - high), 0)
        total += -np.log(high - low) - outside**2 / SCALE_G2 / 2
        if load is not None:
            lot, spread, more = _observed(lot, spread, masses[load])
            total += more
        mean, var = mean + lot, var + spread
    for number, (into, out, residue) in enumerate(session.passes):
        mean, var = _kept(mean, var, 1 - SPILL_MEAN, SPILL_G2)
        if into is not None:
            mean, var, more = _observed(mean, var, masses[into])
            total += more
        first = (books.YIELDS[session.kind], books.YIELD_SD, books.WET, books.WET_SD)
        refining = (1 - books.LOSS, books.LOSS_SD, books.DREGS, books.DREGS_SD)
        given = None if residue is None else masses[residue]
        mean, var, more = _melted(mean, var, first if number == 0 else refining, masses[out], given)
        total += more
    mean, var = _kept(mean, var, 1 - SPILL_MEAN, SPILL_G2)
    blocks = np.array([masses[b] for b in session.blocks])
    n, cast = len(blocks), blocks.sum(axis=0)
    total += _normal(cast - mean, var + n * SCALE_G2)
    shares = np.maximum(blocks / cast, 1e-12)
    return total + (books.SPLIT - 1) * np.log(shares).sum(axis=0) - (n - 1) * np.log(cast)


def _normal(off: Floats, var: Floats) -> Floats:
    return -(off**2) / var / 2 - np.log(2 * np.pi * var) / 2


def _observed(mean: Floats, var: Floats, read: Floats) -> tuple[Floats, Floats, Floats]:
    gain = var / (var + SCALE_G2)
    return mean + gain * (read - mean), var * (1 - gain), _normal(read - mean, var + SCALE_G2)


def _kept(mean: Floats, var: Floats, share: float, share_var: float) -> tuple[Floats, Floats]:
    return mean * share, var * share**2 + (mean**2 + var) * share_var


def _melted(
    mean: Floats, var: Floats, usual: tuple[float, float, float, float], out: Floats, residue: Floats | None
) -> tuple[Floats, Floats, Floats]:
    """The wax after a melt of which wax and residue were read."""
    y, sy, f, sf = usual
    square = mean**2 + var
    wax, wax_var = mean * y, var * y**2 + square * sy**2
    if residue is None:
        return _observed(wax, wax_var, out)
    left, left_var = mean * (1 - y) * f, var * ((1 - y) * f) ** 2 + square * ((f * sy) ** 2 + ((1 - y) * sf) ** 2)
    both = var * y * (1 - y) * f - square * f * sy**2
    gain = both / (left_var + SCALE_G2)
    more = _normal(residue - left, left_var + SCALE_G2)
    found, spread, again = _observed(wax + gain * (residue - left), wax_var - gain * both, out)
    return found, spread, more + again


def meant(text: str, unit: str) -> list[tuple[str, float, float]]:
    """All that one slip can have turned into ``text``: kind, grams meant, chance of the slip given what was meant."""
    found, per = [], GRAMS[unit]
    grams = float(text) * per
    for kind in KINDS:
        options = _sources(kind, text, grams, unit)
        for source in dict.fromkeys(options):
            if float(source) > 0 and source != text and len(source.partition(".")[2]) == DECIMALS[unit]:
                chance = sum(p for t, p in books.ways(kind, source, unit) if float(t) == float(text))
                if chance > 0:
                    found.append((kind, float(source) * per, chance / len(KINDS)))
    return found


def _sources(kind: str, text: str, grams: float, unit: str) -> list[str]:
    """Texts from which a slip may have come: the slips that undo it, and their neighbours where rounding loses digits."""
    if kind in ("swap", "digit"):
        return [t for t, _ in books.ways(kind, text, unit)]
    if kind == "decimal":
        near = [grams * 10, grams / 10]
    elif kind == "unit":
        near = [grams * GRAMS[u] / GRAMS[unit] for u in GRAMS if u != unit]
    elif kind == "tare":
        near = [grams + sign * v for v in VESSELS.values() for sign in (1, -1)]
    else:
        near = [grams + 300, grams - 300]
    step = GRAMS[unit] / 10 ** DECIMALS[unit]
    around = range(-6, 7) if kind in ("decimal", "unit") else (-1, 0, 1)
    return [f"{(g + k * step) / GRAMS[unit]:.{DECIMALS[unit]}f}" for g in near for k in around]


def posterior(book: Book) -> tuple[list[tuple[Cell, float]], float]:
    """Cells with their chance to be the slip, likeliest first, where there is one; and how likely that there is one."""
    chances: dict[Cell, list[float]] = defaultdict(list)
    for session in book.sessions:
        cells = session.cells()
        options = [(c, m, np.log(p)) for c in cells for _, m, p in meant(book.texts[c], book.unit)]
        masses = {c: np.full(len(options) + 1, book.value(c)) for c in cells}
        for i, (c, m, _) in enumerate(options):
            masses[c][i] = m
        found = log_likelihood(session, masses)
        for i, (c, _, p) in enumerate(options):
            chances[c].append(float(found[i] - found[-1] + p))
    top = max(s for found in chances.values() for s in found)
    weight = {c: sum(np.exp(s - top) for s in found) for c, found in chances.items()}
    whole = sum(weight.values())
    odds = SLIP * np.exp(min(top, 600.0)) * whole
    return sorted(((c, float(w / whole)) for c, w in weight.items()), key=lambda f: -f[1]), float(odds / (1 + odds))


def pairs(book: Book) -> list[tuple[tuple[Cell, Cell], float]]:
    """Pairs of cells of one session with their chance to be the two slips, likeliest first; there are two."""
    scores: dict[tuple[Cell, Cell], float] = {}
    for session in book.sessions:
        cells = session.cells()
        options = {c: meant(book.texts[c], book.unit) for c in cells}
        alone = log_likelihood(session, {c: np.array([book.value(c)]) for c in cells})[0]
        for i, a in enumerate(cells):
            for b in cells[i + 1 :]:
                left, right = options[a], options[b]
                masses = {c: np.full(len(left) * len(right), book.value(c)) for c in cells}
                masses[a] = np.repeat([m for _, m, _ in left], len(right))
                masses[b] = np.tile([m for _, m, _ in right], len(left))
                prior = np.add.outer(np.log([p for *_, p in left]), np.log([p for *_, p in right])).ravel()
                if len(prior):
                    found = log_likelihood(session, masses) - alone + prior
                    scores[a, b] = float(found.max() + np.log(np.exp(found - found.max()).sum()))
    top = max(scores.values())
    whole = sum(np.exp(s - top) for s in scores.values())
    return sorted(((p, float(np.exp(s - top) / whole)) for p, s in scores.items()), key=lambda f: -f[1])
