"""Which mix of candles is best for the wax?"""

from __future__ import annotations

from dataclasses import dataclass, replace

from pipeline.analyses.candle_capacity import kinds_for
from pipeline.analyses.candle_mix import Mix, Unfit, Wishes, best_mix, whole_pours
from pipeline.answers import market
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
    asked_for: dict[str, int]
    """The most of each kind that a year's market days may ask for, where nothing else was wished."""

    def in_json(self) -> dict[str, object]:
        """For other programs."""
        chosen = {"candles": self.mix.candles, "wax_g": self.mix.wax_g, "value": self.mix.value}
        return {
            **chosen,
            "wax_available_g": self.wax_available_g,
            "proved": self.mix.proved,
            "asked_for": self.asked_for,
        }


def mix(loaded: Loaded, aim: str, wishes: Wishes, wax_g: float | None = None) -> MixAnswer | Unfit:
    """The best mix for an aim, of the wax that is sure to be there unless another mass (g) is given.

    Of a kind that sells no more is made than market days may ask for, unless more is wished.
    """
    kinds, prices = candle_kinds(loaded), costs(loaded)
    available_g = sure_wax_g(loaded, wax_to_come(loaded)) if wax_g is None else wax_g
    asked_for = {k: n for k, n in market.most_to_make(loaded).items() if k not in wishes.most}
    choice = kinds_for(kinds, aim, prices)
    least = {k.candle: whole_pours(wishes.least.get(k.candle, 0), k) * k.per_pour for k in choice}
    most = {k: max(n, least.get(k, 0)) for k, n in asked_for.items()}
    wished = replace(wishes, most={**most, **wishes.most})
    found = best_mix(choice, available_g, wished)
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
        asked_for=asked_for,
    )


def can_be_wished(loaded: Loaded) -> list[str]:
    """The kinds that a mix can hold."""
    return [c.candle for c in candle_kinds(loaded) if c.wax_each_g]
