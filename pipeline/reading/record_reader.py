"""The records of a CSV text: the one reader for all who read a log, look a row up, change a cell or add a row.

A record is one physical line (ended by LF, CR or both, and by nothing else), but for a line break inside quotes. Cells
are parted by the separator. A quote is one only where a cell begins with it (spaces before it do not count); it ends at
the next quote that is not doubled, and only spaces may stand behind that. Elsewhere a quote is a letter (9" frames).

A quote that cannot be meant spoils no line but its own: one never closed, one with letters behind it, a line break in a
column that takes none, a line inside that could be a row. Such a record is its first line alone and says what is wrong.
"""

from __future__ import annotations

import re
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import Final, NamedTuple

from pipeline.contract.quantities import Refusal

LONGEST: Final = 10_000
"""Most characters of one cell: a page of notes is under 5,000."""

WIDEST: Final = 300_000
"""Most characters of one record's line: with four bytes each still under the database's limit."""

SEPARATOR_LINE: Final = re.compile(r'\s*"?sep=(?P<mark>[,;\t])"?[,;\t]*\s*', re.IGNORECASE)
"""Some spreadsheets name the separator on line 1."""

_MOST_LINES: Final = 200  # in one cell: a page has some 60
_MAY_BE_QUOTED: Final = (" ", '"')
_QUOTED: Final = re.compile(r' *"(?P<inside>[^"]*(?:""[^"]*)*)(?P<close>"?)')
_FIX: Final = (
    'close the quote, write out what a ditto mark stands for, and write a quote inside a quoted cell twice ("")'
)


@dataclass(frozen=True, slots=True)
class Layout:
    """How a log's records are laid out: the separator, the cells of its header, and the cells that take line breaks.

    ``width`` 0: not known, as before the header is read; ``with_breaks`` None: every cell takes them.
    """

    separator: str
    width: int = 0
    with_breaks: frozenset[int] | None = None


class Record(NamedTuple):
    """One record: its first physical line (1 = first), where its text begins, that text without its line end, its cells.

    Cells are without their quotes and without spaces around them. ``after`` is where the next line begins, ``lines``
    how many physical lines it takes; ``fault`` says which quote cannot be meant.
    """

    line: int
    start: int
    text: str
    cells: tuple[str, ...]
    after: int
    lines: int = 1
    fault: Refusal | None = None

    @property
    def stop(self) -> int:
        """Where its text ends."""
        return self.start + len(self.text)

    def spans(self, separator: str) -> list[tuple[int, int]]:
        """Where in the file's text each cell begins and ends, quotes and spaces included."""
        return [(self.start + c.start, self.start + c.stop) for c in _cells(self.text, separator)]


class _Cell(NamedTuple):
    """A cell in a record's text: where it stands, what it says, and whether its quote is open or has letters behind it."""

    start: int
    stop: int
    value: str
    is_open: bool = False
    trailing: bool = False


class Lines:
    """Physical lines with their ends, of which some may be given back."""

    def __init__(self, lines: Iterable[str]) -> None:
        """Nothing is taken yet."""
        self._lines, self._back = iter(lines), deque[str]()

    def take(self) -> str | None:
        """The next line; None at the end."""
        return self._back.popleft() if self._back else next(self._lines, None)

    def skip(self, many: int) -> None:
        """Pass over so many lines, or all that are left."""
        back = min(many, len(self._back))
        for _ in range(back):
            self._back.popleft()
        deque(islice(self._lines, many - back), maxlen=0)

    def give_back(self, lines: list[str]) -> None:
        """Put lines back, to be taken again in this order."""
        self._back.extendleft(reversed(lines))


def records(lines: Iterable[str] | Lines, layout: Layout, line: int = 1, start: int = 0) -> Iterator[Record]:
    """The records that hold anything, of physical lines with their ends; ``line`` and ``start`` are those of the first."""
    ahead = lines if isinstance(lines, Lines) else Lines(lines)
    while (first := ahead.take()) is not None:
        record = record_from(first, ahead, layout, line, start)
        if any(record.cells) or record.fault:
            yield record
        line += record.lines
        start = record.after


def record_from(first: str, ahead: Lines, layout: Layout, line: int, start: int) -> Record:
    """The record that begins with the line ``first``; more lines are taken where a quote goes over them."""
    text, after = first.rstrip("\r\n"), start + len(first)
    if len(text) > WIDEST:
        return Record(line, start, text, (text[:100],), after, 1, _too_wide(len(text)))
    if '"' not in text:
        return Record(line, start, text, tuple([cell.strip(" ") for cell in text.split(layout.separator)]), after)
    taken, cells, fault = _with_quotes(first, ahead, layout, line)
    text = "".join(taken)
    values = tuple(cell.value for cell in cells)
    return Record(line, start, text.rstrip("\r\n"), values, start + len(text), len(taken), fault)


