"""What somebody asks of ``mix`` on the command line, read strictly."""

from __future__ import annotations

from typing import NoReturn

from pipeline.analyses.candle_mix import Unfit, Wishes
from pipeline.answers.mix import MixAnswer
from pipeline.cli import exit_codes, running
from pipeline.contract.quantities import Dimension, Refusal, read_quantity


def read(known: list[str], least: list[str], most: list[str], hours: float | None) -> Wishes:
    """The wishes, or wrong use: a candle that is not there, takes no wax, or a count that is none."""
    return Wishes(_counts("--min", least, known), _counts("--max", most, known), hours)


def _counts(option: str, pairs: list[str], known: list[str]) -> dict[str, int]:
    counts = {}
    for pair in pairs:
        candle, equals, number = pair.rpartition("=")
        if not equals or not (number.isascii() and number.isdecimal()) or len(number) > 9:
            _wrong(f"{option} {pair}: expected CANDLE=N with a whole number, such as 'taper=12'")
        if candle not in known:
            _wrong(f"{option} {pair}: no candle made of wax is named {candle}; there are {', '.join(known) or 'none'}")
        counts[candle] = int(number)
    return counts


def wax(asked: str | None) -> float | None:
    """The wax to share out in g, as asked with a unit; None where nothing is asked."""
    if asked is None:
        return None
    mass = read_quantity(asked, Dimension.MASS)
    if isinstance(mass, Refusal):
        _wrong(f"--wax {asked}: give a mass with its unit, such as '5 kg'")
    return float(mass)


def fitting(chosen: MixAnswer | Unfit) -> MixAnswer:
    """The mix, or wrong use with the first wish that does not fit."""
    return _wrong(chosen.sentence()) if isinstance(chosen, Unfit) else chosen


def _wrong(sentence: str) -> NoReturn:
    running.stop(sentence, exit_codes.WRONG_USE)
