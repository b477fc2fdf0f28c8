"""Where the files that come with the program are: the demo book and the published figures."""

from __future__ import annotations

import csv
from pathlib import Path

_PACKAGE = Path(__file__).parent.parent


def path(*parts: str) -> Path:
    """A shipped file or folder: inside the installed package, or in the checkout beside it."""
    installed = _PACKAGE / "data"
    root = installed if installed.is_dir() else _PACKAGE.parent / "data"
    return root.joinpath(*parts)


def reference(name: str) -> list[dict[str, str]]:
    """The rows of one table of published figures in ``data/reference/``, each with its source, as text."""
    with path("reference", f"{name}.csv").open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


def reference_names() -> list[str]:
    """The names of the tables of published figures."""
    return sorted(file.stem for file in path("reference").glob("*.csv"))
