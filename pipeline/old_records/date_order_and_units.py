"""What the cells of an old sheet say: days in whatever order, weights in whatever unit, decided once for a whole column."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import Final

from pipeline.contract.quantities import Dimension, Marks, Refusal, read_number, read_quantity

_MONTHS: Final = {
    "jan": 1, "feb": 2, "mar": 3, "apr": 4, "may": 5, "jun": 6, "jul": 7, "aug": 8, "sep": 9, "sept": 9, "oct": 10, "nov": 11,
    "dec": 12, "mär": 3, "mai": 5, "okt": 10, "dez": 12, "fév": 2, "avr": 4, "juin": 6, "juil": 7, "aoû": 8, "déc": 12,
}  # fmt: skip
_ISO: Final = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?:[ T]00:00(?::00)?)?")
_THREE: Final = re.compile(r"(\d{1,2})([./ -])(\d{1,2})\2(\d{4}|\d{2})\.?")
_TWO: Final = re.compile(r"(\d{1,2})([./-])(\d{1,2})\2?")
_DAY_MONTH: Final = re.compile(r"(\d{1,2})(?:st|nd|rd|th)?[. -]*([^\W\d_]{3,})\.?,?[ -]*(\d{4}|\d{2})?", re.IGNORECASE)
_MONTH_DAY: Final = re.compile(r"([^\W\d_]{3,})\.? *(\d{1,2})(?:st|nd|rd|th)?,?(?: *(\d{4}|\d{2}))?", re.IGNORECASE)
_YEAR: Final = re.compile(r"(?:19|20)\d\d")
_SURE_COMMA: Final = re.compile(r"\d,(\d{1,2}|\d{4,})(?!\d)|(?<!\d)0,\d")
_SURE_DOT: Final = re.compile(r"\d\.(\d{1,2}|\d{4,})(?!\d)|(?<!\d)0\.\d")
_UNSURE: Final = re.compile(r"(?<![\d.,])[1-9]\d{0,2}[.,]\d{3}(?![\d.,])")


@dataclass(frozen=True, slots=True)
class Order:
    """How the days of a column are written: ``iso``, ``day-first`` or ``month-first``; and the year where they have none."""

    dates: str
    year: int | None = None


def read_day(text: str, order: Order) -> date | None:
    """The day that a cell names, or None where it names none in that order."""
    text = text.strip()
    if found := _ISO.fullmatch(text):
        return _day(int(found[1]), int(found[2]), int(found[3]))
    if found := _THREE.fullmatch(text):
        first, second = int(found[1]), int(found[3])
        day, month = (second, first) if order.dates == "month-first" else (first, second)
        return _day(_whole_year(found[4]), month, day)
    for pattern, day_at, month_at in ((_DAY_MONTH, 1, 2), (_MONTH_DAY, 2, 1)):
        if (found := pattern.fullmatch(text)) and (month_number := _month(found[month_at])):
            whole = _whole_year(found[3]) if found[3] else order.year
            return _day(whole, month_number, int(found[day_at])) if whole else None
    if (found := _TWO.fullmatch(text)) and order.year:
        first, second = int(found[1]), int(found[3])
        day, month = (second, first) if order.dates == "month-first" else (first, second)
        return _day(order.year, month, day)
    return None


def _month(word: str) -> int | None:
    """The number of a month by its name, whole or cut short."""
    word = word.lower().rstrip(".")
    return _MONTHS.get(word[:4]) or _MONTHS.get(word[:3])


def _whole_year(text: str) -> int:
    return int(text) if len(text) == 4 else 2000 + int(text)


def _day(year: int, month: int, day: int) -> date | None:
    try:
        return date(year, month, day)
    except ValueError:
        return None


def is_year(text: str) -> bool:
    """Whether a cell holds a year and nothing else."""
    return bool(_YEAR.fullmatch(text.strip()))


def looks_like_day(text: str) -> bool:
    """Whether a cell can be meant for a day, in some order, in some year."""
    return any(read_day(text, Order(order, 2000)) for order in ("day-first", "month-first"))


def orders(texts: Iterable[str]) -> set[str]:
    """The orders in which every one of these days is in the calendar; empty where none fits all.

    Where neither number can be told from the other both orders stay, and somebody has to say.
    """
    left = {"day-first", "month-first"}
    told = False
    for text in texts:
        fits = {order for order in ("day-first", "month-first") if read_day(text, Order(order, 2000))}
        if fits and (_THREE.fullmatch(text.strip()) or _TWO.fullmatch(text.strip())):
            left &= fits
            told = told or _parts_differ(text)
    return left if told else {"day-first"} & left or left


def _parts_differ(text: str) -> bool:
    """Whether the order of a day matters at all: 5/5/2019 is the same either way."""
    found = _THREE.fullmatch(text.strip()) or _TWO.fullmatch(text.strip())
    return bool(found and found[1] != found[3])


def lacks_year(texts: Iterable[str]) -> bool:
    """Whether some day of these is written without its year."""
    return any(
        read_day(t, Order("day-first")) is None and read_day(t, Order("month-first")) is None and looks_like_day(t)
        for t in texts
    )


def marks(texts: Iterable[str]) -> Marks | None:
    """What comma and dot mean in these cells; None where nothing sure stands among cells that can be read two ways."""
    texts = list(texts)
    comma, dot = any(map(_SURE_COMMA.search, texts)), any(map(_SURE_DOT.search, texts))
    if comma and dot:
        return Marks.UNSURE
    if comma:
        return Marks.COMMA
    return Marks.DOT if dot or not any(map(_UNSURE.search, texts)) else None


def measure_text(text: str, dimension: Dimension, unit: str | None, mark: Marks) -> str | Refusal:
    """A weight, temperature or time as the logs take it: with its own unit, or else with the column's."""
    text = with_dots(text, mark)
    value = read_quantity(text, dimension, unit, Marks.DOT)
    if isinstance(value, Refusal):
        return value
    bare = read_number(text, Marks.DOT)
    return text if isinstance(bare, Refusal) else f"{decimal(bare)} {unit}"


def with_dots(text: str, mark: Marks) -> str:
    """The text with a dot for its decimal mark and no mark between thousands, once it is known which is which."""
    thousands, point = (".", ",") if mark is Marks.COMMA else (",", ".")
    return re.sub(rf"(?<=\d)[{thousands}](?=\d{{3}}(?!\d))", "", text).replace(point, ".")


def decimal(value: Fraction) -> str:
    """A number with a dot, to the ten-thousandth; no scale at home tells more."""
    return f"{float(round(value, 4)):.4f}".rstrip("0").rstrip(".")


def looks_like_value(text: str) -> bool:
    """Whether a cell holds a number, a weight or a day: nothing that heads a column."""
    text = text.strip()
    number = read_number(text.replace("%", "").strip(), Marks.DOT)
    if not isinstance(number, Refusal) or _UNSURE.fullmatch(text):
        return True
    return looks_like_day(text) or any(
        not isinstance(read_quantity(text, d, None, Marks.DOT), Refusal) for d in Dimension
    )
