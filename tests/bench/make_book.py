"""A big invented book, the same every time: ``python -m tests.bench.make_book --sessions 100000 OUT``.

About 10.5 rows a session. Of ten sessions seven go from comb to blocks in two or three passes, two leave a crude cake and the
tenth filters both. All masses are multiples of 5 g and every balance fits. ``--bad 0.01`` spoils one cell in one row of
a hundred of each long log. Columns are made by DuckDB from the session's number, so no row passes through Python.
"""

from __future__ import annotations

import argparse
from pathlib import Path

import duckdb

TODAY = "2026-11-01"

BASE = """
CREATE TABLE base AS
WITH numbers AS (SELECT range AS i, range % 10 AS turn, (range * 7919 + range // 10 * 104729) % 1600 AS luck FROM range({sessions})),
weighed AS (
    SELECT i, turn, luck, DATE '2000-03-01' + (i * 9650 // {sessions})::INTEGER AS day,
        ['cappings', 'brood comb', 'white comb', 'burr comb'][1 + i // 10 % 4] AS comb,
        [830, 210, 600, 610][1 + i // 10 % 4] AS permille,
        [50, 640, 200, 210][1 + i // 10 % 4] AS slumgum,
        ['water bath', 'steam', 'solar'][1 + i % 3] AS method,
        2000 + 5 * luck AS comb_g
    FROM numbers),
melted AS (SELECT *, comb_g * permille // 5000 * 5 AS crude_g FROM weighed),
filled AS (
    SELECT *, CASE WHEN turn = 9 THEN lag(crude_g, 1) OVER (ORDER BY i) + lag(crude_g, 2) OVER (ORDER BY i) ELSE comb_g
        END AS loaded_g
    FROM melted),
first AS (
    SELECT * REPLACE (CASE WHEN turn = 9 THEN loaded_g * 97 // 500 * 5 ELSE crude_g END AS crude_g),
        CASE WHEN turn = 9 THEN 15 ELSE comb_g * slumgum // 5000 * 5 END AS slumgum_g,
        CASE WHEN turn IN (7, 8) THEN 1 WHEN turn IN (1, 3, 5) THEN 3 ELSE 2 END AS passes
    FROM filled),
refined AS (
    SELECT *, CASE WHEN passes > 1 THEN crude_g * 96 // 500 * 5 END AS second_g FROM first),
ended AS (
    SELECT *, CASE WHEN passes > 2 THEN second_g * 97 // 500 * 5 END AS third_g FROM refined)
SELECT *, coalesce(third_g, second_g, crude_g) AS wax_g, coalesce(third_g, second_g, crude_g) // 20 * 5 AS quarter_g
FROM ended ORDER BY i
"""

HARVESTS = """
SELECT 'h' || i AS harvest, day - 9 AS date, comb, comb_g AS mass_g, ['Nordby', 'Moss'][1 + i % 2] AS apiary,
    'hive ' || i % 40 AS hive, i AS n, 0 AS m
FROM base WHERE turn < 9 OR i % 20 = 19 ORDER BY i
"""

LOADS = """
SELECT 's' || i AS session, 'h' || i AS source, NULL AS part, comb_g AS mass_g, i AS n, 0 AS m FROM base WHERE turn < 9
UNION ALL
SELECT 's' || i + 9 - turn, 's' || i, 'wax', crude_g, i + 9 - turn, 0 FROM base
WHERE turn IN (7, 8) AND i + 9 - turn < {sessions} ORDER BY n, source
"""

PASSES = """
SELECT 's' || i AS session, 1 AS pass, day AS date, CASE WHEN turn = 9 THEN 'slow cooker' ELSE method END AS method,
    loaded_g AS mass_in_g, crude_g AS wax_out_g, slumgum_g AS residue_g, 70 + i % 14 AS peak_temp_c, i AS n, 0 AS m FROM base
UNION ALL
SELECT 's' || i, 2, day + 1, 'slow cooker', crude_g, second_g, 10, 70 + i % 14, i, 0 FROM base WHERE passes > 1
UNION ALL
SELECT 's' || i, 3, day + 2, 'slow cooker', second_g, third_g, 5, 70 + i % 14, i, 0 FROM base WHERE passes > 2
ORDER BY n, pass
"""

