"""Candles on the shelf day by day, what market days sold, and what sales brought, row by row from the logs."""

from __future__ import annotations

from datetime import date
from fractions import Fraction

from tests.oracle.book import Book, Row


def poured(book: Book, candle: str, day: date) -> int:
    """Good candles of that day's pours; a pour that does not say counts as all good."""
    rows = [row for row in book.logs["batches"] if (row["candle"], row["date"], row["status"]) == (candle, day, "poured")]
    return sum(row["count"] if row.get("good") is None else row["good"] for row in rows)


def sold(book: Book, candle: str, day: date, *places: str | None) -> int:
    """Candles of a kind sold on a day, in these places or in all."""
    rows = [row for row in book.logs["sales"] if (row["candle"], row["date"]) == (candle, day)]
    return sum(row["count"] for row in rows if not places or row.get("place") in places)


def counts(book: Book, candle: str) -> dict[date, int]:
    """What was found of a kind, the last count of each day in the order of the file."""
    mine = [row for row in book.logs["stocktakes"] if book.item(row) == ("candle", candle)]
    return {row["date"]: row["count"] for row in mine}


def candle_days(book: Book) -> list[Row]:
    """Each kind on each day on which it moved or anything was sold: poured first, then sales, a count last of all."""
    market_days = {row["date"] for row in book.logs["sales"]}
    found = []
    for candle in sorted(book.candles):
        level, counted = 0, counts(book, candle)
        pours = {row["date"] for row in book.logs["batches"] if (row["candle"], row["status"]) == (candle, "poured")}
        for day in sorted(market_days | pours | set(counted)):
            morning = level + poured(book, candle, day)
            level = counted.get(day, morning - sold(book, candle, day))
            found.append({"candle": candle, "date": day, "morning": morning, "sold": sold(book, candle, day), "evening": level})
    return found


def market_sales(book: Book) -> list[Row]:
    """A kind is on offer where it sold, or stood on the shelf before the sales of a day on which anything was sold there."""
    pours = {row["candle"] for row in book.logs["batches"] if row["status"] == "poured"}
    markets = {(row["date"], row.get("place")) for row in book.logs["sales"]}
    return [
        {
            "candle": row["candle"], "date": day, "place": place, "sold": sold(book, row["candle"], day, place),
            "sold_out": row["evening"] == 0 and row["candle"] in pours,
        }
        for row in candle_days(book)
        for day, place in markets
        if row["date"] == day and (row["morning"] > 0 or sold(book, row["candle"], day, place))
    ]  # fmt: skip


def income(book: Book) -> list[Row]:
    """Count x price of each sale, the candle's own price where the sale has none; without either it counts as nothing."""
    found: dict[tuple[str, str], Row] = {}
    for row in book.logs["sales"]:
        key = book.settings.season(row["date"]), row["candle"]
        price = book.candles[row["candle"]].get("price") if row.get("price") is None else row["price"]
        told = found.setdefault(key, {"season": key[0], "candle": key[1], "count": 0, "income": Fraction(0), "unpriced": 0})
        told["count"] += row["count"]
        told["income"] += row["count"] * (price or 0)
        told["unpriced"] += row["count"] if price is None else 0
    return list(found.values())
