"""One row changed in place, or taken out: the named cells, the one row, and no other byte."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date
from fractions import Fraction
from pathlib import Path

from pipeline.book.book_toml import read_book
from pipeline.contract.columns import CellKind, Log
from pipeline.contract.log_columns import LOGS
from pipeline.contract.quantities import Marks, Refusal
from pipeline.reading.record_reader import Record, breaks
from pipeline.recording import journal, written_cells
from pipeline.recording.log_bytes import LogFile, UnfitForWriting
from pipeline.recording.log_layout import Shape, header_name, shape_of, with_text
from pipeline.recording.new_findings import Edit, new_findings
from pipeline.recording.noted_arithmetic import with_sums_noted
from pipeline.recording.record_and_undo import Changed, Outcome, Written, stopped, write_of
from pipeline.recording.typed_rows import as_written, columns_told, refused, unfit_told, writable
from pipeline.wording.amounts import PLAIN, Units


def change(  # noqa: PLR0913, PLR0917 - a row, what becomes of it, and how
    folder: Path, log: Log, key: str, given: Mapping[str, str], today: date, yes: bool = False
) -> Outcome:
    """Change cells of the row that ``key`` names (parts joined by ``/``, or its line); an empty value empties the cell.

    New errors refuse it; new warnings too, unless they were answered with ``yes``. Raises MachineFault, with the book
    untouched, where the machine cannot.
    """

    def work(shape: Shape, record: Record) -> Outcome:
        return _changed(shape, record, given, today, yes)

    return _at_the_row(folder, log, key, work)


def remove(folder: Path, log: Log, key: str, today: date, yes: bool = False) -> Outcome:
    """Take the row that ``key`` names out of its log; refused while other rows name it. Raises MachineFault."""

    def work(shape: Shape, record: Record) -> Outcome:
        return _removed(shape, record, today, yes)

    return _at_the_row(folder, log, key, work)


def _at_the_row(folder: Path, log: Log, key: str, work: Callable[[Shape, Record], Outcome]) -> Outcome:
    """What the work gives for the row that is named; a refusal where there is none, or the log cannot be written."""
    with journal.locked(folder):
        try:
            shape = writable(read_book(folder)[0], log)
            record = _row(shape, key)
            if isinstance(record, Refusal):
                return _refused(shape, None, None, key, record)
            return work(shape, record)
        except UnfitForWriting as unfit:
            return Outcome(findings=(unfit_told(log.file, unfit),))


def _row(shape: Shape, key: str) -> Record | Refusal:
    """The record with that key, else the one on that line."""
    log = shape.log
    spots = [shape.where[name][0] for name in log.key if name in shape.where]
    records = shape.file.records[1:]
    if log.key and len(spots) == len(log.key):
        found = [r for r in records if "/".join(_at(r, i) for i in spots) == key]
        if len(found) > 1:
            lines = " and ".join(str(r.line) for r in found)
            return Refusal("double-key", f"{key} stands on lines {lines}", "name the row by its line")
        if found:
            return found[0]
    by_line = [r for r in records if str(r.line) == key]
    if by_line:
        return by_line[0]
    told = f"its {'/'.join(log.key)} or its line" if log.key else "its line in the file"
    return Refusal("no-such-row", f"no row of {shape.path.name} is named {key}", f"name a row by {told}")


def _at(record: Record, spot: int) -> str:
    return record.cells[spot].strip() if spot < len(record.cells) else ""


def _changed(shape: Shape, record: Record, given: Mapping[str, str], today: date, yes: bool) -> Outcome:
    log, texts = shape.log, dict[str, str]()
    notes = _at(record, shape.where["notes"][0]) if "notes" in shape.where else ""
    for name, typed in with_sums_noted(log, given, notes).items():
        cell = as_written(shape, name, typed.strip())
        if isinstance(cell, Refusal):
            return _refused(shape, record.line, name, typed, cell)
        texts[cell[0]] = cell[1]
    spots = {name: n for name, (n, _) in shape.where.items()} | shape.others
    old = {name: _at(record, n) for name, n in spots.items()}
    texts = {name: text for name, text in texts.items() if text != old.get(name, "")}
    if not texts:
        return Outcome()
    lacking = [name for name in texts if name not in spots]
    file = _written(shape, record, texts, lacking)
    edit = Edit(shape, file, _moved(shape, file, record))
    findings = tuple(new_findings(shape.book, today, [edit]))
    if stopped(findings, yes):
        return Outcome(findings=findings)
    changed = tuple(_told_change(shape, record.line, name, old.get(name, ""), text) for name, text in texts.items())
    cells = ", ".join(f"{each.column} {(each.shown or (each.old, each.new))[1] or 'emptied'}" for each in changed)
    journal.commit(shape.book.folder, f"change of {_row_told(shape, record).told()}: {cells}", [write_of(edit)])
    return Outcome(changed=changed, findings=findings, said=columns_told(shape, lacking))


def _row_told(shape: Shape, record: Record) -> Written:
    return Written(shape.log.name, record.line, "/".join(_key(shape, record)))


def _key(shape: Shape, record: Record) -> list[str]:
    return [_at(record, shape.where[part][0]) for part in shape.log.key if part in shape.where]


def _told_change(shape: Shape, line: int, name: str, old: str, new: str) -> Changed:
    """A changed cell; a weight is told in the book's units."""
    column = next((c for c in shape.log.columns if c.name == name), None)
    if column is None or column.kind is not CellKind.MASS:
        return Changed(shape.log.name, line, name, old, new)
    units, manner = Units.of(shape.book, shape.log.name), shape.manner(column)
    marks = Marks.COMMA if manner.decimal == "," else Marks.DOT
    read = [written_cells.read(column, text, manner, marks) if text else "" for text in (old, new)]
    told = tuple(
        units.reading(value) if isinstance(value, Fraction) else text
        for value, text in zip(read, (old, new), strict=True)
    )
    return Changed(shape.log.name, line, name, old, new, told)