def file_records(lines: Iterable[str], separator: str, laid_out: Callable[[Sequence[str]], Layout]) -> Iterator[Record]:
    """The header's record, then those under it, laid out as the header says; a line that names the separator is no record."""
    ahead = Lines(lines)
    above = records(ahead, Layout(separator))
    header = next(above, None)
    if header and SEPARATOR_LINE.fullmatch(header.text):
        header = next(above, None)
    if header:
        yield header
        yield from records(ahead, laid_out(header.cells), header.line + header.lines, header.after)


def breaks(text: str) -> int:
    """How many line ends there are, of whatever kind."""
    return text.count("\n") + text.count("\r") - text.count("\r\n")


def _with_quotes(first: str, ahead: Lines, layout: Layout, line: int) -> tuple[list[str], list[_Cell], Refusal | None]:
    """The lines of a record that begins with a line with quotes, its cells, and the quote that cannot be meant."""
    taken, alone = [first], _cells(first.rstrip("\r\n"), layout.separator)
    cells, fault = alone, None
    while cells[-1].is_open and fault is None:
        following = ahead.take()
        if following is not None:
            taken.append(following)
            cells = (
                _cells("".join(taken).rstrip("\r\n"), layout.separator)
                if '"' in following
                else _longer(cells, following)
            )
        fault = _never_closed(line) if following is None else _no_line_break(cells, taken, layout, line)
    fault = fault or _letters_behind(cells, len(taken), line)
    if fault is None:
        return taken, cells, None
    ahead.give_back(taken[1:])
    return [first], alone, fault


def _longer(cells: list[_Cell], following: str) -> list[_Cell]:
    """The cells, the last of which has its quote open, with one more line that holds no quote."""
    last = cells[-1]
    return [*cells[:-1], _Cell(last.start, last.stop + len(following), last.value + following, is_open=True)]


def _cells(text: str, separator: str) -> list[_Cell]:
    """The cells of one record's text; where there is no separator, one."""
    cells, at = list[_Cell](), 0
    while True:
        quoted = _QUOTED.match(text, at) if text[at : at + 1] in _MAY_BE_QUOTED else None
        end = text.find(separator, quoted.end() if quoted else at)
        stop = end if end >= 0 else len(text)
        if quoted is None:
            cells.append(_Cell(at, stop, text[at:stop].strip(" ")))
        elif not quoted["close"]:
            cells.append(_Cell(at, len(text), quoted["inside"].replace('""', '"'), is_open=True))
            return cells
        else:
            trailing = bool(text[quoted.end() : stop].strip(" "))
            value = text[at:stop] if trailing else quoted["inside"].replace('""', '"')
            cells.append(_Cell(at, stop, value.strip(" "), trailing=trailing))
        if end < 0:
            return cells
        at = end + 1


def _no_line_break(cells: list[_Cell], taken: list[str], layout: Layout, line: int) -> Refusal | None:
    """Why the quotes of these lines cannot be meant to go over several of them; None where they can."""
    broken = next(n for n, cell in enumerate(cells) if cell.is_open or "\n" in cell.value or "\r" in cell.value)
    if layout.with_breaks is not None and broken not in layout.with_breaks:
        reason = (
            f"a quote is opened here and not closed on line {line}, and a line break stands in columns of text alone"
        )
        return Refusal("quotes", reason, _FIX)
    if layout.width > 1 and any(text.count(layout.separator) >= layout.width - 1 for text in taken[1:]):
        last = line + len(taken) - 1
        reason = (
            f"a quote is opened here and not closed on line {line}, and what follows to line {last} looks like rows"
        )
        return Refusal("quotes", reason, _FIX)
    if len(taken) > _MOST_LINES or max(len(cell.value) for cell in cells) > LONGEST:
        return Refusal("quotes", f"a quote is opened here and runs on for more than {LONGEST} characters", _FIX)
    return None


def _letters_behind(cells: list[_Cell], lines: int, line: int) -> Refusal | None:
    wrong = next((cell.value for cell in cells if cell.trailing), None)
    if wrong is None:
        return None
    if lines > 1:
        return Refusal("quotes", f"a quote is opened here and not closed on line {line}", _FIX)
    return Refusal("quotes", f"something stands behind a closing quote in the same cell: {wrong[:40]}", _FIX)


def _too_wide(found: int) -> Refusal:
    reason = f"the line is {found:,} characters long, {WIDEST:,} were expected at most"
    return Refusal("cell-length", reason, "look whether lines have run together, or something else was pasted in")


def _never_closed(line: int) -> Refusal:
    return Refusal("quotes", f"a quote is opened here, on line {line}, and never closed", _FIX)
