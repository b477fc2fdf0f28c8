"""From the bytes of a log to text that the database can take in: encoding, line ends, separator, header.

Most files need no more than a look. A file in another encoding, or with a carriage return in it, is written anew
as UTF-8 with plain line ends; physical lines stay the same.
"""

from __future__ import annotations

import codecs
import csv
import re
import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import IO, Final

from pipeline.contract.findings import MachineFault
from pipeline.contract.quantities import Refusal

HEAD: Final = 64 * 1024
"""How much of a file is looked at for its header, in characters."""

_CHUNK: Final = 4 * 1024 * 1024
_SEPARATORS: Final = (",", ";", "\t")
_SEP_LINE: Final = re.compile(r'\s*"?sep=(?P<mark>[,;\t])"?[,;\t]*\s*', re.IGNORECASE)
_BOMS: Final = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
_SEARCHED: Final = 30  # how many records are searched for a header that stands too low

KnownNames = Callable[[list[str]], int]
"""How many of a record's cells are column names of the log."""


@dataclass(frozen=True, slots=True)
class Text:
    """A log as text: where it is (UTF-8, LF), how its cells are parted, and what stands in its header.

    ``header_line`` is the header's last physical line, ``simple`` whether nothing but single lines stands before
    the data. ``header`` is empty where the file has no line with anything in it. ``original`` and ``encoding``
    belong to the file itself.
    """

    path: Path
    original: Path
    encoding: str
    separator: str
    header: tuple[str, ...]
    header_line: int
    simple: bool

    def opened(self) -> IO[str]:
        """The file itself as text with plain line ends; its physical lines are this text's lines."""
        return self.original.open(encoding=self.encoding, newline=None)


def look(path: Path, known: KnownNames, aside: Path | None) -> tuple[Text | None, list[Refusal]]:
    """The file as text, or None and why it cannot be; a refusal beside a text is a note.

    A rewritten copy is put into the folder ``aside``; without one the text is only described.
    Raises MachineFault where the machine forbids the reading.
    """
    if not path.is_file():
        reason = "a folder stands where a log's file is expected"
        return None, [Refusal("file-form", reason, "move the folder away, or give the log another name")]
    try:
        return _look(path, known, aside)
    except OSError as fault:
        raise MachineFault(f"{path.name} cannot be read: {fault.strerror}") from fault


def _look(path: Path, known: KnownNames, aside: Path | None) -> tuple[Text | None, list[Refusal]]:
    encoding, has_return = _encoding(path)
    if encoding is None:
        return None, [_not_text(path)]
    readable = path
    if aside and (has_return or not encoding.startswith("utf-8")):
        readable = aside / f"{path.stem}.utf8"
        with path.open(encoding=encoding, newline=None) as old, readable.open("w", encoding="utf-8") as new:
            shutil.copyfileobj(old, new, _CHUNK)
    with path.open(encoding=encoding, newline=None) as text:
        separator, records = _records(text.read(HEAD), known)
    notes = [_old_code_page()] if encoding == "cp1252" else []
    if not records:
        return Text(readable, path, encoding, separator, (), 0, False), notes
    line, before, header = header_among(records, known)
    if before:
        return None, [*notes, title_rows(before, header)]
    simple = line == records[0][0] and line - _sep_lines(path, encoding) == 1
    return Text(readable, path, encoding, separator, tuple(header), line, simple), notes


def encoding_of(path: Path) -> str | Refusal:
    """The encoding of a text file, or why it is none."""
    return _encoding(path)[0] or _not_text(path)


def _encoding(path: Path) -> tuple[str | None, bool]:
    """The encoding (None: no text), and whether a carriage return stands in the file."""
    with path.open("rb") as file:
        start = file.read(4)
    named = next((name for bom, name in _BOMS if start.startswith(bom)), None)
    if named and named != "utf-8-sig":
        return (named, True) if _decodes(path, named) else (None, False)
    ascii_only, returns = True, False
    for chunk in _chunks(path):
        if b"\0" in chunk:
            return None, False
        ascii_only = ascii_only and chunk.isascii()
        returns = returns or b"\r" in chunk
    if ascii_only or _decodes(path, "utf-8"):
        return named or "utf-8", returns
    return ("cp1252", returns) if not named and _decodes(path, "cp1252") else (None, returns)


def _chunks(path: Path) -> Iterator[bytes]:
    with path.open("rb") as file:
        while chunk := file.read(_CHUNK):
            yield chunk


def _decodes(path: Path, encoding: str) -> bool:
    """Whether all of a file is text in this encoding, without a null character."""
    decoder = codecs.getincrementaldecoder(encoding)()
    try:
        whole = all("\0" not in decoder.decode(chunk) for chunk in _chunks(path))
        return whole and "\0" not in decoder.decode(b"", final=True)
    except UnicodeError:
        return False


def _sep_lines(path: Path, encoding: str) -> int:
    with path.open(encoding=encoding) as text:
        return 1 if _SEP_LINE.fullmatch(text.readline(100)) else 0


def _records(head: str, known: KnownNames) -> tuple[str, list[tuple[int, list[str]]]]:
    """The separator whose first lines hold most column names, and the first records with their last lines."""
    lines = head.splitlines(keepends=True)
    told = _SEP_LINE.fullmatch(lines[0]) if lines else None
    best: tuple[tuple[int, int, bool], str, list[tuple[int, list[str]]]] | None = None
    for mark in _SEPARATORS:
        records = list(islice(_parsed(head, mark, skip=1 if told else 0), _SEARCHED))
        names = max((known(cells) for _, cells in records), default=0)
        score = (names, len(records[0][1]) if records else 0, bool(told and told["mark"] == mark))
        if best is None or score > best[0]:
            best = (score, mark, records)
    return ("," if best is None else best[1]), ([] if best is None else best[2])


def _parsed(head: str, mark: str, skip: int) -> Iterator[tuple[int, list[str]]]:
    """The records of a file's head that hold anything, each with its last physical line."""
    reader = csv.reader(head.split("\n")[skip:], delimiter=mark, skipinitialspace=True)
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells):
                yield reader.line_num + skip, [cell.strip() for cell in cells]
    except csv.Error:
        return


def header_among(records: list[tuple[int, list[str]]], known: KnownNames) -> tuple[int, int, list[str]]:
    """The header's line, how many lines stand above it that should not, and its cells."""
    counts = [known(cells) for _, cells in records]
    best = counts.index(max(counts))
    if best and counts[best] >= max(2, 2 * counts[0]):
        line, cells = records[best]
        return line, line - 1, cells
    return records[0][0], 0, records[0][1]


def _not_text(path: Path) -> Refusal:
    reason = f"{path.name} is not text: it holds bytes that no letter stands for"
    return Refusal("file-encoding", reason, "save it again from the spreadsheet as CSV UTF-8")


def _old_code_page() -> Refusal:
    reason = "the file is not UTF-8; it was read as Windows Western European (cp1252)"
    return Refusal("file-encoding-old", reason, "look whether accents came through, or save it as CSV UTF-8")


def title_rows(before: int, header: list[str]) -> Refusal:
    """Why a file with ``before`` lines above its column names is not read."""
    names = ", ".join(cell for cell in header if cell)[:80]
    above = "line 1 holds" if before == 1 else f"lines 1 to {before} hold"
    reason = f"the column names ({names}) stand on line {before + 1}; {above} something else"
    return Refusal("header-not-first", reason, "delete what stands above the column names")
