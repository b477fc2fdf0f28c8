"""Slips of the pen: which weight a person may have meant by what stands in the cell."""

from __future__ import annotations

import itertools
import re
from collections.abc import Mapping
from dataclasses import dataclass
from math import log

from pipeline.contract.quantities import GRAMS

PRIOR = {
    "swap": 0.22, "digit": 0.20, "decimal": 0.14, "unit": 0.13, "tare": 0.08,
    "exchange": 0.05, "copy": 0.03, "other": 0.10,
}  # fmt: skip
"""How slips divide among their kinds before anything is known: a judgement, no source."""

OFF_STEP = 0.1
"""A meant weight that the scale could not have shown counts this much less."""

_NUMBER = re.compile(r"\d+(?:[.,]\d+)?|[.,]\d+")


@dataclass(frozen=True, slots=True)
class Typed:
    """What a person typed for one weight: the text, and the unit of cell or header (``g``, ``kg``, ``oz``, ``lb``)."""

    text: str
    unit: str


@dataclass(frozen=True, slots=True)
class Candidate:
    """One weight that may have been meant, with the log of its share among all slips; ``words`` says how."""

    kind: str
    mass_g: float
    log_share: float
    words: str


def candidates(typed: Typed, mass_g: float, vessels: Mapping[str, float], step_g: float) -> list[Candidate]:
    """Every weight that one slip could have turned into ``mass_g``; a weight of zero is a reading, not a slip.

    ``vessels``: names and empty weights, g. Each kind of slip shares its prior evenly over its candidates.
    """
    if mass_g <= 0:
        return []
    by_kind = {
        "swap": _texts(typed, _swaps(typed.text), "digits swapped"),
        "digit": _texts(typed, _digits(typed.text), "one digit wrong"),
        "decimal": [(mass_g * 10.0**k, "decimal point slipped") for k in (-2, -1, 1, 2)],
        "unit": _units(typed, mass_g),
        "tare": _tares(mass_g, vessels, typed.unit),
    }
    found = []
    for kind, options in by_kind.items():
        fit = [(m, words) for m, words in options if m > 0 and abs(m - mass_g) > 1e-9]
        found += [Candidate(kind, m, log(PRIOR[kind] / len(fit)) + _step(kind, m, typed, step_g), w) for m, w in fit]
    return found


def _step(kind: str, mass_g: float, typed: Typed, step_g: float) -> float:
    if typed.unit not in ("g", "kg") or kind in ("unit", "tare") or step_g <= 0:
        return 0.0
    return 0.0 if abs(mass_g / step_g - round(mass_g / step_g)) < 1e-6 else log(OFF_STEP)


def _swaps(text: str) -> list[str]:
    places = [i for i, c in enumerate(text) if c.isdigit()]
    return [
        text[:i] + text[j] + text[i + 1 : j] + text[i] + text[j + 1 :]
        for i, j in itertools.pairwise(places)
        if text[i] != text[j] and not text[i + 1 : j].strip(".,")
    ]


def _digits(text: str) -> list[str]:
    return [
        text[:i] + d + text[i + 1 :]
        for i, c in enumerate(text) if c.isdigit()
        for d in "0123456789" if d != c
    ]  # fmt: skip


def _texts(typed: Typed, texts: list[str], words: str) -> list[tuple[float, str]]:
    """What these texts weigh; nobody means a number with an idle zero in front."""
    read = [(grams(Typed(t, typed.unit)), words) for t in texts if not re.match(r"0\d", t)]
    return [(m, w) for m, w in read if m is not None]


def grams(typed: Typed) -> float | None:
    """The weight that a text stands for; None where it is not one number, or pounds and ounces."""
    numbers = [float(n.replace(",", ".")) for n in _NUMBER.findall(typed.text)]
    if len(numbers) == 2 and "lb" in typed.text and "oz" in typed.text:
        return numbers[0] * GRAMS["lb"] + numbers[1] * GRAMS["oz"]
    return numbers[0] * GRAMS[typed.unit] if len(numbers) == 1 else None


def _units(typed: Typed, mass_g: float) -> list[tuple[float, str]]:
    number = mass_g / GRAMS[typed.unit]
    return [
        (number * per, f"weighed in {unit}, entered as {typed.unit}")
        for unit, per in GRAMS.items() if unit != typed.unit
    ]  # fmt: skip


def _tares(mass_g: float, vessels: Mapping[str, float], unit: str) -> list[tuple[float, str]]:
    shown = {
        name: f"{v:.0f} g" if unit in ("g", "kg") else f"{v / GRAMS[unit]:.2f} {unit}" for name, v in vessels.items()
    }
    return [(mass_g - v, f"weighed with the {n}, its {shown[n]} not taken off") for n, v in vessels.items()] + [
        (mass_g + v, f"the {n}'s {shown[n]} taken off twice") for n, v in vessels.items()
    ]
