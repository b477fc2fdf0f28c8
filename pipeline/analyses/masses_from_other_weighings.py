"""What other weighings say of a mass that nobody took: what went into a pass is what was loaded, a load what the lot weighed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from pipeline.analyses.step_balance import Balance, Weight

_LOSSLESS = ("join", "harvest", "block", "cast")
_LINKS = 4
"""Steps through which a mass is followed at most: lot, load, pass, and one pass more."""


class Elsewhere(NamedTuple):
    """A mass by other weighings, g, and the weights that it rests on."""

    mass_g: float
    of: tuple[Weight, ...]


def weighed_elsewhere(balances: Sequence[Balance]) -> dict[Weight, Elsewhere]:
    """For each mass nobody took that a step without loss lacks alone: what the rest of that step says."""
    holed = [b for b in balances if not b.weighed and b.kind in _LOSSLESS and b.closed]
    found: dict[Weight, Elsewhere] = {}
    for _ in range(_LINKS):
        before = len(found)
        for b in holed:
            lacking = [w for w in b.unweighed if w not in found]
            if len(lacking) == 1 and (rest := _rest(b, lacking[0], found)).mass_g > 0:
                found[lacking[0]] = rest
        if len(found) == before:
            break
    return found


def _rest(b: Balance, lacking: Weight, found: Mapping[Weight, Elsewhere]) -> Elsewhere:
    sign = -1 if lacking in b.into else 1
    others = [(s, w) for s, side in ((1, b.into), (-1, b.out)) for w in side if w != lacking]
    mass_g = sign * sum(s * known(w, found)[0] for s, w in others)
    return Elsewhere(mass_g, tuple(dict.fromkeys(o for _, w in others for o in known(w, found).of)))


def went_in(b: Balance, elsewhere: Mapping[Weight, Elsewhere]) -> tuple[tuple[Elsewhere, ...], bool]:
    """What went in at a step, by other weighings where nobody took it, and whether every mass of the step is known so."""
    into = tuple(known(w, elsewhere) for w in b.into)
    return into, all(k.of for k in into) and all(w.mass_g is not None for w in b.out)


def known(w: Weight, found: Mapping[Weight, Elsewhere]) -> Elsewhere:
    """A weight's mass with what it rests on: itself where it was weighed, else others; 0 of nothing where nothing says."""
    return Elsewhere(w.mass_g, (w,)) if w.mass_g is not None else found.get(w, Elsewhere(0.0, ()))
