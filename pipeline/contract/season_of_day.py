"""Which season a day falls in: seasons start on one day of the year, and bear the year in which they start."""

from __future__ import annotations


def season_of_day(day: str, starts: tuple[int, int]) -> str:
    """The SQL of a day's season, as text; ``starts``: month and day on which a season starts."""
    month, day_of_month = starts
    return f"(year({day}) - if(month({day}) * 100 + day({day}) < {100 * month + day_of_month}, 1, 0))::VARCHAR"
