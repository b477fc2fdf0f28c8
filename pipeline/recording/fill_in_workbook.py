"""A workbook to fill in: a sheet for each log, drop-downs, a locked header; and its rows taken in, each once."""

from __future__ import annotations

import hashlib
import json
import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pipeline.book.book_settings import WORKSHOP, Book
from pipeline.book.book_toml import read_book
from pipeline.book.regular_files import bytes_of
from pipeline.contract.columns import SUFFIXES, CellKind, Log
from pipeline.contract.findings import MachineFault
from pipeline.contract.log_columns import LOGS
from pipeline.contract.quantities import Refusal
from pipeline.reading.headers import named as named_column
from pipeline.reading.reading_rule_sentences import unvalued_told
from pipeline.reading.spreadsheets import Sheet, all_sheets, as_typed
from pipeline.recording import journal, record_and_undo, workbook_instructions
from pipeline.recording.journal_record import guarded
from pipeline.recording.log_layout import header_name, words
from pipeline.wording.visible_text import visible

if TYPE_CHECKING:
    from openpyxl.worksheet.worksheet import Worksheet

_STAMP = "about"
_TAKEN = f"{WORKSHOP}/taken"
_LONGEST_LIST = 255  # characters that a spreadsheet holds of a list written into a rule
_ROWS = 400  # rows made ready in each sheet: several seasons of a keeper
_MARK = re.compile(r"[0-9a-f]{32}")
_NOT_IN_LIST = re.compile('[\x00-\x1f",]')


@dataclass(frozen=True, slots=True)
class _Row:
    """A filled row: its log, the sheet's row number, its cells and the mark it is known again by."""

    log: str
    number: int
    cells: dict[str, str]
    mark: str


def make(folder: Path, out: Path, today: date) -> list[Path]:
    """Write the blank workbook; the file. Raises MachineFault where it cannot, or the extra is missing."""
    _installed()
    import openpyxl

    book = read_book(folder)[0]
    filled = openpyxl.Workbook()
    filled.remove(filled.worksheets[0])
    workbook_instructions.fill(filled.create_sheet(workbook_instructions.NAME), book)
    for log in LOGS.values():
        _sheet(filled.create_sheet(log.name), log, book)
    about = filled.create_sheet(_STAMP)
    about.append([f"{today.isoformat()} {visible(book.name)}"])  # a text that begins so is no formula
    about.sheet_state = "hidden"
    path = out / f"{folder.resolve().name}-fill-in.xlsx"
    try:
        out.mkdir(parents=True, exist_ok=True)
        filled.save(path)
    except OSError as fault:
        raise MachineFault(f"{path} could not be written: {fault.strerror}") from fault
    return [path]


def _sheet(sheet: Worksheet, log: Log, book: Book) -> None:
    """Header locked and kept in view, cells below open, words to choose from, numbers and dates watched."""
    from openpyxl.styles import Font, Protection
    from openpyxl.utils import get_column_letter
    from openpyxl.worksheet.datavalidation import DataValidation

    for n, column in enumerate(log.columns, 1):
        letter = get_column_letter(n)
        head = sheet.cell(1, n, header_name(book, column))
        head.font = Font(bold=column.required)
        sheet.column_dimensions[letter].width = max(12, len(str(head.value)) + 2)
        rule = _rule(column.kind, words(book, column), f"{letter}2")
        if rule:
            watched = DataValidation(**rule, allow_blank=True, promptTitle=column.name, prompt=column.about[:250])
            watched.showInputMessage = watched.showErrorMessage = True
            watched.add(f"{letter}2:{letter}{_ROWS}")
            sheet.add_data_validation(watched)
        first = sheet.cell(2, n)
        first.protection = Protection(locked=False)
        first.number_format = _format(column.kind, book)
        for row in range(3, _ROWS + 1):
            # one style for all: to look it up for each cell takes half a second
            sheet.cell(row, n)._style = first._style  # type: ignore[union-attr]
    sheet.freeze_panes = "A2"
    sheet.protection.sheet = True


def _rule(kind: CellKind, choices: tuple[str, ...], cell: str) -> dict[str, Any] | None:
    """What the cells of a column may hold, ``cell`` being the first: all that is read, so words for a number too.

    A word that is not in a list is asked about and may be kept, as several are joined by plus signs.
    """
    if kind is CellKind.YES_NO:
        choices = ("yes", "no")
    listed = ",".join(choices)
    if choices:
        fits = len(listed) <= _LONGEST_LIST and not any(_NOT_IN_LIST.search(choice) for choice in choices)
        return {"type": "list", "formula1": f'"{listed}"', "errorStyle": "warning"} if fits else None
    if kind is CellKind.DATE:
        return {"type": "custom", "formula1": f"OR(ISTEXT({cell}),{cell}>36526)"}  # 2000-01-01
    if kind in SUFFIXES or kind in (CellKind.COUNT, CellKind.PERCENT):
        low = "-50" if kind is CellKind.TEMPERATURE else "0"
        return {"type": "custom", "formula1": f"OR(ISTEXT({cell}),{cell}>={low})"}
    return None