def _moved(shape: Shape, file: LogFile, record: Record) -> dict[int, int]:
    """Where the lines of the changed row stood before: it starts where it started."""
    at = shape.file.records.index(record)
    reach = 1 + max(breaks(record.text), breaks(file.records[at].text))
    return dict.fromkeys(range(record.line, record.line + reach), record.line)


def _written(shape: Shape, record: Record, texts: Mapping[str, str], lacking: Sequence[str]) -> LogFile:
    """The log's text with the cells changed, after the columns that it lacks."""
    file, at = shape.file, shape.file.records.index(record)
    if lacking:
        file = file.with_columns([header_name(shape.book, shape.log.column(name)) for name in lacking])
    spots = {name: n for name, (n, _) in shape.where.items()} | shape.others
    spots |= {name: len(shape.file.header) + n for n, name in enumerate(lacking)}
    for name, text in texts.items():
        file = file.with_cell(file.records[at], spots[name], text)
    return file


def _removed(shape: Shape, record: Record, today: date, yes: bool) -> Outcome:
    log = shape.log
    edit = Edit(shape, shape.file.without(record))
    key = _key(shape, record)
    others = _naming(edit, key[0]) if key and key[0] else []
    if others:
        verb = "names" if len(others) == 1 and others[0].startswith("1 row ") else "name"
        why = Refusal(
            "still-named", f"{' and '.join(others)} {verb} it", "take those rows out first, or let them name another"
        )
        return _refused(shape, record.line, log.key[0], "/".join(key), why)
    findings = tuple(new_findings(shape.book, today, [edit]))
    if stopped(findings, yes):
        return Outcome(findings=findings)
    removed = _row_told(shape, record)
    journal.commit(shape.book.folder, f"removal of {removed.told()}", [write_of(edit)])
    return Outcome(removed=(removed,), findings=findings)


_BARE = (
    ("loads", "source", {"harvests": "harvest", "blocks": "block", "passes": "session"}),
    ("stocktakes", "item", {"harvests": "harvest", "blocks": "block", "candles": "candle"}),
)
"""Columns that name rows of several logs, bare or behind the word for the log."""


def _naming(edit: Edit, name: str) -> list[str]:
    """The logs with rows that name what is taken out, unless another row goes by that name; each with how many."""
    log = edit.shape.log
    if with_text(edit.shape, edit.file).having(log.key[0], name):
        return []
    places = [(o.name, c.name, {name}) for o in LOGS.values() for c in o.columns if c.refers == log.name]
    places += [(o, c, {name, f"{words[log.name]} {name}"}) for o, c, words in _BARE if log.name in words]
    counts: dict[str, int] = {}
    for other, column, names in places:
        shape = shape_of(edit.shape.book, LOGS[other])
        counts[other] = counts.get(other, 0) + sum(len(shape.having(column, each)) for each in names)
    return [f"{PLAIN.plural(n, 'row')} of {o}.csv" for o, n in counts.items() if n]


def _refused(shape: Shape, line: int | None, column: str | None, value: str | None, why: Refusal) -> Outcome:
    return Outcome(findings=(refused(shape.path.name, line, column, value, why),))
