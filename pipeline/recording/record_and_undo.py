"""An entry: rows for several logs, judged as the book would be with them before a byte is written, then written as one."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import partial
from pathlib import Path

from pipeline.book.book_settings import WORKSHOP, Book
from pipeline.book.book_toml import read_book
from pipeline.contract.findings import Finding, Severity, has_errors
from pipeline.database.made_from import MadeFrom, made_from
from pipeline.recording import journal
from pipeline.recording.entry_effects import entry_effects
from pipeline.recording.log_bytes import UnfitForWriting
from pipeline.recording.new_findings import Edit, new_findings
from pipeline.recording.typed_rows import KINDS, Row, columns_told, typed_rows, unfit_told


@dataclass(frozen=True, slots=True)
class Written:
    """Where a row was written or taken out: the log's name, the physical line, and the row's own name, if it has one."""

    log: str
    line: int
    name: str = field(default="", compare=False)

    def in_json(self) -> dict[str, object]:
        """What other programs are told."""
        return {"log": self.log, "line": self.line}

    def told(self) -> str:
        """The row for people: ``harvest H1, line 4 of harvests.csv``."""
        kind = next(kind for kind, log in KINDS.items() if log == self.log)
        return f"{kind} {self.name}".rstrip() + f", line {self.line} of {self.log}.csv"


@dataclass(frozen=True, slots=True)
class Changed:
    """A cell that was changed in place; an empty cell is empty text. ``shown``: the weights in the book's units."""

    log: str
    line: int
    column: str
    old: str
    new: str
    shown: tuple[str, ...] = field(default=(), compare=False)

    def in_json(self) -> dict[str, object]:
        """What other programs are told."""
        return {"log": self.log, "line": self.line, "column": self.column, "from": self.old, "to": self.new}

    def told(self) -> str:
        """The change for people: ``passes.csv line 2, residue: empty is now 2.1``."""
        old, new = (text or "empty" for text in self.shown or (self.old, self.new))
        return f"{self.log}.csv line {self.line}, {self.column}: {old} is now {new}"


@dataclass(frozen=True, slots=True)
class Outcome:
    """What an entry came to: rows written, cells changed or rows removed, and its findings; ``said`` is worth telling."""

    written: tuple[Written, ...] = ()
    changed: tuple[Changed, ...] = ()
    removed: tuple[Written, ...] = ()
    findings: tuple[Finding, ...] = ()
    said: tuple[str, ...] = ()

    @property
    def refused(self) -> bool:
        """Whether nothing was written because of errors."""
        return has_errors(self.findings)

    @property
    def asks(self) -> bool:
        """Whether nothing was written because of warnings that nobody has answered yet."""
        return warned(self.findings) and not (self.refused or self.written or self.changed or self.removed)


@dataclass(frozen=True, slots=True)
class _Prepared:
    """An entry as it would be written: what happens to each log, where its rows go, and what is to be told."""

    edits: tuple[Edit, ...] = ()
    written: tuple[Written, ...] = ()
    findings: tuple[Finding, ...] = ()
    said: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Judged:
    """An entry that was shown to somebody: what it would be, of which rows, and what the book was made of then."""

    rows: Mapping[str, Sequence[Row]]
    origin: MadeFrom | None
    entry: _Prepared

    @property
    def outcome(self) -> Outcome:
        """What was found and is to be said; nothing was written."""
        return Outcome(findings=self.entry.findings, said=self.entry.said)

    def still_holds(self, folder: Path, rows: Mapping[str, Sequence[Row]], today: date) -> bool:
        """Whether the same would be found of these rows now: the book is byte for byte what it was, and the day the same."""
        if self.origin is None or rows != self.rows:
            return False
        now = made_from(folder, today)
        return now is not None and now.origin == self.origin.origin


