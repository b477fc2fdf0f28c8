"""The shelf of another day, worked out beside that of today: for whoever asks what was there, or will be."""

from __future__ import annotations

from datetime import date

from pipeline.database.connection import Warehouse
from pipeline.database.model_order import in_order
from pipeline.database.shipped_queries import queries
from pipeline.database.tables_a_query_reads import tables_of


def show(warehouse: Warehouse, on: date) -> None:
    """Work out anew, for this connection alone, whatever depends on the day that the shelf is shown for."""
    warehouse.execute("CREATE TEMP TABLE settings AS SELECT * REPLACE (?::DATE AS on_date) FROM settings", [on])
    anew = {"settings"}
    for model in in_order(queries("models")):
        # a table of this connection stands before the kept one of the same name; steps are not kept
        if not model.is_in_file or tables_of(model.sql) & anew:
            warehouse.execute(f'CREATE TEMP TABLE "{model.name}" AS {model.sql}')
            anew.add(model.name)