CAST = """
CREATE TABLE cast_blocks AS
SELECT 'b' || i || '-' || part AS block, day + passes - 1 AS date, 's' || i AS session, i, part,
    CASE WHEN part = parts THEN wax_g - quarter_g * (parts - 1) ELSE quarter_g END AS mass_g
FROM (SELECT *, CASE WHEN turn = 9 THEN 4 ELSE 3 END AS parts FROM base WHERE passes > 1), range(1, 5) AS cut(part)
WHERE part <= parts
"""

HALVED = "CREATE TABLE cut_base AS SELECT * REPLACE (comb_g * permille // 10000 * 10 AS wax_g) FROM base ORDER BY i"

BLOCKS = "SELECT block, date, mass_g, session, 'yellow' AS colour, i AS n, part AS m FROM cast_blocks ORDER BY n, m"

DRAWS = """
SELECT date + 20 AS date, block, mass_g, 'candles' AS use, 'p' || i AS batch, i AS n, part AS m
FROM cast_blocks WHERE part < 3
UNION ALL
SELECT date + 20, block, mass_g // 10 * 5, CASE WHEN i % 2 = 0 THEN 'sold' ELSE 'given' END, NULL, i, part
FROM cast_blocks WHERE part = 3 AND i % 2 = 0
ORDER BY n, m
"""

STOCKTAKES = """
SELECT date + 30 AS date, block AS item, mass_g - mass_g // 10 * 5 AS mass_g, i AS n, 0 AS m
FROM cast_blocks WHERE part = 3 AND i % 10 = 0 ORDER BY n
"""

POURS = """
CREATE TABLE pours AS
SELECT i, min(date) + 20 AS date, greatest(floor(sum(mass_g) * 0.97 / 95)::INTEGER, 1) AS count
FROM cast_blocks WHERE part < 3 GROUP BY i
"""

BATCHES = """
SELECT 'p' || i AS batch, date, 'skep' AS candle, count, 'poured' AS status, count AS good, 68 AS pour_temp_c, i AS n, 0 AS m
FROM pours ORDER BY i
"""

SALES = """
SELECT date + 9 AS date, 'skep' AS candle, count, 'p' || i AS batch, 9.5 AS price, i AS n, 0 AS m FROM pours ORDER BY i
"""

MIXED = {
    "harvests": """
        SELECT * EXCLUDE (i, part) REPLACE (mass_g // 10 * 5 AS mass_g, 'h' || i || part AS harvest,
            CASE WHEN part = 'b' AND i % 4 = 0 THEN 'burr comb' ELSE comb END AS comb),
            CASE WHEN i % 3 = 0 THEN 'said "dry", but heavy, lot ' || i END AS notes
        FROM (SELECT 'h' || i AS harvest, day - 9 AS date, comb, comb_g AS mass_g, ['Nordby', 'Moss'][1 + i % 2] AS apiary,
                  'hive ' || i % 40 AS hive, i, i AS n FROM cut_base), (VALUES ('a', 1), ('b', 2)) AS halves(part, m) ORDER BY n, m""",
    "loads": """
        SELECT 's' || i AS session, 'h' || i || part AS source, NULL AS part, comb_g // 10 * 5 AS mass_g,
            CASE WHEN i % 5 = 0 THEN 'first, "the old box"' END AS notes, i AS n, m
        FROM cut_base, (VALUES ('a', 1), ('b', 2)) AS halves(part, m) ORDER BY n, m""",
    "passes": """
        SELECT 's' || i AS session, 1 AS pass, day AS date, method, comb_g // 10 * 10 AS mass_in_g, wax_g // 10 * 10 AS wax_out_g,
            slumgum_g AS residue_g, 70 + i % 14 AS peak_temp_c, CASE WHEN i % 2 = 0 THEN 'felt, "double"' END AS filter, i AS n, 0 AS m
        FROM cut_base
        UNION ALL
        SELECT 's' || i, 2, day + 1, 'slow cooker', wax_g // 10 * 10, wax_g // 25 * 20, 10, 70 + i % 14, NULL, i, 0
        FROM cut_base ORDER BY n, pass""",
    "blocks": """
        SELECT 'b' || i || '-' || part AS block, day + 1 AS date, wax_g // 25 * 10 AS mass_g, 's' || i AS session,
            'yellow' AS colour, i AS n, part AS m
        FROM cut_base, range(1, 3) AS cut(part) ORDER BY n, m""",
    "draws": """
        SELECT day + 20 AS date, 'b' || i || '-' || part AS block, CASE WHEN part = 1 THEN wax_g // 25 * 5 END AS mass_g,
            CASE WHEN part = 1 AND passes > 1 THEN 'candles' ELSE 'given' END AS use,
            CASE WHEN part = 1 AND passes > 1 THEN 'p' || i END AS batch, i AS n, part AS m
        FROM cut_base, range(1, 3) AS cut(part) ORDER BY n, m""",
    "stocktakes": """
        SELECT day + 10 AS date, 'b' || i || '-1' AS item, wax_g // 25 * 10 AS mass_g, i AS n, 0 AS m
        FROM cut_base WHERE i % 10 = 0 ORDER BY n""",
}
"""A book of another shape: two loads of mixed comb a session, two passes, quoted notes, every block drawn from, nothing melted twice."""

