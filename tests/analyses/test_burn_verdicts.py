"""Each sign of a test burn read as the trade reads it. Thresholds: data/reference/candle_thresholds.csv."""

from __future__ import annotations

from typing import Any

import pytest

from pipeline.analyses.burn_verdicts import Burn, read
from pipeline.answers.candle_thresholds import burn_limits

JAR, MOULD, TAPER = ("container", 76.2), ("mould", 76.2), ("dipped", None)
GOOD = {"pool_mm": 75.0, "depth_mm": 10.0}


def says(candle: tuple[str, float | None], time_h: float = 3, **seen: Any) -> tuple[str, str]:
    signs = frozenset(seen.pop("signs", "").split(" + ")) - {""}
    reading = read(Burn("T", 1, "W", 60 * time_h, signs=signs, **seen), *candle, burn_limits())
    return str(reading.says), reading.rule


@pytest.mark.parametrize(
    ("candle", "seen", "verdict"),
    [
        # what shows whatever the form; common practice, no source
        (JAR, {**GOOD, "signs": "sputtering + tunnel"}, "none"),  # honey, water or dirt in the wax: no verdict on size
        (JAR, {**GOOD, "signs": "drowned"}, "small"),
        (JAR, {**GOOD, "signs": "tunnel", "soot": "heavy"}, "small"),
        (JAR, {**GOOD, "soot": "heavy"}, "large"),
        (JAR, {**GOOD, "soot": "light"}, "right"),
        (JAR, {**GOOD, "flame_mm": 76}, "large"),  # EN 15493:2019: flame not over 75 mm (quoted)
        (JAR, {**GOOD, "flame_mm": 75}, "right"),
        (JAR, {**GOOD, "signs": "gutters"}, "large"),
        (TAPER, {"signs": "gutters"}, "large"),
        # a container: the pool reaches the wall, and not deep
        (JAR, {**GOOD, "went_out": True}, "large"),
        (JAR, {"pool_mm": 60.0, "went_out": True}, "small"),
        (JAR, {"went_out": True}, "none"),
        (JAR, {"pool_mm": 72.0, "depth_mm": 10.0}, "small"),
        (JAR, {"pool_mm": 0.95 * 76.2, "depth_mm": 10.0}, "right"),
        (JAR, {"pool_mm": 76.2, "depth_mm": 15.5}, "large"),
        (JAR, {"pool_mm": 76.2, "depth_mm": 15.0}, "right"),
        (JAR, {"pool_mm": 76.2}, "none"),
        (JAR, {"depth_mm": 10.0}, "none"),
        # a mould: the pool stops 6-12 mm short of the edge
        (MOULD, {"pool_mm": 76.2 - 2 * 12}, "right"),
        (MOULD, {"pool_mm": 76.2 - 2 * 12.5}, "small"),
        (MOULD, {"pool_mm": 76.2 - 2 * 6}, "right"),
        (MOULD, {"pool_mm": 76.2 - 2 * 5}, "large"),
        (MOULD, {}, "none"),
        (("container", None), GOOD, "none"),
        (("mould", None), GOOD, "none"),
        # dipped and rolled: no pool; drips, flame and soot decide
        (TAPER, {}, "right"),
        (TAPER, {"signs": "drips"}, "large"),
        (TAPER, {"went_out": True}, "small"),
        (("rolled", None), {"soot": "heavy"}, "large"),
        (JAR, {**GOOD, "signs": "drips"}, "right"),
    ],
)
def test_every_sign(candle: tuple[str, float | None], seen: dict[str, Any], verdict: str) -> None:
    assert says(candle, **seen)[0] == verdict


def test_a_pool_is_judged_after_an_hour_for_each_inch() -> None:
    """About 1 h per inch of diameter: several trade pages (seen). 3 in need 3 h."""
    for form in ("container", "mould"):
        assert says((form, 76.2), 2.99, pool_mm=60.0, depth_mm=5.0) == ("none", "short burn")
        assert says((form, 76.2), 3.0, pool_mm=40.0, depth_mm=5.0)[0] == "small"
    assert says(JAR, 1, pool_mm=40.0, went_out=True) == ("small", "out before the wall")
    assert says(JAR, 1, soot="heavy") == ("large", "soot")
