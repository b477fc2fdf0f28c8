"""Which mix of candles is best for the wax?"""

from __future__ import annotations

from dataclasses import dataclass

from pipeline.analyses.candle_capacity import kinds_for
from pipeline.analyses.candle_mix import Mix, Unfit, Wishes, best_mix
from pipeline.answers.candle_kinds import candle_kinds, costs
from pipeline.answers.wax_to_come import sure_wax_g, wax_to_come
from pipeline.flow import Loaded


@dataclass(frozen=True, slots=True)
class MixAnswer:
    """The best mix for an aim out of so much wax (g), and what there is to say of kinds that could not count."""

    mix: Mix
    aim: str
    wax_available_g: float
    each_g: dict[str, float]
    without_price: tuple[str, ...]
    without_wax: tuple[str, ...]
    unpriced: tuple[str, ...]

    def in_json(self) -> dict[str, object]:
        """For other programs."""
        chosen = {"candles": self.mix.candles, "wax_g": self.mix.wax_g, "value": self.mix.value}
        return {**chosen, "wax_available_g": self.wax_available_g, "proved": self.mix.proved}


def mix(loaded: Loaded, aim: str, wishes: Wishes, wax_g: float | None = None) -> MixAnswer | Unfit:
    """The best mix for an aim, of the wax that is sure to be there unless another mass (g) is given."""
    kinds, prices = candle_kinds(loaded), costs(loaded)
    available_g = sure_wax_g(loaded, wax_to_come(loaded)) if wax_g is None else wax_g
    found = best_mix(kinds_for(kinds, aim, prices), available_g, wishes)
    if isinstance(found, Unfit):
        return found
    return MixAnswer(
        mix=found,
        aim=aim,
        wax_available_g=available_g,
        each_g={c.candle: c.wax_each_g or 0.0 for c in kinds},
        without_price=tuple(c.candle for c in kinds if c.price is None and c.wax_each_g) if aim != "count" else (),
        without_wax=tuple(c.candle for c in kinds if not c.wax_each_g),
        unpriced=prices.missing(kinds) if aim == "margin" else (),
    )


def can_be_wished(loaded: Loaded) -> list[str]:
    """The kinds that a mix can hold."""
    return [c.candle for c in candle_kinds(loaded) if c.wax_each_g]
