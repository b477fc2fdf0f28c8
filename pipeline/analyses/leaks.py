"""Where mass goes missing again and again with no single slip: a strainer that keeps wax, a melter never emptied."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

from pipeline.analyses.distributions import coin_above

FEWEST = 5
"""Sessions from which a step is tested at all; seven that all lose are the fewest that can reach the level."""
LEVEL = 0.01
"""The sign test's level, all steps tested taken together: a judgement, no source."""
SHARE = 0.002
"""A steady loss smaller than this is not worth a search: a judgement, no source."""


@dataclass(frozen=True, slots=True)
class Loss:
    """What one step of one session did not give back; ``where`` is the step, ``u_g`` its weighings' uncertainty."""

    where: str
    session: str
    in_g: float
    lost_g: float
    u_g: float


@dataclass(frozen=True, slots=True)
class Leak:
    """A step that keeps some wax each time.

    ``losing`` of ``sessions`` lost some, ``lost_g`` in all, ``share`` usually; ``p``: the chance of so many losses on
    one side if the step kept nothing (exact sign test, all steps tested counted in).
    """

    where: str
    sessions: int
    losing: int
    lost_g: float
    share: float
    p: float

    @property
    def sentence(self) -> str:
        """The leak in words."""
        return (
            f"{self.where}: wax goes missing in {self.losing} of {self.sessions} sessions, usually "
            f"{100 * self.share:.1f} %, {self.lost_g / 1000:.2f} kg in all; look at what keeps it there"
        )


def leaks(losses: Sequence[Loss]) -> list[Leak]:
    """The steps that lose mass in nearly every session, largest first."""
    groups: dict[str, list[Loss]] = defaultdict(list)
    for one in losses:
        if one.in_g > 0:
            groups[one.where].append(one)
    tested = {where: ls for where, ls in groups.items() if len(ls) >= FEWEST}
    found = [_leak(where, ls, len(tested)) for where, ls in tested.items()]
    return sorted((f for f in found if f is not None), key=lambda f: (-f.lost_g, f.where))


def _leak(where: str, losses: Sequence[Loss], tests: int) -> Leak | None:
    losing = sum(one.lost_g > 0 for one in losses)
    p = min(1.0, tests * coin_above(losing - 1, len(losses)))
    share = median(one.lost_g / one.in_g for one in losses)
    total = sum(one.lost_g for one in losses)
    beyond = total > 2 * sum(one.u_g**2 for one in losses) ** 0.5
    return Leak(where, len(losses), losing, total, share, p) if p < LEVEL and share >= SHARE and beyond else None
