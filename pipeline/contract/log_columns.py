"""The logs: every column once, with its kind, limits and meaning; entry forms, documentation, reader and models lean on it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from pipeline.contract.columns import MASS_LIMIT_G, CellKind, Column, Log, broken_limits


def _id(name: str, about: str, **more: object) -> Column:
    return Column(name, CellKind.ID, about, **more)  # type: ignore[arg-type]


def _key(name: str, about: str, kind: CellKind = CellKind.ID, low: float | None = None) -> Column:
    return Column(name, kind, about, required=True, key=True, low=low)


def _date(about: str, name: str = "date", required: bool = True) -> Column:
    return Column(name, CellKind.DATE, about, required=required)


def _mass(name: str, about: str, zero: bool = False, required: bool = False, if_empty: str = "") -> Column:
    low, above = (0, None) if zero else (None, 0)
    return Column(name, CellKind.MASS, about, required, low=low, above=above, high=MASS_LIMIT_G, if_empty=if_empty)


def _choice(name: str, about: str, choices: tuple[str, ...], required: bool = False, more: str = "") -> Column:
    return Column(name, CellKind.CHOICE, about, required, choices=choices, more=more)


def _percent(name: str, about: str, required: bool = False) -> Column:
    return Column(name, CellKind.PERCENT, about, required, low=0, high=100)


def _count(name: str, about: str, required: bool = False, low: float = 0, if_empty: str = "") -> Column:
    return Column(name, CellKind.COUNT, about, required, low=low, high=1e6, if_empty=if_empty)


def _length(name: str, about: str, required: bool = False, zero: bool = False) -> Column:
    low, above = (0, None) if zero else (None, 0)
    return Column(name, CellKind.LENGTH, about, required, low=low, above=above, high=10_000)


def _temp(name: str, about: str) -> Column:
    return Column(name, CellKind.TEMPERATURE, about, low=-40, high=400)


def _time(name: str, about: str, required: bool = False) -> Column:
    return Column(name, CellKind.TIME, about, required, low=0, high=60 * 24 * 365)


def _money(name: str, about: str, low: float | None = 0) -> Column:
    return Column(name, CellKind.MONEY, about, low=low, high=1e9)


def _text(name: str, about: str, if_empty: str = "") -> Column:
    return Column(name, CellKind.TEXT, about, if_empty=if_empty)


NOTES = _text("notes", "anything worth remembering")
COMB_KINDS = (
    "cappings", "wet cappings", "white comb", "brood comb", "drone comb", "burr comb", "scrapings", "mixed",
)  # fmt: skip
METHODS = (
    "solar", "water bath", "steam", "press", "centrifuge", "slow cooker", "double boiler", "oven",
)  # fmt: skip
COLOURS = ("white", "light yellow", "yellow", "dark yellow", "brown")
"""Colours of wax, from light to dark."""
USES = ("candles", "sold", "given", "foundation", "other", "spoiled")

SIGNS = ("tunnel", "drips", "sputtering", "drowned", "gutters")
"""What is seen of a test candle that burns badly."""

_SPECS = (
    Log("harvests", "a lot of comb taken off", (
        _key("harvest", "your name for the lot"),
        _date("the day the comb came off"),
        _choice("comb", "the kind of comb", COMB_KINDS, required=True, more="comb_kinds"),
        _mass("mass", "what the dry comb weighs"),
        _count("frames", "how many frames, where the comb was counted", low=1),
        _text("apiary", "where the hives stand"),
        _text("hive", "the hive; several joined by ' + '"),
        _mass("honey_mass", "honey extracted from the same combs, not part of the comb's weight", zero=True),
        _date("when its wax should be ready", "wax_expected", required=False),
        _choice("method", "how it shall be melted", METHODS, more="methods"),
        _text("hold", "why it must not be rendered or sold (disease, treatment)"),
        NOTES), any_of=(("mass", "frames"),)),
    Log("loads", "what was loaded into a pass", (
        _id("session", "the rendering session", required=True, refers="passes"),
        _id("source", "where it came from: a harvest, a block or an earlier session", required=True),
        _choice("part", "which part of an earlier session", ("slumgum", "wax")),
        _mass("mass", "what was loaded", if_empty="all that is left of the source"),
        _count("pass", "the pass it was loaded into", low=1, if_empty="1"),
        Column("emptied", CellKind.YES_NO, "yes: nothing is left of the source"),
        NOTES)),
    Log("passes", "one melt and strain", (
        _key("session", "your name for the rendering session"),
        _key("pass", "1, 2, 3 …", CellKind.COUNT, low=1),
        _date("the day the wax came off (solar: the last time)"),
        _choice("method", "how it was melted", METHODS, required=True, more="methods"),
        _mass("mass_in", "what went in", if_empty="what was loaded plus the wax of the pass before"),
        _mass("wax_out", "the wax that came out, cold, dry and scraped", zero=True),
        _mass("residue", "slumgum, dregs and scrapings", zero=True),
        _temp("peak_temp", "the hottest that the wax got"),
        _time("time", "how long it took"),
        _text("filter", "what it was strained through"),
        NOTES)),
    Log("blocks", "one finished block", (
        _key("block", "your name for the block"),
        _date("the day it was cast, bought or recovered"),
        _mass("mass", "what it weighs", required=True),
        _id("session", "the session it was cast from", refers="passes"),
        _text("supplier", "who it was bought from; 'before this book' for wax owned before"),
        _id("batch", "the pour it was recovered from", refers="batches"),
        _id("blend", "the recipe it was mixed to", refers="blends", if_empty="pure wax"),
        _choice("colour", "its colour", COLOURS),
        _text("place", "where it lies"),
        _money("cost", "what it cost in all"),
        _temp("melting_point", "measured melting point"),
        Column("acid_value", CellKind.NUMBER, "acid value, mg KOH per g", low=0, high=1000),
        Column("ester_value", CellKind.NUMBER, "ester value, mg KOH per g", low=0, high=1000),
        NOTES), one_of=(("session", "supplier", "batch"),)),
    Log("draws", "wax taken off the shelf", (
        _date("the day it was taken"),
        _id("block", "the block it was taken from", required=True, refers="blocks"),
        _mass("mass", "what was taken", if_empty="all that is left of it"),
        _choice("use", "what for", USES, required=True),
        _id("batch", "the pour it went into", refers="batches"),
        _money("price", "received in all; a fee paid is negative", low=-1e9),
        NOTES)),
    Log("stocktakes", "what was found on the shelf", (
        _date("the day of the count"),
        _id("item", "a block, a harvest or a candle", if_empty="all wax on the shelf"),
        _mass("mass", "what it weighs", zero=True),
        _count("count", "how many there are"),
        NOTES), one_of=(("mass", "count"),)),
    Log("blends", "a recipe", (
        _key("blend", "your name for the recipe"),
        _percent("wax_pct", "beeswax, share of wax and oil", required=True),
        _text("oil", "which oil"),
        _percent("oil_pct", "oil, share of wax and oil"),
        _text("scent", "which scent"),
        _percent("scent_pct", "scent, by mass of wax and oil"),
        NOTES)),
    Log("candles", "a kind of candle", (
        _key("candle", "your name for the kind"),
        _choice("form", "how it is made", ("container", "mould", "dipped", "rolled"), required=True),
        _id("blend", "the recipe", required=True, refers="blends"),
        _mass("fill_mass", "what one finished candle weighs without its vessel"),
        Column("fill_volume", CellKind.VOLUME, "what the vessel holds to the fill line", above=0, high=1e6),
        _length("diameter", "across the bottom, inside"),
        _length("height", "inside height"),
        _length("top_diameter", "across the rim, inside, where it differs"),
        _length("headspace", "from the fill line to the rim", zero=True),
        _length("mouth_diameter", "across the opening"),
        _id("wick", "the wick it gets", refers="wicks"),
        _count("per_pour", "how many a mould makes at once", low=1),
        _percent("pour_loss_pct", "what a pour loses"),
        _money("price", "asked for one"),
        _money("other_cost", "vessel, wick, label and the rest, for one"),
        _time("work_time", "work on one"),
        NOTES), any_of=(("fill_mass", "fill_volume", "diameter"),)),
    Log("batches", "a pour, planned or done", (
        _key("batch", "your name for the pour"),
        _date("the day of the pour"),
        _id("candle", "the kind of candle", required=True, refers="candles"),
        _count("count", "how many", required=True, low=1),
        _choice("status", "where it stands", ("planned", "poured", "dropped"), required=True),
        _count("good", "how many came out right"),
        _temp("pour_temp", "wax temperature at the pour"),
        _temp("scent_temp", "wax temperature when the scent went in"),
        _temp("room_temp", "room temperature"),
        _text("flaws", "what went wrong"),
        NOTES)),
    Log("wicks", "the maker's own wick chart", (
        _key("wick", "your name for the wick"),
        _count("rank", "its place from thin to thick", required=True),
        _text("family", "wicks of one make, whose ranks compare", if_empty="all are one family"),
        _length("from_diameter", "smallest candle it suits", required=True, zero=True),
        _length("to_diameter", "largest candle it suits", required=True),
        NOTES)),
    Log("burns", "one burn of a test candle", (
        _key("test", "your name for the test candle"),
        _key("burn", "1, 2 …", CellKind.COUNT, low=1),
        _date("the day of the burn"),
        _id("candle", "the kind of candle", required=True, refers="candles"),
        _id("wick", "the wick in it", required=True, refers="wicks"),
        _time("time", "how long it burned", required=True),
        _mass("mass_before", "candle before the burn"),
        _mass("mass_after", "candle after the burn", zero=True),
        _length("pool_diameter", "across the molten pool", zero=True),
        _length("pool_depth", "depth of the molten pool", zero=True),
        _length("flame_height", "height of the flame", zero=True),
        _choice("soot", "soot seen", ("none", "light", "heavy")),
        Column("went_out", CellKind.YES_NO, "it went out by itself"),
        Column("signs", CellKind.WORDS, "what else was seen; several joined by ' + '", choices=SIGNS),
        NOTES)),
    Log("sales", "candles leaving the shelf", (
        _date("the day"),
        _id("candle", "the kind of candle", required=True, refers="candles"),
        _count("count", "how many", required=True, low=1),
        _id("batch", "the pour they came from", refers="batches"),
        _money("price", "received for each"),
        _text("place", "where"),
        NOTES)),
)  # fmt: skip

LOGS: dict[str, Log] = {log.name: log for log in _SPECS}
"""The logs by name, in the order of the work: comb, rendering, blocks, shelf, candles."""


def words(column: Column, more: dict[str, tuple[str, ...]]) -> tuple[str, ...]:
    """The words allowed in a choice column; ``more`` holds what book.toml adds, by list name."""
    return column.choices + more.get(column.more, ())


def broken_cells(
    log: Log, rows: Iterable[Mapping[str, object]], more: dict[str, tuple[str, ...]]
) -> Iterator[tuple[int, str, str, object]]:
    """Which cells of typed rows break which rule, as :func:`pandera_models.broken` says it of a frame.

    By the same rules, value by value: for a few rows this is far quicker than to load pandera.
    """
    for row in rows:
        for column in log.columns:
            value = row[column.field]
            if value is None and column.required:
                yield row["row"], column.field, "required", None  # type: ignore[misc]
            if value is not None:
                for rule, limit in broken_limits(column, value, words(column, more)):
                    yield row["row"], column.field, rule, limit  # type: ignore[misc]
