"""One step of the work as a balance: what went in, what came out, and what usually goes missing between.

Seven kinds: a *store* (harvest, block, slumgum, wax set aside: in = out, once it is known or usual that all is out), a
*join* (wax of the last pass + loads = mass_in), a *melt* (mass_in = wax_out + residue + the usual unaccounted), a *yield*
(mass_in = wax_out + the usual loss, whether or not the residue was weighed), a *casting* (last wax_out = blocks + wax
passed on) and a *shelf* counted whole (the blocks then on it = what was found).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import NamedTuple

LEAST_SD_G = 1e-3
"""No weighing and no step is taken to be surer than a milligram, so that no balance is exact."""
_LEAST_LEFT = 0.05
"""At least this share is taken to come out of a step where what went in is reckoned from it: a judgement."""


class Weight(NamedTuple):
    """One mass cell of a log; ``mass_g`` None where it was not weighed.

    ``again``: an earlier row of the log weighs the same of the same on the same day for the same use.
    """

    log: str
    row: int
    column: str
    mass_g: float | None
    again: bool = False


@dataclass(frozen=True, eq=False, slots=True)
class Balance:
    """What goes in and what comes out at one step.

    ``kind``: harvest, block, slumgum, wax, join, melt, yield, cast or shelf; ``of``: which harvest, block or session, or the
    date of the count; ``number``: of the pass. ``closed``: known to be whole (emptied, counted, cast); an open store is
    used only where nearly all is out or more than all. ``alike``: keys of steps to compare with, closest first.
    ``session``: where it is shown. ``weighed``: whether every mass in it was; ``in_g``, ``out_g``: weighed masses only.
    """

    kind: str
    of: str
    into: tuple[Weight, ...]
    out: tuple[Weight, ...]
    closed: bool
    alike: tuple[tuple[str | None, ...], ...]
    session: str | None
    number: int | None = None
    weighed: bool = field(init=False)
    in_g: float = field(init=False)
    out_g: float = field(init=False)

    def __post_init__(self) -> None:
        """Sum both sides once."""
        into, out = ([w.mass_g for w in side] for side in (self.into, self.out))
        object.__setattr__(self, "weighed", None not in into and None not in out)
        object.__setattr__(self, "in_g", sum([g for g in into if g]))
        object.__setattr__(self, "out_g", sum([g for g in out if g]))

    @property
    def parts(self) -> list[tuple[Weight, int, bool]]:
        """Each weight, 1 where it goes in and -1 where it comes out, and whether it bears what usually goes missing.

        That is what went in; of a melt, what is no wax of it: water and dirt stay behind, wax does not.
        """
        waxy = self.out[:1] if self.kind == "melt" else ()
        return [*((w, 1, True) for w in self.into), *((w, -1, w in waxy) for w in self.out)]

    @property
    def lost_share(self) -> float | None:
        """What went missing, as a share of what bears it; None where nothing does."""
        bears_g = sum(sign * (w.mass_g or 0.0) for w, sign, bears in self.parts if bears)
        return (self.in_g - self.out_g) / bears_g if bears_g > 0 else None

    @property
    def unweighed(self) -> list[Weight]:
        """The masses in it that nobody weighed."""
        return [] if self.weighed else [w for w in (*self.into, *self.out) if w.mass_g is None]

    @property
    def missing(self) -> str | None:
        """The log in which a row may be missing where too little came out (of a join, where too much did)."""
        return {"harvest": "loads", "block": "draws", "cast": "blocks", "shelf": "draws", "join": "loads"}.get(
            self.kind
        )


@dataclass(frozen=True, slots=True)
class Slack:
    """What usually goes missing at a balance: a share and its scatter, from ``n`` steps alike.

    ``mean``: of what bears it (see :attr:`Balance.parts`); ``sd``: of the mass at the step. ``rest``: odds that some is
    left. ``judged``: what the trade knows, not what this book has shown.
    """

    mean: float
    sd: float
    n: int
    rest: float = 0.0
    judged: bool = False

    def sd_g(self, size_g: float) -> float:
        """Its scatter at a step of this size, g."""
        return max(self.sd * size_g, LEAST_SD_G)

    def before_g(self, out_g: float) -> float:
        """What went in, by what came out, g."""
        return out_g / max(1 - self.mean, _LEAST_LEFT)

    def coefficients(self, balance: Balance) -> list[float]:
        """What one gram of each weight of a balance, into first, adds to its gap."""
        return [sign * (1 - self.mean if bears else 1.0) for _, sign, bears in balance.parts]
