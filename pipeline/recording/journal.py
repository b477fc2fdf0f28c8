"""Several logs changed as one: lock, aside copies, a journal as the point of no return, and the way back.

The order is what makes it safe. Under the book's lock the new bytes of every log are written beside it and forced to
disk; then the journal is, which names them; then each copy takes its log's place. Before the journal stands, nothing
has happened; from then on the next command finishes what was begun. A finished journal moves into the history, from
which ``undo`` takes the old bytes.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from pipeline.book.book_settings import WORKSHOP
from pipeline.contract.findings import MachineFault
from pipeline.recording import history
from pipeline.recording.durable_files import aside_of, digest, durable, put_aside, put_in_place, read, sync_folder
from pipeline.recording.journal_record import (
    LOG_FILES,
    Entry,
    ForeignEntry,
    JournalStep,
    Write,
    checked_target,
    guarded,
    read_entry,
)

if TYPE_CHECKING:
    from filelock import FileLock

__all__ = ["Write", "again", "carried_out", "commit", "locked", "recover", "take_back"]
_LOCK_WAIT_S = 60.0  # no entry takes a second; who holds on longer has hung


@contextmanager
def locked(book: Path) -> Iterator[None]:
    """Hold the book against other writers; what an earlier crash left unfinished is finished first.

    Raises MachineFault where the folder may not be written, another writer does not let go, or what lies in the
    workshop is no entry of this book.
    """
    import filelock

    with _machine(book):
        guarded(book).mkdir(exist_ok=True)
    lock = filelock.FileLock(guarded(book, "lock"), timeout=_LOCK_WAIT_S, poll_interval=0.005)
    with _machine(book):
        while not _taken(lock, book):
            pass  # others came before and went on writing: it is a queue, and nobody has hung
    try:
        with _machine(book):
            _recover(book)
            yield
    finally:
        lock.release()


def _taken(lock: FileLock, book: Path) -> bool:
    """Whether the lock was got; not where others recorded meanwhile. Raises MachineFault where nobody did."""
    import filelock

    before = history.stamp(book)
    try:
        lock.acquire()
    except filelock.Timeout as fault:  # an OSError too, so it is told here
        if history.stamp(book) != before:
            return False
        raise MachineFault(f"another recording has held {book} for {_LOCK_WAIT_S:.0f} seconds; try again") from fault
    return True


def recover(book: Path) -> None:
    """Finish (or take back) what a crash interrupted and clear its copies away. Cheap where there is nothing: one look.

    What is no entry of this book stays untouched (:func:`history.foreign` tells it).
    """
    if _unfinished(book):
        with locked(book):
            pass
    elif any(aside.exists() or aside.is_symlink() for aside in _asides(book)):
        with suppress(MachineFault), locked(book):  # a copy that cannot be cleared away does nobody harm
            pass


def _unfinished(book: Path) -> bool:
    path = book / WORKSHOP / "journal"
    if not path.exists() or path.parent.is_symlink():
        return False
    try:
        read_entry(book, path)
    except ForeignEntry:
        return False
    return True


def carried_out(book: Path, token: str) -> bool:
    """Whether an entry that bore this mark stands in the history; the caller holds the lock."""
    return bool(token) and any(path.name.endswith(f"-{token}") for path in history.entries(book))


def commit(book: Path, what: str, writes: Sequence[Write], token: str = "") -> None:
    """Bring all the logs from before to after, or none. The caller holds the lock and has read ``before`` under it.

    ``what`` is said again by ``undo``; ``token`` (letters and digits) lets the same entry be known again.
    Raises MachineFault, with the book as it was, where the machine cannot.
    """
    when = datetime.now().astimezone().isoformat(timespec="seconds")
    _carry_out(book, Entry(what, tuple(map(JournalStep.of, writes)), token=token, when=when), writes)


def take_back(book: Path, mark: str = "") -> str | list[str] | None:
    """Undo the last entry of the history: its words, or the logs that changed since (then nothing is touched).

    None where the history is empty, or its last entry is not the one of the ``mark`` that is given.
    The caller holds the lock. Raises MachineFault.
    """
    entries = history.entries(book)
    if mark and not (entries and history.mark(entries[-1]) == mark):
        return None
    return _reversed(book, entries, again=False)


def again(book: Path) -> str | list[str] | None:
    """Do the entry again that was taken back last: its words, or the logs that changed since; None where there is none.

    The caller holds the lock. Raises MachineFault.
    """
    return _reversed(book, history.taken_back(book), again=True)


def _reversed(book: Path, entries: Sequence[Path], again: bool) -> str | list[str] | None:
    """The last of the entries turned round: the bytes from before it, made from those that it left."""
    if not entries:
        return None
    last = history.trusted(book, entries[-1])
    now = {step.name: read(checked_target(book, step.name)) for step in last.steps}
    changed = [s.name for s in last.steps if digest(now[s.name]) != s.after]
    if changed:
        return changed
    writes = [Write(s.name, now[s.name], s.undone(now[s.name])) for s in last.steps]
    name = entries[-1].name
    turned = Entry(
        last.what,
        tuple(map(JournalStep.of, writes)),
        takes_back="" if again else name,
        again=name if again else "",
        token=last.token,
        when=last.when,
    )
    _carry_out(book, turned, writes)
    return last.what


def _carry_out(book: Path, entry: Entry, writes: Sequence[Write]) -> None:
    with _machine(book):
        try:
            for write in writes:
                if write.after is not None:
                    put_aside(_target(book, write.name), write.after)
            durable(guarded(book, "journal.new"), entry.as_json())
            _as_read(book, writes)
            put_in_place(book / WORKSHOP / "journal.new", guarded(book, "journal"))
        except (OSError, MachineFault):
            _forget(book, writes)
            raise
        _settle(book, entry, writes)


def _as_read(book: Path, writes: Sequence[Write]) -> None:
    """Look once more, in the last moment: what somebody saved by hand since it was read is not written over."""
    for write in writes:
        if read(_target(book, write.name)) != write.before:
            raise MachineFault(f"{write.name} was saved by somebody else just now; nothing was recorded: try again")


def _target(book: Path, name: str) -> Path:
    try:
        return checked_target(book, name)
    except ForeignEntry as foreign:
        raise MachineFault(f"nothing was recorded: {foreign}") from foreign


def _settle(book: Path, entry: Entry, writes: Sequence[Write]) -> None:
    """The journal stands: put every copy in its place. A refusal by the machine is taken back at once."""
    try:
        sync_folder(book / WORKSHOP)
        _finish(book, entry)
    except OSError:
        for write in writes:
            _restore(_target(book, write.name), write.before)
        (book / WORKSHOP / "journal").unlink(missing_ok=True)
        _forget(book, writes)
        raise


def _finish(book: Path, entry: Entry) -> None:
    targets = {step.name: _target(book, step.name) for step in entry.steps}
    for step in entry.steps:
        target = targets[step.name]
        if step.after is None:
            target.unlink(missing_ok=True)
        elif aside_of(target).exists():
            put_in_place(aside_of(target), target)
    for folder in sorted({target.parent for target in targets.values()}):
        sync_folder(folder)
    history.archive(book, entry)


def _recover(book: Path) -> None:
    """Forward where every log is still at one end of its step and its copy is there; else back to before."""
    path = guarded(book, "journal")
    if path.exists():
        try:
            entry = read_entry(book, path)
        except ForeignEntry as foreign:
            raise MachineFault(f"{path}: {foreign}; move it away to record in this book") from foreign
        _recovered(book, entry, path)
    for aside in _asides(book):
        aside.unlink(missing_ok=True)


def _recovered(book: Path, entry: Entry, path: Path) -> None:
    if all(_can_go_on(book, step) for step in entry.steps):
        _finish(book, entry)
        return
    for step in entry.steps:
        target = _target(book, step.name)
        now = read(target)
        if digest(now) == step.after:
            _restore(target, step.undone(now))
    path.unlink()


def _asides(book: Path) -> Iterator[Path]:
    """The copies that a recording makes and a killed one leaves; no other file goes by such a name."""
    for name in LOG_FILES:
        yield aside_of(book / name)
        if (book / name).is_symlink():
            with suppress(ForeignEntry):
                yield aside_of(checked_target(book, name))
    yield book / WORKSHOP / "journal.new"


def _can_go_on(book: Path, step: JournalStep) -> bool:
    target = _target(book, step.name)
    now = digest(read(target))
    if now == step.after:
        return True
    return now == step.before and (step.after is None or digest(read(aside_of(target))) == step.after)


def _restore(target: Path, data: bytes | None) -> None:
    if data is None:
        target.unlink(missing_ok=True)
    elif read(target) != data:
        put_aside(target, data)
        put_in_place(aside_of(target), target)
    sync_folder(target.parent)


def _forget(book: Path, writes: Sequence[Write]) -> None:
    """Clear away copies that will not be used; what cannot be cleared now is swept up by the next command."""
    for path in [*(aside_of(_target(book, w.name)) for w in writes), book / WORKSHOP / "journal.new"]:
        with suppress(OSError):
            path.unlink(missing_ok=True)


@contextmanager
def _machine(book: Path) -> Iterator[None]:
    """What the machine refuses, as one sentence."""
    try:
        yield
    except OSError as fault:
        where = fault.filename or book
        raise MachineFault(f"nothing was recorded: {where}: {fault.strerror or fault}") from fault
