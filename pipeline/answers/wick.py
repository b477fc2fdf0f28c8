"""Which wick a kind of candle needs: the maker's chart and the burn tests of a loaded book handed to their analyses."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from pipeline.analyses import wick_choice
from pipeline.analyses.burn_verdicts import Burn, BurnLimits, Says, read
from pipeline.analyses.burning_time import Spread, burn_rate, burn_time
from pipeline.analyses.burns_of_other_widths import BurnVerdict, WickedCandle, alike, holding_here
from pipeline.analyses.wick_choice import Choice, Seen, Wick
from pipeline.answers.candle_thresholds import burn_limits, thresholds
from pipeline.contract.columns import JOINED
from pipeline.flow import Loaded

Row = dict[str, Any]


_MORE_LIKELY_THAN_NOT = 0.5


@dataclass(frozen=True, slots=True)
class WickAnswer:
    """What chart and burn tests say of a candle's wick; ``shared``: other kinds of the same recipe, form and width."""

    kind: WickedCandle
    wicks: tuple[Wick, ...]
    chart: tuple[str, ...]
    to_test: tuple[str, ...]
    verdicts: tuple[BurnVerdict, ...]
    borrowed: tuple[BurnVerdict, ...]
    choice: Choice
    contradictions: tuple[tuple[Seen, Seen], ...]
    off_the_end: Says | None
    rate_g_per_h: Spread
    time_h: Spread
    shared: tuple[str, ...]

    @property
    def spoken_for(self) -> str | None:
        """The size that the tests speak for: likelier right than not, and not past the end of the sizes tried."""
        chance = next((c.chance for c in self.choice.chances if c.wick == self.choice.choice), 0.0)
        return self.choice.choice if self.off_the_end is None and chance >= _MORE_LIKELY_THAN_NOT else None


def wick(loaded: Loaded, candle: str) -> WickAnswer | None:
    """The answer for one kind of candle; None where there is no such kind."""
    return next((a for a in _answers(loaded, candle)), None)


def wicks(loaded: Loaded) -> list[WickAnswer]:
    """The answers for every kind of candle that was burned or has a chart, in the order of their log."""
    return [a for a in _answers(loaded) if a.verdicts or a.chart]


def names(loaded: Loaded) -> list[str]:
    """The kinds of candle in a book, in the order of their log."""
    return [r["candle"] for r in loaded.warehouse.ask("candle_kinds")]


def _answers(loaded: Loaded, only: str | None = None) -> list[WickAnswer]:
    kinds = [_kind(r) for r in loaded.warehouse.ask("candle_kinds")]
    rows = loaded.warehouse.rows("SELECT * FROM wicks ORDER BY row")
    chart = tuple(
        Wick(r["wick"], r["rank"], r["from_diameter_mm"], r["to_diameter_mm"], r["family"] or "") for r in rows
    )
    limits = burn_limits()
    verdicts = [_verdict(r, limits) for r in loaded.warehouse.ask("test_burns")]
    return [_answer(k, kinds, chart, verdicts) for k in kinds if only in (None, k.candle)]


def _answer(
    kind: WickedCandle, kinds: list[WickedCandle], wicks: tuple[Wick, ...], verdicts: list[BurnVerdict]
) -> WickAnswer:
    known = thresholds()
    own = tuple(v for v in verdicts if v.candle == kind.candle)
    borrowed = holding_here(kind, kinds, verdicts)
    charted = wick_choice.chart(wicks, kind.diameter_mm)
    counted = [v.seen for v in (*own, *borrowed)]
    nominal = charted or ((kind.wick,) if kind.wick else ())
    choice = wick_choice.choose(wicks, counted, nominal, known["reading_error"], known["sure_enough"])
    rate = burn_rate([v.burn for v in own], choice.choice or kind.wick)
    return WickAnswer(
        kind=kind,
        wicks=wicks,
        chart=charted,
        to_test=wick_choice.to_test(wicks, charted),
        verdicts=own,
        borrowed=borrowed,
        choice=choice,
        contradictions=wick_choice.contradictions(wicks, counted),
        off_the_end=wick_choice.off_the_end(wicks, counted),
        rate_g_per_h=rate,
        time_h=burn_time(kind.fill_g, rate),
        shared=tuple(k.candle for k in kinds if k is not kind and alike(k, kind) and k.diameter_mm == kind.diameter_mm),
    )


def _kind(r: Row) -> WickedCandle:
    fill_g = None if r["fill_g"] is None else float(r["fill_g"])
    size = (r["widest_mm"], r["height_mm"], r["mouth_diameter_mm"])
    return WickedCandle(r["candle"], r["form"], r["blend"], r["wick"], *size, fill_g)


def _verdict(r: Row, limits: BurnLimits) -> BurnVerdict:
    before, after = (None if r[c] is None else float(r[c]) for c in ("mass_before_g", "mass_after_g"))
    burn = Burn(
        test=r["test"],
        burn=r["burn"],
        wick=r["wick"],
        time_min=r["time_min"],
        pool_mm=r["pool_diameter_mm"],
        depth_mm=r["pool_depth_mm"],
        flame_mm=r["flame_height_mm"],
        soot=r["soot"],
        went_out=bool(r["went_out"]),
        signs=frozenset((r["signs"] or "").split(JOINED)),
        mass_before_g=before,
        mass_after_g=after,
    )
    return BurnVerdict(r["candle"], r["date"], burn, read(burn, r["form"], r["widest_mm"], limits))
