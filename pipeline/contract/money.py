"""Amounts of money as people write them: a bare number, or one with the sign or the code of the book's currency."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Final

from pipeline.contract.quantities import Marks, Refusal, read_number, with_one_spelling

_MONEY: Final = re.compile(
    r"(?P<sign>[-+]?) ?(?P<before>[^0-9.,+\- ]{0,4}) ?(?P<number>[-+]? ?[0-9.,](?:[0-9., ]*[0-9.,])?) ?"
    r"(?P<behind>[^0-9.,+\- ]{0,4})"
)
_SIGNS: Final = {  # signs in daily use, each with the ISO 4217 codes that it stands for
    "$": ("USD", "CAD", "AUD", "NZD", "HKD", "SGD", "MXN", "CLP", "COP", "ARS", "TWD"),
    "US$": ("USD",), "C$": ("CAD",), "CA$": ("CAD",), "A$": ("AUD",), "AU$": ("AUD",), "NZ$": ("NZD",), "R$": ("BRL",),
    "€": ("EUR",), "£": ("GBP",), "¥": ("JPY", "CNY"), "₹": ("INR",), "₽": ("RUB",), "₺": ("TRY",), "₴": ("UAH",),
    "KR": ("SEK", "NOK", "DKK", "ISK"), "FR": ("CHF",), "ZŁ": ("PLN",), "KČ": ("CZK",), "FT": ("HUF",), "R": ("ZAR",),
}  # fmt: skip


def read_money(text: str, currency: str, marks: Marks = Marks.DOT) -> Fraction | Refusal:
    """An amount in the book's currency: a bare number, or one with that currency's sign or code (``$45``, ``45 USD``)."""
    match = _MONEY.fullmatch(with_one_spelling(text))
    if match is None:
        return read_number(text, marks)
    word = (match["before"] or match["behind"] or "").strip().upper()
    if word and word != currency and currency not in _SIGNS.get(word, ()):
        reason = f"{text.strip()} is in another currency than the book ({currency})"
        return Refusal("unit-unknown", reason, f"write what it was in {currency}, as a number")
    sign = "-" if "-" in (match["sign"] or "") + match["number"] else ""
    return read_number(sign + match["number"].strip().lstrip("-+ "), marks)