def _format(kind: CellKind, book: Book) -> str:
    """How a spreadsheet treats the cells of a column: names and words as text, so that none becomes a date."""
    if kind in (CellKind.ID, CellKind.TEXT):
        return "@"
    return workbook_instructions.DATE_FORMATS[book.dates] if kind is CellKind.DATE else "General"


def take_in(folder: Path, path: Path, today: date, yes: bool = False) -> record_and_undo.Outcome | str:
    """Record a filled workbook's rows; those taken in before are left out and named. A sentence where it is none.

    Two equal rows in one workbook are two weighings: the second is known by being the second.
    """
    rows = _filled(path)
    if isinstance(rows, str):
        return rows
    before = _taken_before(folder)
    known = _marks(before)
    new = [row for row in rows if row.mark not in known]
    again = tuple(f"{r.log} row {r.number} was taken in before and is left out" for r in rows if r.mark in known)
    if not new:
        return record_and_undo.Outcome(said=again or ("the workbook has no filled rows",))
    grouped: dict[str, list[dict[str, str]]] = {}
    for row in new:
        grouped.setdefault(row.log, []).append(row.cells)
    marks = json.dumps(sorted(known | {row.mark for row in new})).encode()
    outcome = record_and_undo.record(
        folder, grouped, f"rows of {path.name}", today, (journal.Write(_TAKEN, before, marks),), yes=yes
    )
    return replace(outcome, said=(*again, *outcome.said))


def _taken_before(folder: Path) -> bytes | None:
    """The file of the marks of rows taken in; None where there is none. Raises MachineFault."""
    try:
        return bytes_of(guarded(folder, "taken"))
    except FileNotFoundError:
        return None
    except OSError as fault:
        raise MachineFault(f"{folder / _TAKEN} cannot be read: {fault.strerror}") from fault


def _marks(before: bytes | None) -> set[str]:
    """The marks of rows taken in. Raises MachineFault where the file holds something else, lest rows come in twice."""
    try:
        marks = json.loads(before) if before else []
        return {mark for mark in marks if _MARK.fullmatch(mark)}
    except (ValueError, TypeError, RecursionError) as fault:
        told = f"{_TAKEN}, which says what was taken in, is damaged; put it away, then look for rows twice"
        raise MachineFault(told) from fault


def _filled(path: Path) -> list[_Row] | str:
    sheets = all_sheets(path)
    if isinstance(sheets, Refusal):
        return sheets.sentence()
    about = sheets.pop(_STAMP, Sheet([])).rows
    sheets.pop(workbook_instructions.NAME, None)
    unknown = [name for name in sheets if name not in LOGS]
    if unknown:
        return f"{path.name} has a sheet {unknown[0]}, which is no log; sheets are named {', '.join(LOGS)}"
    stamp = str(about[0][0]) if about and about[0] else ""
    rows = [row for name, sheet in sheets.items() for row in _rows(name, sheet, stamp)]
    return next((row for row in rows if isinstance(row, str)), None) or [r for r in rows if isinstance(r, _Row)]


def _rows(log: str, sheet: Sheet, stamp: str) -> Iterator[_Row | str]:
    """The filled rows of a sheet, and a sentence for each cell that is no longer what was typed into it."""
    yield from (f"{log} row {p.row}, column {p.column}: {unvalued_told().sentence()}" for p in sheet.unvalued)
    header = [str(cell).strip() for cell in sheet.rows[0]] if sheet.rows else []
    seen: Counter[str] = Counter()
    for number, row in enumerate(sheet.rows[1:], 2):
        named = [(name, value) for name, value in zip(header, row, strict=False) if name]
        yield from (told for name, value in named if (told := _turned_into_a_date(log, number, name, value)))
        cells = {name: text for name, value in named if (text := _text(value))}
        if cells:
            told = json.dumps([stamp, log, cells], sort_keys=True)
            seen[told] += 1
            yield _Row(log, number, cells, hashlib.sha256(f"{told} {seen[told]}".encode()).hexdigest()[:32])


def _turned_into_a_date(log: str, number: int, name: str, value: Any) -> str:
    """What happened to a name or a number that looked like a date; empty where nothing did."""
    meant = named_column(LOGS[log], name)
    if not isinstance(value, date) or meant is None or meant[0].kind is CellKind.DATE:
        return ""
    return (
        f"{log} row {number}, {name}: the spreadsheet made the date {_text(value)} of what was typed there; "
        "format the cell as text and type it again. Nothing was taken in"
    )


def _text(value: Any) -> str:
    """A cell's value as a person would have typed it."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        return value.date().isoformat()
    if isinstance(value, float):
        return f"{value:.6f}".rstrip("0").rstrip(".")
    return "" if value is None else as_typed(value).strip()


def _installed() -> None:
    try:
        import openpyxl  # noqa: F401
    except ModuleNotFoundError as missing:
        raise MachineFault(
            "workbooks need openpyxl, which is not installed; add the xlsx extra in combtally's folder: "
            "pip install -e '.[xlsx]'"
        ) from missing
