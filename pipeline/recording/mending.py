"""One row changed in place: the named cells, and no other byte."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from pipeline.book import read_book
from pipeline.columns import Log
from pipeline.findings import Finding, Severity
from pipeline.quantities import Marks, Refusal
from pipeline.recording import cells, journal
from pipeline.recording.entry import Changed, Outcome
from pipeline.recording.logfile import LogFile, Record, UnfitForWriting
from pipeline.recording.names import Names
from pipeline.recording.shape import Shape, header_name, split_name


def change(folder: Path, log: Log, key: str, given: Mapping[str, str]) -> Outcome:
    """Change cells of the row that ``key`` names (parts joined by ``/``, or its line); an empty value empties the cell.

    Raises MachineFault, with the book untouched, where the machine cannot.
    """
    with journal.locked(folder):
        names = Names(read_book(folder)[0])
        try:
            shape = names.shape(log.name)
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
            return Refusal("double_key", f"{key} stands on lines {lines}", "name the row by its line")
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
    log, row = shape.log, _as_row(shape, record)
    texts: dict[str, str] = {}
    for name, typed in given.items():
        split = split_name(log, name)
        if split is None:
            return _refused(
                log, record.line, name, typed, Refusal("unknown-column", f"{log.file} has no column {name}", "")
            )
        manner = shape.manner(split[0])
        if not typed.strip():
            texts[split[0].name] = ""
            continue
        how = cells.Manner(split[1] or manner.unit, ".", manner.words, manner.dates)
        value = cells.read(split[0], typed.strip(), how, Marks.DOT)
        if isinstance(value, Refusal):
            return _refused(log, record.line, name, typed, value)
        texts[split[0].name] = cells.write(split[0], value, manner)
    fault = _fault(names, log, row, row | texts)
    if fault:
        return _refused(log, record.line, fault[0], texts.get(fault[0]), fault[1])
    return _put(folder, shape, record, texts)


def _as_row(shape: Shape, record: Record) -> dict[str, str]:
    return {name: _at(record, i) for name, (i, _) in shape.where.items()}


def _fault(names: Names, log: Log, old: Mapping[str, str], new: Mapping[str, str]) -> tuple[str, Refusal] | None:
    """What the row would have wrong that it has not now: a gap, a doubled key, a reference that leads nowhere."""
    for column in log.columns:
        if column.required and old.get(column.name) and not new.get(column.name):
            return column.name, Refusal("missing", "it would be empty, and every row needs it", "give it a value")
    for group in log.one_of:
        count = sum(bool(new.get(name)) for name in group)
        if count != 1 and count != sum(bool(old.get(name)) for name in group):
            return group[0], Refusal(
                "one_of_several", f"{count} of {', '.join(group)} would be filled", "fill exactly one"
            )
    key = tuple(new.get(name, "") for name in log.key)
    if key != tuple(old.get(name, "") for name in log.key) and key in names.keys(log.name):
        return log.key[0], Refusal("double_key", f"{'/'.join(key)} is in the log already", "give it a name of its own")
    for column in log.columns:
        same = old.get(column.name) == new.get(column.name) and old.get("part") == new.get("part")
        doubt = None if same else names.doubts(log, column, new)
        if doubt:
            return column.name, doubt
    return None


def _put(folder: Path, shape: Shape, record: Record, texts: Mapping[str, str]) -> Outcome:
    lacking = [name for name, text in texts.items() if text and name not in shape.where]
    new = [header_name(shape.book, shape.log.column(name)) for name in lacking]
    file = shape.file.with_columns(new) if new else shape.file
    at = next(n for n, r in enumerate(shape.file.records) if r.line == record.line)
    spots = {n: i for n, (i, _) in shape.where.items()} | {n: len(shape.file.header) + i for i, n in enumerate(lacking)}
    changed = []
    for name, text in texts.items():
        old = _at(record, shape.where[name][0]) if name in shape.where else ""
        if old != text:
            file = _with(file, at, spots[name], text)
            changed.append(Changed(shape.log.name, record.line, name, old, text))
    if changed:
        what = f"change of {shape.log.name} line {record.line}: {', '.join(c.column for c in changed)}"
        journal.commit(folder, what, [journal.Write(shape.path.name, shape.data, file.encoded())])
    said = (f"{shape.path.name} got the column{'s' if len(new) > 1 else ''} {', '.join(new)}",) if new else ()
    return Outcome(changed=tuple(changed), said=said)


def _with(file: LogFile, at: int, spot: int, text: str) -> LogFile:
    return file.with_cell(file.records[at], spot, text)


def _refused(log: Log, line: int | None, column: str | None, value: str | None, why: Refusal) -> Outcome:
    return Outcome(findings=(Finding(log.file, line, column, value, why.rule, Severity.ERROR, why.message, why.fix),))
