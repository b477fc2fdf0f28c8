"""What the book and the published figures say, as small tables for the models and checks to join."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Sequence
from datetime import date
from typing import TYPE_CHECKING

from pipeline.contract import log_columns, shipped_files
from pipeline.contract.formulas_in_sql_and_python import Term, density_g_per_ml, frustum_ml, variance_g2
from pipeline.contract.season_of_day import season_of_day
from pipeline.contract.several_in_one_cell import MACROS
from pipeline.database.connection import Warehouse, quoted

if TYPE_CHECKING:
    from pipeline.book.book_settings import Book

ABOUT = {
    "settings": (
        "one row: what the book says of itself, and the dates that everything is worked out for",
        {
            "name": "the book's name", "season_month": "month in which a season starts",
            "season_day": "its day", "currency": "ISO 4217 code", "today": "the date taken as today",
            "on_date": "the date that the shelf is shown for", "pour_loss_share": "pour loss where a candle has none",
            "show_mass": "unit for people", "show_length": "unit for people", "show_temperature": "unit for people",
        },
    ),
    "comb_kinds": (
        "one row per kind of comb",
        {
            "comb": "the kind", "low_share": "wax expected, low, share of comb mass", "high_share": "the same, high",
            "ceiling_share": "more wax than this the kind cannot hold", "source": "where the figures are from",
        },
    ),
    "cautions": (
        "one row per published caution about hot wax and candles",
        {
            "caution": "what it is about", "low": "the figure, low", "high": "the same, high", "unit": "its unit",
            "says": "the caution", "noted_of": "whether notes on comb or on wax give a reason for it",
            "telltale": "words in such notes that do, joined by ` + `; * where more letters may follow",
            "source": "where the figure is from",
        },
    ),
    "purity": (
        "one row per published range of a purity figure of beeswax",
        {
            "wax": "any, white or yellow", "property": "the figure: a column of blocks", "low": "least", "high": "most",
            "unit": "its unit", "source": "where the range is from",
        },
    ),
    "candle_practice": (
        "one row per figure of candle making that is common practice",
        {
            "practice": "what it is about", "low": "the figure, low", "high": "the same, high", "unit": "its unit",
            "says": "the practice", "source": "where the figure is from",
        },
    ),
    "flaws": (
        "one row per flaw of a candle that the trade has a word for",
        {
            "flaw": "the word", "also": "other words for it, joined by ` + `", "cause": "its usual cause",
            "change": "what to change", "source": "where that is from",
        },
    ),
    "methods": ("one row per way of melting", {"method": "the way"}),
    "vessels": ("one row per vessel", {"vessel": "its name", "mass_g": "empty weight"}),
    "densities": ("one row per material", {"material": "wax, an oil or a scent", "g_per_ml": "solid, near 20 °C"}),
    "changes": ("one row per change that the keeper marked", {"date": "since when", "change": "what changed"}),
    "scales": (
        "one row per log that is weighed",
        {
            "log": "the log", "step_g": "readability of the scale", "relative": "share of the reading added",
            "scale": "which scale it is: the log's name where it has one of its own, else empty",
        },
    ),
    "costs": ("one row per cost", {"item": "the material, or hour", "cost": "per kg, or per hour"}),
}  # fmt: skip
"""What each settings table and its columns mean."""

_SHAPES = {
    "settings": "name VARCHAR, season_month INTEGER, season_day INTEGER, currency VARCHAR, today DATE, on_date DATE, "
    "pour_loss_share DOUBLE, show_mass VARCHAR, show_length VARCHAR, show_temperature VARCHAR",
    "comb_kinds": "comb VARCHAR, low_share DOUBLE, high_share DOUBLE, ceiling_share DOUBLE, source VARCHAR",
    "cautions": "caution VARCHAR, low DOUBLE, high DOUBLE, unit VARCHAR, says VARCHAR, noted_of VARCHAR, telltale VARCHAR, "
    "source VARCHAR",
    "purity": "wax VARCHAR, property VARCHAR, low DOUBLE, high DOUBLE, unit VARCHAR, source VARCHAR",
    "candle_practice": "practice VARCHAR, low DOUBLE, high DOUBLE, unit VARCHAR, says VARCHAR, source VARCHAR",
    "flaws": "flaw VARCHAR, also VARCHAR, cause VARCHAR, change VARCHAR, source VARCHAR",
    "methods": "method VARCHAR",
    "vessels": "vessel VARCHAR, mass_g DOUBLE",
    "densities": "material VARCHAR, g_per_ml DOUBLE",
    "changes": "date DATE, change VARCHAR",
    "scales": "log VARCHAR, step_g DOUBLE, relative DOUBLE, scale VARCHAR",
    "costs": "item VARCHAR, cost DOUBLE",
}


_CAUTION = ("caution", "low", "high", "unit", "says", "noted_of", "telltale", "source")


def put(book: Book, warehouse: Warehouse, today: date, on: date, wanted: Collection[str] = tuple(ABOUT)) -> None:
    """Write the ``wanted`` settings tables and the macros of :func:`macros` into the warehouse."""
    for table, rows in _rows(book, today, on).items():
        if table in wanted:
            warehouse.execute(f"CREATE TABLE {table} ({_SHAPES[table]})")
            warehouse.insert(table, rows())
    warehouse.execute(macros(book))


def _rows(book: Book, today: date, on: date) -> dict[str, Callable[[], Iterable[Sequence[object]]]]:
    """What gives the rows of each settings table."""
    show = book.show
    one = (book.name, *book.season_starts, book.currency, today, on, book.pour_loss_share)
    return {
        "settings": lambda: [(*one, show.mass, show.length, show.temperature)],
        "comb_kinds": lambda: _comb_kinds(book),
        "cautions": lambda: _published("cautions", *_CAUTION),
        "purity": lambda: _published("purity", "wax", "property", "low", "high", "unit", "source"),
        "candle_practice": lambda: _published("candle_practice", "practice", "low", "high", "unit", "says", "source"),
        "flaws": lambda: _published("flaw_causes", "flaw", "also", "cause", "change", "source"),
        "methods": lambda: [(m,) for m in (*log_columns.METHODS, *book.methods)],
        "vessels": book.vessels.items,
        "densities": book.densities.items,
        "changes": lambda: sorted(book.changes.items()),
        "scales": lambda: [_scale(book, log) for log in log_columns.LOGS],
        "costs": book.costs.items,
    }


def macros(book: Book) -> str:
    """The statements that make what several queries reckon alike.

    ``u2``: the variance of a weighing in g²; ``exact``: a variance whose sums repeat; ``frustum_ml`` and ``density``: of a
    vessel and a blend; ``season_of``: a day's season; ``flags_of``: the flags of a yield that apply; :data:`MACROS`: several
    words in a cell.
    """
    return (
        f"{MACROS}"
        f"CREATE MACRO u2(log, mass_g) AS CASE {_variances(book)} END;"
        f"CREATE MACRO frustum_ml(bottom_mm, top_mm, height_mm) AS {_FRUSTUM};"
        f"CREATE MACRO density(wax, oil, scent, wax_density, oil_density, scent_density) AS {_DENSITY};"
        "CREATE MACRO exact(g2) AS least(greatest(g2, -1e20), 1e20)::DECIMAL(38, 15);"
        "CREATE MACRO flags_of(slumgum, wax_loaded, set_aside, unweighed) AS list_filter([if(slumgum, 'slumgum', NULL), "
        "if(wax_loaded, 'wax_loaded', NULL), if(set_aside, 'set_aside', NULL), if(unweighed, 'unweighed', NULL)], "
        "lambda x: x IS NOT NULL);"
        f"CREATE MACRO season_of(date) AS {season_of_day('date', book.season_starts)}"
    )


def _scale(book: Book, log: str) -> tuple[str, float, float, str]:
    scale = book.scale(log)
    return log, scale.step_g, scale.relative, log if log in book.scales else ""


def _variances(book: Book) -> str:
    """The variance of one weighing in g²: of the logs that one scale weighs together, as most books have one for all."""
    mass, weighed = Term("mass_g::DOUBLE"), dict[str, list[str]]()
    for log in log_columns.LOGS:
        scale = book.scale(log)
        weighed.setdefault(variance_g2(scale.step_g, scale.relative, mass).sql, []).append(log)
    return " ".join(f"WHEN log IN ({', '.join(map(quoted, logs))}) THEN {g2}" for g2, logs in weighed.items())


_FRUSTUM = frustum_ml(Term("bottom_mm"), Term("top_mm"), Term("height_mm")).sql
_DENSITY = density_g_per_ml([(Term(m), Term(f"{m}_density")) for m in ("wax", "oil", "scent")]).sql


def _published(name: str, *columns: str) -> list[tuple[str | None, ...]]:
    """Columns of a table of published figures; an empty cell is missing."""
    return [tuple(row[column] or None for column in columns) for row in shipped_files.reference(name)]


def _comb_kinds(book: Book) -> list[tuple[str, float, float, float, str]]:
    known = [
        (r["comb"], float(r["low_share"]), float(r["high_share"]), float(r["ceiling_share"]), r["source"])
        for r in shipped_files.reference("comb_kinds")
    ]
    own = [(kind, low, high, 1.0, "book.toml") for kind, (low, high) in book.comb_kinds.items()]
    return known + own