def record(  # noqa: PLR0913, PLR0917 - an entry's own parts
    folder: Path,
    rows: Mapping[str, Sequence[Row]],
    what: str,
    today: date,
    beside: Sequence[journal.Write] = (),
    token: str = "",
    yes: bool = False,
    judged: Judged | None = None,
) -> Outcome:
    """Append rows to the logs, all or none; cells stand in people's words by column name, with or without unit.

    New errors refuse the entry; new warnings too, unless they were seen and answered with ``yes``. ``what`` names the
    entry for ``undo``; ``beside`` are other files of the book that change with it. An entry with the ``token`` of an
    earlier one is that one sent again, and is not written twice. ``judged``: what was :func:`foreseen` of them, which is
    not worked out twice while the book stays as it was.
    Raises MachineFault, with the book untouched, where the machine cannot.
    """
    with journal.locked(folder):
        if journal.carried_out(folder, token):
            return Outcome(said=("this entry was written before",))
        if judged and judged.still_holds(folder, rows, today):
            entry = judged.entry
        else:
            entry = _prepared(read_book(folder)[0], rows, today)
        if stopped(entry.findings, yes) or not entry.edits:
            return Outcome(findings=entry.findings, said=entry.said if entry.edits else ())
        journal.commit(folder, what, [*map(write_of, entry.edits), *beside], token)
        return Outcome(entry.written, findings=entry.findings, said=entry.said)


def foreseen(folder: Path, rows: Mapping[str, Sequence[Row]], today: date, with_yields: bool = True) -> Judged:
    """What ``record`` would find and say of these rows, without writing; and (``with_yields``) what a session in them gives."""
    origin = made_from(folder, today)
    entry = _prepared(read_book(folder)[0], rows, today, with_yields)
    return Judged(rows, origin if origin and origin.holds() else None, entry)


def _prepared(book: Book, rows: Mapping[str, Sequence[Row]], today: date, with_yields: bool = False) -> _Prepared:
    new, findings = typed_rows(book, rows)
    if has_errors(findings):
        return _Prepared(findings=tuple(findings))
    edits = list[Edit]()
    for each in new:
        try:
            edits.append(Edit(each.shape, each.added()))
        except UnfitForWriting as unfit:
            return _Prepared(findings=(unfit_told(each.shape.path.name, unfit),))
    written = tuple(
        Written(each.shape.log.name, *at) for each in new for at in zip(each.lines, each.names, strict=True)
    )
    said = tuple(sentence for each in new for sentence in columns_told(each.shape, each.columns))
    findings = new_findings(book, today, edits)
    effects = [] if has_errors(findings) else entry_effects(book, today, edits, with_yields)
    return _Prepared(tuple(edits), written, tuple(findings), (*said, *effects))


def write_of(edit: Edit) -> journal.Write:
    """An edit as a step of the journal."""
    return journal.Write(edit.shape.path.name, edit.shape.data, edit.file.encoded())


def warned(findings: Sequence[Finding]) -> bool:
    """Whether any of them is to be asked about."""
    return any(f.severity is Severity.WARNING for f in findings)


def stopped(findings: Sequence[Finding], yes: bool) -> bool:
    """Whether an entry with these findings is not written: it has errors, or warnings that were not answered with yes."""
    return has_errors(findings) or (warned(findings) and not yes)


def undo(folder: Path, mark: str = "") -> str | list[str] | None:
    """Take the last entry back: its words, the logs that were changed since, or None where there is nothing.

    With a ``mark`` (:class:`history.Last`) that entry and no other is taken back.
    """
    return _under_lock(folder, partial(journal.take_back, mark=mark))


def redo(folder: Path) -> str | list[str] | None:
    """Do what was taken back last again: its words, the logs that were changed since, or None where there is nothing."""
    return _under_lock(folder, journal.again)


def _under_lock(folder: Path, act: Callable[[Path], str | list[str] | None]) -> str | list[str] | None:
    if not (folder / WORKSHOP).is_dir():
        return None
    with journal.locked(folder):
        return act(folder)
