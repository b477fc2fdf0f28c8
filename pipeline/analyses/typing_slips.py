"""Slips of the pen: which weight a person may have meant by what stands in the cell."""

from __future__ import annotations

import itertools
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import log

from pipeline.contract.quantities import GRAMS

PRIOR = {
    "digits swapped": 0.17, "one digit": 0.16, "decimal point": 0.14, "unit": 0.14, "vessel": 0.12,
    "pounds and ounces": 0.05, "entered twice": 0.01, "rows exchanged": 0.04, "neighbour's weight": 0.03,
    "neighbour's digits": 0.02, "wrong name": 0.04, "other": 0.08,
}  # fmt: skip
"""How slips divide among their kinds before anything is known: a judgement, no source."""

OFF_STEP = 0.1
"""A meant weight that the scale could not have shown counts this much less."""
_OUNCES = 16
"""Ounces in a pound: a decimal that stands for ounces is less."""
_TAIL = 2
"""Digits that are taken over from a neighbouring row by eye."""

_NUMBER = re.compile(r"\d+(?:[.,]\d+)?|[.,]\d+")
_IDLE_ZERO = re.compile(r"0\d")


@dataclass(frozen=True, slots=True)
class Typed:
    """What a person typed for one weight: the text, and the unit of cell or header (``g``, ``kg``, ``oz``, ``lb``)."""

    text: str
    unit: str


@dataclass(frozen=True, slots=True)
class Candidate:
    """One weight that may have been meant, with the log of its share among all slips.

    ``detail``: the unit of the scale, the vessel's name, or how pounds and ounces were taken; ``taken_off``: of a vessel,
    whether its weight was taken off once too often. ``coarse_g``: the step that pounds and ounces, or their decimal, have.
    """

    kind: str
    mass_g: float
    log_share: float
    detail: str
    taken_off: bool
    coarse_g: float


_Option = tuple[float, str, bool]


def candidates(
    typed: Typed, mass_g: float, vessels: Mapping[str, float], step_g: float, near: Sequence[str] = ()
) -> list[Candidate]:
    """Every weight that one slip could have turned into ``mass_g``; a weight of zero is a reading, not a slip.

    ``vessels``: names and empty weights, g; ``near``: the texts of the neighbouring rows. Each kind of slip shares its
    prior evenly over its candidates.
    """
    if mass_g <= 0:
        return []
    by_kind: dict[str, list[_Option]] = {
        "digits swapped": _texts(typed, _swaps(typed.text)),
        "one digit": _texts(typed, _digits(typed.text)),
        "decimal point": [(mass_g * 10.0**k, "", False) for k in (-2, -1, 1, 2)],
        "unit": [(mass_g / GRAMS[typed.unit] * per, unit, False) for unit, per in GRAMS.items() if unit != typed.unit],
        "vessel": _vessels(mass_g, vessels),
        "pounds and ounces": _pounds(typed),
        "neighbour's digits": _texts(typed, _tails(typed.text, near)),
    }
    least = min(step_g, mass_g) / 2 if step_g > 0 else 0.0
    found = []
    for kind, options in by_kind.items():
        fit = [o for o in options if o[0] > least and abs(o[0] - mass_g) > 1e-9]
        even = log(PRIOR[kind] / max(len(fit), 1))
        found += [
            Candidate(kind, meant_g, even + _step(kind, meant_g, typed, step_g), detail, off, _coarse(kind, detail))
            for meant_g, detail, off in fit
        ]
    return found


def _coarse(kind: str, meant: str) -> float:
    """The step of a weight in whole ounces, or in the decimals of a pound."""
    if kind != "pounds and ounces":
        return 0.0
    decimals = len(meant.removesuffix(" lb").partition(".")[2])
    return GRAMS["oz"] if meant.endswith("oz") else GRAMS["lb"] / 10.0**decimals


def _step(kind: str, mass_g: float, typed: Typed, step_g: float) -> float:
    if typed.unit not in ("g", "kg") or kind in ("unit", "vessel") or step_g <= 0:
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


def _tails(text: str, near: Sequence[str]) -> list[str]:
    """All that may have stood there, where the last two digits are those of a neighbouring row."""
    digits = [i for i, c in enumerate(text) if c.isdigit()]
    places = digits[-_TAIL:]
    ends = {tuple(c for c in other if c.isdigit())[-_TAIL:] for other in near if other != text}
    if len(digits) <= _TAIL or tuple(text[i] for i in places) not in ends:
        return []
    cells = list(text)
    found = []
    for meant in itertools.product("0123456789", repeat=_TAIL):
        for i, d in zip(places, meant, strict=True):
            cells[i] = d
        found.append("".join(cells))
    return found


def _texts(typed: Typed, texts: list[str]) -> list[_Option]:
    """What these texts weigh; nobody means a number with an idle zero in front."""
    read = [grams(Typed(t, typed.unit)) for t in texts if not _IDLE_ZERO.match(t)]
    return [(m, "", False) for m in read if m is not None]


def grams(typed: Typed) -> float | None:
    """The weight that a text stands for; None where it is not one number, or pounds and ounces."""
    numbers = [float(n.replace(",", ".")) for n in _NUMBER.findall(typed.text)]
    if len(numbers) == 2 and "lb" in typed.text and "oz" in typed.text:
        return numbers[0] * GRAMS["lb"] + numbers[1] * GRAMS["oz"]
    return numbers[0] * GRAMS[typed.unit] if len(numbers) == 1 else None


def _pounds(typed: Typed) -> list[_Option]:
    """Pounds and ounces written as a decimal (3 lb 3 oz as 3.3), and a decimal written as pounds and ounces."""
    numbers = _NUMBER.findall(typed.text)
    if len(numbers) == 2 and "lb" in typed.text and "oz" in typed.text and numbers[1].isdigit():
        return [(float(f"{numbers[0]}.{numbers[1]}") * GRAMS["lb"], f"{numbers[0]}.{numbers[1]} lb", False)]
    pounds, _, ounces = (numbers[0].replace(",", ".") if len(numbers) == 1 else "").partition(".")
    if typed.unit != "lb" or not ounces or not 0 < int(ounces) < _OUNCES:
        return []
    meant = f"{pounds or '0'} lb {int(ounces)} oz"
    return [(int(pounds or "0") * GRAMS["lb"] + int(ounces) * GRAMS["oz"], meant, False)]


def _vessels(mass_g: float, vessels: Mapping[str, float]) -> list[_Option]:
    return [(mass_g - v, n, False) for n, v in vessels.items()] + [(mass_g + v, n, True) for n, v in vessels.items()]
