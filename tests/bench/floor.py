"""The floor that a build is measured against: DuckDB reads the typed logs and computes the figures; nothing is checked.

``python -m tests.bench.floor BOOK DATABASE``. Only for books that ``make_book`` wrote: their columns are known.
"""

from __future__ import annotations

import sys
from pathlib import Path

import duckdb

TYPES = {
    "harvests": "harvest VARCHAR, date DATE, comb VARCHAR, mass_g DECIMAL(18,6), apiary VARCHAR, hive VARCHAR",
    "loads": "session VARCHAR, source VARCHAR, part VARCHAR, mass_g DECIMAL(18,6)",
    "passes": "session VARCHAR, pass INTEGER, date DATE, method VARCHAR, mass_in_g DECIMAL(18,6),"
    " wax_out_g DECIMAL(18,6), residue_g DECIMAL(18,6), peak_temp_c DOUBLE",
    "blocks": "block VARCHAR, date DATE, mass_g DECIMAL(18,6), session VARCHAR, colour VARCHAR",
    "draws": 'date DATE, block VARCHAR, mass_g DECIMAL(18,6), "use" VARCHAR, batch VARCHAR',
    "stocktakes": "date DATE, item VARCHAR, mass_g DECIMAL(18,6)",
    "batches": "batch VARCHAR, date DATE, candle VARCHAR, count INTEGER, status VARCHAR, good INTEGER, pour_temp_c DOUBLE",
    "sales": "date DATE, candle VARCHAR, count INTEGER, batch VARCHAR, price DECIMAL(18,6)",
}

FIGURES = {
    "yields": """
        SELECT year(p.date) AS season, p.method, sum(b.wax_g) AS wax_g, sum(l.loaded_g) AS loaded_g,
            sum(b.wax_g) / sum(l.loaded_g) AS yield
        FROM (SELECT session, sum(mass_g) AS loaded_g FROM loads GROUP BY session) l
        JOIN passes p ON p.session = l.session AND p.pass = 1
        LEFT JOIN (SELECT session, sum(mass_g) AS wax_g FROM blocks GROUP BY session) b ON b.session = l.session
        GROUP BY ALL""",
    "losses": """
        SELECT year(date) AS season, pass, method, sum(mass_in_g) AS in_g, sum(wax_out_g) AS wax_g,
            sum(residue_g) AS residue_g, 1 - sum(wax_out_g) / sum(mass_in_g) AS loss
        FROM passes GROUP BY ALL""",
    "stock": """
        SELECT b.block, b.mass_g - coalesce(d.drawn_g, 0) AS mass_g
        FROM blocks b LEFT JOIN (SELECT block, sum(mass_g) AS drawn_g FROM draws GROUP BY block) d USING (block)""",
}


def run(book: Path, database: Path) -> None:
    """Read the logs into the database file and compute the three tables."""
    with duckdb.connect(str(database)) as con:
        for name, types in TYPES.items():
            with (book / f"{name}.csv").open(encoding="utf-8") as log:
                more = [column for column in log.readline().strip().split(",") if column not in types.replace('"', "").split()]
            con.execute(f"CREATE TABLE {name} ({', '.join([types, *(f'{column} VARCHAR' for column in more)])})").fetchall()
            file = str(book / f"{name}.csv").replace("'", "''")
            con.execute(f"COPY {name} FROM '{file}' (HEADER, DELIMITER ',', AUTO_DETECT false)").fetchall()
        for name, select in FIGURES.items():
            con.execute(f"CREATE TABLE {name} AS {select}").fetchall()


if __name__ == "__main__":
    run(Path(sys.argv[1]), Path(sys.argv[2]))
