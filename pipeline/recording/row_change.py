"""One row changed in place: the named cells, and no other byte."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from pipeline.book.book_folder import read_book
from pipeline.contract.columns import Log
from pipeline.contract.findings import Finding, Severity, has_errors
from pipeline.contract.quantities import Refusal
from pipeline.reading.record_reader import Record
from pipeline.recording import across, entry, journal
from pipeline.recording.entry import Changed, Outcome
from pipeline.recording.log_layout import Shape, header_name, with_text
from pipeline.recording.logfile import LogFile, UnfitForWriting
from pipeline.recording.names import Names, Row


def change(folder: Path, log: Log, key: str, given: Mapping[str, str]) -> Outcome:
    """Change cells of the row that ``key`` names (parts joined by ``/``, or its line); an empty value empties the cell.

    Raises MachineFault, with the book untouched, where the machine cannot.
    """
    with journal.locked(folder):
        names = Names(read_book(folder)[0])
        try:
            shape = names.shape(log.name)
            if shape.unfit:
                raise UnfitForWriting(shape.unfit)
            record = _row(shape, key)
            if isinstance(record, Refusal):
                return _refused(log, None, None, key, record)
            return _changed(folder, names, shape, record, given)
        except UnfitForWriting as unfit:
            return _refused(log, None, None, None, Refusal("log-unfit", str(unfit), ""))


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
    by_line = [r for r in records if key.isascii() and key.isdigit() and r.line == int(key)]
    if by_line:
        return by_line[0]
    told = f"its {'/'.join(log.key)} or its line" if log.key else "its line in the file"
    return Refusal("no-such-row", f"no row of {shape.path.name} is named {key}", f"name a row by {told}")


def _at(record: Record, spot: int) -> str:
    return record.cells[spot].strip() if spot < len(record.cells) else ""


def _changed(folder: Path, names: Names, shape: Shape, record: Record, given: Mapping[str, str]) -> Outcome:
    log, texts = shape.log, dict[str, str]()
    for name, typed in given.items():
        cell = entry.as_written(shape, name, typed.strip())
        if isinstance(cell, Refusal):
            return _refused(log, record.line, name, typed, cell)
        texts[cell[0]] = cell[1]
    spots = {name: n for name, (n, _) in shape.where.items()} | shape.others
    old = {name: _at(record, n) for name, n in spots.items()}
    texts = {name: text for name, text in texts.items() if text != old.get(name, "")}
    lacking = [name for name in texts if name not in spots]
    file = _written(shape, record, texts, lacking)
    after = Names(names.book, {log.name: with_text(shape, file)})
    found = _new_doubts((names, old), (after, old | texts), log)
    findings = tuple(
        Finding(log.file, record.line, d.column, texts.get(d.column), d.why.rule, d.severity, d.why.message, d.why.fix)
        for d in found
    )
    if has_errors(findings) or not texts:
        return Outcome(findings=findings)
    what = f"change of {log.name} line {record.line}: {', '.join(texts)}"
    journal.commit(folder, what, [journal.Write(shape.path.name, shape.data, file.encoded())])
    changed = tuple(Changed(log.name, record.line, name, old.get(name, ""), text) for name, text in texts.items())
    return Outcome((), changed, findings, entry.columns_told(shape, lacking))


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


def _new_doubts(before: tuple[Names, Row], after: tuple[Names, Row], log: Log) -> list[across.Doubt]:
    """What the row, or those that name it, would have wrong that they have not now."""
    (names, old), (changed, new) = before, after
    known = {(d.column, d.why.rule) for d in _doubts(names, log, old)}
    found = [d for d in _doubts(changed, log, new) if (d.column, d.why.rule) not in known]
    return [*found, *across.left_behind(changed, log, old.get(log.key[0], "") if log.key else "")]


def _doubts(names: Names, log: Log, row: Row) -> list[across.Doubt]:
    filled = {name for name, text in row.items() if text}
    return [*across.gaps(log, filled), *across.broken(names, log, row)]


def _refused(log: Log, line: int | None, column: str | None, value: str | None, why: Refusal) -> Outcome:
    return Outcome(findings=(Finding(log.file, line, column, value, why.rule, Severity.ERROR, why.message, why.fix),))
