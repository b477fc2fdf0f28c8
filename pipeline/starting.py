"""A new book: its settings and every log with its header, or a copy of the demo."""

from __future__ import annotations

import json
from pathlib import Path

from pipeline import shipped
from pipeline.book import TOML
from pipeline.columns import Log
from pipeline.logs import LOGS

_SETTINGS = """\
name = {name}
season_starts = "01-01"      # month-day on which a season begins
currency = "EUR"
dates = "iso"                # or "day-first", "month-first", where the logs have them so

[show]                       # units for people
mass = "kg"                  # g, kg, oz or lb
length = "mm"                # mm or in
temperature = "C"            # C or F

[scale]
step_g = 5                   # the smallest step that your scale shows
relative = 0.001             # and how far it may be off, as a share of the reading
"""


def taken(folder: Path) -> str | None:
    """The first file of a book that the folder holds already; None where a book can be started there."""
    return next((name for name in (TOML, *(log.file for log in LOGS.values())) if (folder / name).exists()), None)


def book(folder: Path, name: str) -> list[str]:
    """Start an empty book in a folder that is not ``taken``, and give the files made."""
    texts = {TOML: _SETTINGS.format(name=json.dumps(name, ensure_ascii=False))}
    return _write(folder, texts | {log.file: header(log) + "\n" for log in LOGS.values()})


def demo(folder: Path) -> list[str]:
    """Copy the demo book into a folder that is not ``taken``, and give the files made."""
    kept = [f for f in sorted(shipped.path("demo").iterdir()) if f.suffix in (".csv", ".toml", ".md")]
    return _write(folder, {f.name: f.read_text("utf-8") for f in kept})


def header(log: Log) -> str:
    """A log's header line: every column, measured ones with the unit that the program works in."""
    return ",".join(c.field for c in log.columns)


def _write(folder: Path, texts: dict[str, str]) -> list[str]:
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in texts.items():
        (folder / name).write_text(text, "utf-8", newline="")
    return list(texts)