LONG = {
    "harvests": (HARVESTS, "mass_g"),
    "loads": (LOADS, "mass_g"),
    "passes": (PASSES, "wax_out_g"),
    "blocks": (BLOCKS, "mass_g"),
    "draws": (DRAWS, "mass_g"),
    "stocktakes": (STOCKTAKES, "mass_g"),
    "batches": (BATCHES, "pour_temp_c"),
    "sales": (SALES, "price"),
}
SHORT = {
    "blends": "blend,wax_pct\npure,100\n",
    "candles": "candle,form,blend,fill_mass_g,wick\nskep,mould,pure,95,W2\n",
    "wicks": "wick,rank,from_diameter_mm,to_diameter_mm\nW2,2,30,48\n",
    "burns": "test,burn,date,candle,wick,time_h\nT1,1,2020-01-05,skep,W2,3\n",
    "book": 'name = "a big invented book"\n',
}


def _spoiled(query: str, column: str, share: float) -> str:
    """The query with one cell spoiled in every so many rows; helper columns that only sort are left out."""
    cell = column
    if share > 0:
        every = max(round(1 / share), 1)
        spoilt = f"CASE row_number() OVER () // {every} % 3 WHEN 0 THEN 'abc' WHEN 1 THEN '-5' ELSE '12..5' END"
        cell = f"CASE WHEN row_number() OVER () % {every} = 0 THEN {spoilt} ELSE {column}::VARCHAR END"
    return f"SELECT * EXCLUDE (n, m) REPLACE ({cell} AS {column}) FROM ({query})"


def make(folder: Path, sessions: int, bad: float = 0.0, shape: str = "plain") -> int:
    """Write the book, in the ``plain`` or the ``mixed`` shape; returns its number of rows."""
    logs = LONG if shape == "plain" else LONG | {name: (query, LONG[name][1]) for name, query in MIXED.items()}
    folder.mkdir(parents=True, exist_ok=True)
    rows = 0
    with duckdb.connect() as con:
        con.execute("SET preserve_insertion_order = true")
        for statement in (BASE, CAST, POURS, HALVED):
            con.execute(statement.format(sessions=sessions)).fetchall()
        for name, (query, column) in logs.items():
            select = _spoiled(query.format(sessions=sessions), column, bad)
            target = str(folder / f"{name}.csv").replace("'", "''")
            rows += con.execute(f"COPY ({select}) TO '{target}' (HEADER, DELIMITER ',')").fetchall()[0][0]
    for name, text in SHORT.items():
        ending = "toml" if name == "book" else "csv"
        (folder / f"{name}.{ending}").write_text(text, encoding="utf-8")
        rows += 0 if name == "book" else text.count("\n") - 1
    return rows


def main() -> None:
    """Read the command line and write the book."""
    parser = argparse.ArgumentParser(description="write a big invented book")
    parser.add_argument("--sessions", type=int, default=100_000)
    parser.add_argument("--bad", type=float, default=0.0, help="share of rows with a cell that cannot be read")
    parser.add_argument("--shape", choices=["plain", "mixed"], default="plain")
    parser.add_argument("out", type=Path)
    asked = parser.parse_args()
    rows = make(asked.out, asked.sessions, asked.bad, asked.shape)
    print(f"{asked.sessions} sessions, {rows} rows in {asked.out}")


if __name__ == "__main__":
    main()
