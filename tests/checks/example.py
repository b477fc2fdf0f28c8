"""The slip that an example names, made in the good book.

``LOG: OLD -> NEW`` puts one text for another, once; ``LOG + ROW`` adds a row; ``FILE = TEXT`` writes a whole file, ``\\n``
being a line end. Several are joined by ``&&``.
"""

from __future__ import annotations

import re
import shutil
from pathlib import Path

GOOD = Path(__file__).parent / "good_book"
_REPLACED = re.compile(r"(\w+): (.+?) -> (.*)")
_ADDED = re.compile(r"(\w+) \+ (.+)")
_WRITTEN = re.compile(r"([\w.]+) = (.*)")


def broken_book(folder: Path, example: str) -> Path:
    """The good book in a folder of its own, with the slip in it."""
    book = Path(shutil.copytree(GOOD, folder / "book"))
    for slip in example.split("&&"):
        _slipped(book, slip.strip())
    return book


def _slipped(book: Path, slip: str) -> None:
    if found := _REPLACED.fullmatch(slip):
        file = book / f"{found[1]}.csv"
        text = file.read_text("utf-8")
        assert found[2] in text, f"{file.name} does not hold {found[2]}"
        file.write_text(text.replace(found[2], found[3], 1), "utf-8")
    elif found := _ADDED.fullmatch(slip):
        with (book / f"{found[1]}.csv").open("a", encoding="utf-8") as file:
            file.write(f"{found[2]}\n")
    else:
        found = _WRITTEN.fullmatch(slip)
        assert found, f"{slip} is no slip"
        name = found[1] if "." in found[1] else f"{found[1]}.csv"
        (book / name).write_text(found[2].replace("\\n", "\n") + "\n", "utf-8")
