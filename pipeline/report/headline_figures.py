"""The figures at the top of the report."""

from __future__ import annotations

from pipeline.flow import Loaded
from pipeline.report import section_season, section_shelf
from pipeline.report.page_dataclasses import Headline
from pipeline.report.page_queries import ask
from pipeline.wording.amounts import Units, share


def headlines(loaded: Loaded, units: Units) -> tuple[Headline, ...]:
    """Comb, wax and yield of the last season, wax on hand and comb that waits."""
    house = loaded.warehouse
    seasons = section_season.figures(house)
    total = ask(house, "stock")[0]["total_g"] or 0
    waits, held = section_shelf.waiting_g(house, "waiting"), section_shelf.waiting_g(house, "on hold")
    shelf = Headline("Wax on hand", units.mass(total), "pure wax, without blended blocks")
    comb = Headline(
        "Comb waiting", units.mass(waits), f"and {units.mass(held)} on hold" if held else "none of it on hold"
    )
    if not seasons:
        return (shelf, comb)
    now = seasons[-1]
    value = share(now.value) if now.value is not None else "–"
    before = (
        f"{seasons[-2].season}: {share(seasons[-2].value)}"
        if len(seasons) > 1 and seasons[-2].value
        else "the first season"
    )
    return (
        Headline("Comb rendered", units.mass(now.loaded_g), f"season {now.season}"),
        Headline("Wax recovered", units.mass(now.wax_g), f"season {now.season}"),
        Headline("Yield", value, before),
        shelf,
        comb,
    )
