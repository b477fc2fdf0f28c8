"""Slips in the words of somebody who weighs wax: what happened, where it shows, what nobody could tell."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import sqrt
from typing import NamedTuple

from pipeline.analyses.scale_step_fit import ScaleFit
from pipeline.analyses.slip import Slip
from pipeline.analyses.step_balance import Balance
from pipeline.wording.amounts import Units, plural

_STEPS = {
    "harvest": "harvest {of}", "block": "block {of}", "cast": "the wax of session {of}", "wax": "the wax of session {of}",
    "slumgum": "the slumgum of session {of}", "join": "what went into pass {number} of session {of}",
    "melt": "pass {number} of session {of}", "yield": "pass {number} of session {of}", "shelf": "the shelf on {of}",
}  # fmt: skip
_SAID = {
    "digits swapped": "digits swapped", "one digit": "one digit wrong", "decimal point": "decimal point slipped",
    "entered twice": "entered twice: an earlier row says the same", "rows exchanged": "entered in the neighbouring row",
    "neighbour's weight": "the neighbouring row's weight again",
    "neighbour's digits": "it ends in the neighbouring row's last two digits",
    "other": "no single slip of the pen gives it",
}  # fmt: skip
_WRONG_NAME = {
    "harvest": "it fits harvest {0}, not {1}", "block": "it fits block {0}, not {1}",
    "slumgum": "it fits the slumgum of session {0}, not {1}", "join": "it fits session {0}, not {1}",
    "cast": "it fits the wax of session {0}, not {1}",
}  # fmt: skip
_WOULD_TELL = {
    ("harvests", "mass"): "weigh what is loaded too, and note when a harvest is emptied",
    ("loads", "mass"): "weigh what goes into the pass (mass_in) too",
    ("passes", "mass_in"): "weigh what is loaded, and the wax that comes out",
    ("passes", "wax_out"): "weigh the blocks, or what goes into the next pass (mass_in)",
    ("passes", "residue"): "weigh what goes into the pass (mass_in) too",
    ("blocks", "mass"): "weigh the wax before casting (wax_out), or count the block at a stocktake",
    ("draws", "mass"): "count the block at a stocktake",
    ("stocktakes", "mass"): "weigh what is taken from it",
}  # fmt: skip
_MORE_ALIKE = "a few more passes alike, weighed in and out, would show what they usually lose"
_COLUMNS = {"mass": "weights", "mass_in": "weights of mass_in", "wax_out": "weights of wax_out", "residue": "residues"}

TWO = "two slips in one session: "


class Untested(NamedTuple):
    """So many weights of a column that nothing tests; ``more_alike``: more sessions alike would, no weighing of its own."""

    log: str
    column: str
    more_alike: bool
    n: int


def step(balance: Balance) -> str:
    """The name of a step."""
    return _STEPS[balance.kind].format(of=balance.of, number=balance.number)


def reason(
    slip: Slip, balance: Balance | None, typed: tuple[str, str], vessels: Mapping[str, float], units: Units
) -> str:
    """What most likely happened, and what it mends; ``typed``: the text and unit of the cell."""
    if slip.kind == "missing row":
        return _missing(balance)
    words = _happened(slip, balance, typed, vessels, units)
    if balance is None or slip.kind == "wrong name":
        return words
    if balance.kind == "yield":
        return f"{words}; so that {step(balance)} gives what such a pass can give"
    return f"{words}; so that {step(balance)} closes"


def _happened(
    slip: Slip, balance: Balance | None, typed: tuple[str, str], vessels: Mapping[str, float], units: Units
) -> str:
    text, unit = typed
    if slip.kind == "unit":
        return f"weighed in {slip.detail}, entered as {unit}"
    if slip.kind == "vessel":
        weight = units.reading(vessels[slip.detail])
        left_on = f"weighed with the {slip.detail}, its {weight} not taken off"
        return f"the {slip.detail}'s {weight} taken off twice" if slip.taken_off else left_on
    if slip.kind == "pounds and ounces":
        return f"{slip.detail} written as {text}"
    if slip.kind == "wrong name":
        return _WRONG_NAME[slip.detail].format(slip.likely, balance.of if balance else "the one named")
    return _SAID[slip.kind]


def _missing(balance: Balance | None) -> str:
    if balance is None:
        return "a row may be missing"
    if balance.kind == "join":
        return f"{step(balance)} is this much more than was loaded; a row may be missing in loads.csv"
    return f"{step(balance)} lacks this much; a row may be missing in {balance.missing}.csv"


def odd(balance: Balance, lost_g: float, units: Units) -> str:
    """A step that lost more or less than such steps do, by no slip that is known."""
    more = "more" if lost_g > 0 else "less"
    return f"{step(balance)}: {units.reading(abs(lost_g))} {more} went missing than usual, by no single slip"


def untested(weights: Sequence[Untested]) -> str:
    """What nobody could test, and what would have told; empty if nothing."""
    told = [f"{u.n} {_column(u.log, u.column, u.n)} ({_would_tell(u)})" for u in weights]
    return f"not enough weighings to test these: {'; '.join(told)}" if told else ""


def _would_tell(u: Untested) -> str:
    return _MORE_ALIKE if u.more_alike else _WOULD_TELL[u.log, u.column]


def _column(log: str, column: str, n: int) -> str:
    words = _COLUMNS[column]
    words = words if n > 1 else words.replace("weights", "weight").replace("residues", "residue")
    return f"{words} in {log}.csv"


def unexplained(place: str, message: str) -> str:
    """What check warns of and no slip explains."""
    return (
        f"{place}: {message}; no slip that is known explains it" if place else f"{message}; no known slip explains it"
    )


def usual(n: int) -> str:
    """What check warns of and this book shows all the time."""
    verb = "is" if n == 1 else "are"
    return f"{plural(n, 'difference')} that check warns of {verb} no larger than this book's usual ones"


def scale(fit: ScaleFit) -> str:
    """The book's differences beside its scale, and the setting that would fit."""
    if fit.read:
        return (
            f"the weights stand on steps of {fit.step_g:g} g, and the scale in book.toml is said to read finer "
            f"({fit.said_g * sqrt(12):.2g} g): [scale] step_g = {fit.step_g:g} would fit, and every limit would follow it"
        )
    return (
        f"weighings that should agree differ more than the scale in book.toml explains: by {_fine(fit.typical_g)} "
        f"each where it says {_fine(fit.said_g)} ({fit.n} steps); [scale] step_g = {fit.step_g:g} would fit, and every "
        "limit would follow it"
    )


def _fine(mass_g: float) -> str:
    return f"{mass_g:.1f} g" if mass_g < 10 else f"{mass_g:.0f} g"
