"""From the bytes of a log to text: encoding, line ends, separator, header."""

from __future__ import annotations

import codecs
import io
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import IO, Final

from pipeline.contract.findings import MachineFault
from pipeline.contract.quantities import Refusal
from pipeline.reading.header_line import KnownNames, header_among, title_rows
from pipeline.reading.record_reader import SEPARATOR_LINE, Layout, Record, records

MOST_COLUMNS: Final = 500
"""More columns than that are no log: the widest has 17."""

HEAD: Final = 64 * 1024
"""How much of a file is looked at for its header, in characters."""

_CHUNK: Final = 4 * 1024 * 1024
_SEPARATORS: Final = (",", ";", "\t")
_BOMS: Final = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
_SEARCHED: Final = 30  # how many records are searched for a header that stands too low
_SURELY: Final = 3  # so many cells, all of them names of columns, are a header (a judgement)


@dataclass(frozen=True, slots=True)
class Text:
    """A log as text: its file and encoding, how its cells are parted, and what stands in its header.

    ``header_line`` is the header's last physical line. ``is_plain``: UTF-8, and every line ended by LF.
    ``header`` is empty where the file has no line with anything in it.
    """

    path: Path
    encoding: str
    separator: str
    header: tuple[str, ...]
    header_line: int
    is_plain: bool

    def opened(self) -> IO[str]:
        """The file as text; its lines keep their ends."""
        return self.path.open(encoding=self.encoding, newline="")


def look(path: Path, known: KnownNames) -> tuple[Text | None, list[Refusal]]:
    """The file as text, or None and why it cannot be; a refusal beside a text is a note.

    Raises MachineFault where the machine forbids the reading.
    """
    try:
        wrong = no_file(path)
        return (None, [wrong]) if wrong else _look(path, known)
    except OSError as fault:
        raise MachineFault(f"{path.name} cannot be read: {fault.strerror}") from fault


def no_file(path: Path) -> Refusal | None:
    """Why what stands in a log's place is no file to read; None where it is one."""
    if path.is_file():
        return None
    if path.is_dir():
        reason, fix = (
            "a folder stands where a log's file is expected",
            "move the folder away, or give the log another name",
        )
    elif path.is_symlink() and not path.exists():
        reason, fix = "the link leads nowhere, or round in a circle", "put the file itself in its place"
    else:
        reason, fix = "what stands there is no file (a pipe or a device)", "put the log's file in its place"
    return Refusal("file-form", reason, fix)


def _look(path: Path, known: KnownNames) -> tuple[Text | None, list[Refusal]]:
    encoding, is_plain = _encoding(path)
    if encoding is None:
        return None, [_not_text(path)]
    with path.open(encoding=encoding, newline="") as text:
        separator, found = _records(text.read(HEAD), known)
    notes = [_old_code_page()] if encoding == "cp1252" else []
    if not found:
        return Text(path, encoding, separator, (), 0, is_plain), notes
    line, before, header = header_among(found, known)
    if before:
        return None, [*notes, title_rows(before, header)]
    if len(header) > MOST_COLUMNS:
        return None, [*notes, _too_many_columns(len(header))]
    return Text(path, encoding, separator, tuple(header), line, is_plain), notes


def encoding_of(path: Path) -> str | Refusal:
    """The encoding of a text file, or why it is none."""
    return _encoding(path)[0] or _not_text(path)


def _encoding(path: Path) -> tuple[str | None, bool]:
    """The encoding (None: no text), and whether it is UTF-8 without a carriage return."""
    with path.open("rb") as file:
        start = file.read(4)
    named = next((name for bom, name in _BOMS if start.startswith(bom)), None)
    if named and named != "utf-8-sig":
        return (named if _decodes(path, named) else None), False
    ascii_only, is_plain = True, True
    for chunk in _chunks(path):
        if b"\0" in chunk:
            return None, False
        ascii_only = ascii_only and chunk.isascii()
        is_plain = is_plain and b"\r" not in chunk
    if ascii_only or _decodes(path, "utf-8"):
        return named or "utf-8", is_plain
    return ("cp1252" if not named and _decodes(path, "cp1252") else None), False


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


def _records(head: str, known: KnownNames) -> tuple[str, list[tuple[int, list[str]]]]:
    """The separator whose first lines hold most column names, and the first records with their last lines."""
    told = SEPARATOR_LINE.fullmatch(head.partition("\n")[0].partition("\r")[0])
    best: tuple[tuple[int, int, bool], str, list[tuple[int, list[str]]]] | None = None
    for mark in (mark for mark in _SEPARATORS if mark in head or mark == _SEPARATORS[0]):
        parsed = records(io.StringIO(head, newline=""), Layout(mark))
        found = _searched(islice(parsed, 1 if told else 0, _SEARCHED), known)
        names = max((known(cells) for _, cells in found), default=0)
        score = (names, len(found[0][1]) if found else 0, bool(told and told["mark"] == mark))
        if best is None or score > best[0]:
            best = (score, mark, found)
    return ("," if best is None else best[1]), ([] if best is None else best[2])


def _searched(parsed: Iterator[Record], known: KnownNames) -> list[tuple[int, list[str]]]:
    """The records that the header may be among, with their last lines: the first alone where all its cells are names."""
    found: list[tuple[int, list[str]]] = []
    for r in parsed:
        found.append((r.line + r.lines - 1, list(r.cells)))
        if len(found) == 1 and known(found[0][1]) == len(r.cells) >= _SURELY:
            break
    return found


def _not_text(path: Path) -> Refusal:
    reason = f"{path.name} is not text: it holds bytes that no letter stands for"
    return Refusal("file-encoding", reason, "save it again from the spreadsheet as CSV UTF-8")


def _old_code_page() -> Refusal:
    reason = "the file is not UTF-8; it was read as Windows Western European (cp1252)"
    return Refusal("file-encoding-old", reason, "look whether accents came through, or save it as CSV UTF-8")


def _too_many_columns(found: int) -> Refusal:
    reason = f"the header has {found:,} columns, and {MOST_COLUMNS} were expected at most"
    return Refusal("file-form", reason, "look whether this is the log; delete the columns that are not of it")
