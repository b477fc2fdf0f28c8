"""Several logs changed as one: lock, aside copies, a journal as the point of no return, and the way back.

The order is what makes it safe. Under the book's lock the new bytes of every log are written beside it and forced to
disk; then the journal is, which names them; then each copy takes its log's place. Before the journal stands, nothing
has happened; from then on the next command finishes what was begun. A finished journal moves into the history, from
which ``undo`` takes the old bytes.
"""

from __future__ import annotations

import base64
import binascii
import json
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import asdict, dataclass
from pathlib import Path

from pipeline.book.book_folder import WORKSHOP
from pipeline.contract.findings import MachineFault
from pipeline.recording.durable_files import (
    aside_of,
    digest,
    durable,
    put_aside,
    put_in_place,
    read,
    sync_folder,
    target_of,
)

_HISTORY_KEPT = 100  # entries that undo reaches back
_DIGITS = 8  # of an entry's number, so that names sort as numbers
_LOCK_WAIT_S = 60.0  # no entry takes a second; who holds on longer has hung


@dataclass(frozen=True, slots=True)
class Write:
    """One log's step: its file's name, its bytes before (None: there was no file) and after (None: none shall be)."""

    name: str
    before: bytes | None
    after: bytes | None


@dataclass(frozen=True, slots=True)
class _Step:
    """A Write as the journal keeps it: hashes, and what stood between the bytes that stay."""

    name: str
    before: str | None
    after: str | None
    head: int
    tail: int
    old: str

    @classmethod
    def of(cls, write: Write) -> _Step:
        before, after = write.before or b"", write.after or b""
        head = _common(before, after)
        tail = _common(before[head:][::-1], after[head:][::-1])
        old = before[head : len(before) - tail]
        return cls(write.name, digest(write.before), digest(write.after), head, tail, base64.b64encode(old).decode())

    def undone(self, after: bytes | None) -> bytes | None:
        """The bytes of before, made from those of after."""
        if self.before is None:
            return None
        now = after or b""
        return now[: self.head] + base64.b64decode(self.old) + now[len(now) - self.tail :]


@dataclass(frozen=True, slots=True)
class _Journal:
    """What was decided: the steps, in a person's words, which history entry it takes back, and the mark of its sender."""

    what: str
    steps: tuple[_Step, ...]
    takes_back: str = ""
    token: str = ""


@contextmanager
def locked(book: Path) -> Iterator[None]:
    """Hold the book against other writers; what an earlier crash left unfinished is finished first.

    Raises MachineFault where the folder may not be written or another writer does not let go.
    """
    import filelock

    with _machine(book):
        (book / WORKSHOP).mkdir(exist_ok=True)
    lock = filelock.FileLock(book / WORKSHOP / "lock", timeout=_LOCK_WAIT_S, poll_interval=0.005)
    try:
        with _machine(book), lock:
            _recover(book)
            yield
    except filelock.Timeout as fault:
        raise MachineFault(f"another recording has held {book} for {_LOCK_WAIT_S:.0f} seconds; try again") from fault


def recover(book: Path) -> None:
    """Finish (or take back) what a crash interrupted; nothing is touched where nothing was. Cheap: one look."""
    if (book / WORKSHOP / "journal").exists():
        with locked(book):
            pass


def carried_out(book: Path, token: str) -> bool:
    """Whether an entry that bore this mark stands in the history; the caller holds the lock."""
    return bool(token) and any(path.name.endswith(f"-{token}") for path in _history(book))


def commit(book: Path, what: str, writes: Sequence[Write], token: str = "") -> None:
    """Bring all the logs from before to after, or none. The caller holds the lock and has read ``before`` under it.

    ``what`` is said again by ``undo``; ``token`` (letters and digits) lets the same entry be known again.
    Raises MachineFault, with the book as it was, where the machine cannot.
    """
    _carry_out(book, _Journal(what, tuple(map(_Step.of, writes)), token=token), writes)


def take_back(book: Path) -> str | list[str] | None:
    """Undo the last entry of the history: its words, or the logs that changed since (then nothing is touched).

    None where the history is empty. The caller holds the lock.
    """
    entries = _history(book)
    if not entries:
        return None
    last = _read_journal(entries[-1])
    now = {step.name: read(book / step.name) for step in last.steps}
    changed = [s.name for s in last.steps if digest(now[s.name]) != s.after]
    if changed:
        return changed
    writes = [Write(s.name, now[s.name], s.undone(now[s.name])) for s in last.steps]
    _carry_out(book, _Journal(last.what, tuple(map(_Step.of, writes)), entries[-1].name), writes)
    return last.what


def _carry_out(book: Path, journal: _Journal, writes: Sequence[Write]) -> None:
    with _machine(book):
        try:
            for write in writes:
                if write.after is not None:
                    put_aside(target_of(book, write.name), write.after)
            durable(book / WORKSHOP / "journal.new", _as_json(journal))
            put_in_place(book / WORKSHOP / "journal.new", book / WORKSHOP / "journal")
        except OSError:
            _forget(book, writes)
            raise
        _settle(book, journal, writes)


def _settle(book: Path, journal: _Journal, writes: Sequence[Write]) -> None:
    """The journal stands: put every copy in its place. A refusal by the machine is taken back at once."""
    try:
        sync_folder(book / WORKSHOP)
        _finish(book, journal)
    except OSError:
        for write in writes:
            _restore(target_of(book, write.name), write.before)
        (book / WORKSHOP / "journal").unlink(missing_ok=True)
        _forget(book, writes)
        raise


def _finish(book: Path, journal: _Journal) -> None:
    for step in journal.steps:
        target = target_of(book, step.name)
        if step.after is None:
            target.unlink(missing_ok=True)
        elif aside_of(target).exists():
            put_in_place(aside_of(target), target)
    for folder in sorted({target_of(book, step.name).parent for step in journal.steps}):
        sync_folder(folder)
    _archive(book, journal)


def _archive(book: Path, journal: _Journal) -> None:
    """A finished recording moves into the history; a finished undo takes its entry out of it."""
    done = book / WORKSHOP / "journal"
    if journal.takes_back:
        (book / WORKSHOP / "history" / journal.takes_back).unlink(missing_ok=True)
        done.unlink()
        return
    entries = _history(book)
    number = int(entries[-1].name[:_DIGITS]) + 1 if entries else 1
    mark = f"-{journal.token}" if journal.token else ""
    (book / WORKSHOP / "history").mkdir(exist_ok=True)
    put_in_place(done, book / WORKSHOP / "history" / f"{number:0{_DIGITS}d}{mark}")
    for old in entries[: max(0, len(entries) + 1 - _HISTORY_KEPT)]:
        old.unlink(missing_ok=True)


def _recover(book: Path) -> None:
    """Forward where every log is still at one end of its step and its copy is there; else back to before."""
    path = book / WORKSHOP / "journal"
    if not path.exists():
        return
    journal = _read_journal(path)
    if all(_can_go_on(book, step) for step in journal.steps):
        _finish(book, journal)
        return
    for step in journal.steps:
        target = target_of(book, step.name)
        now = read(target)
        if digest(now) == step.after:
            _restore(target, step.undone(now))
        aside_of(target).unlink(missing_ok=True)
    path.unlink()


def _can_go_on(book: Path, step: _Step) -> bool:
    target = target_of(book, step.name)
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
    """Clear away copies that will not be used; what cannot be cleared now is overwritten by the next writer."""
    for path in [*(aside_of(target_of(book, w.name)) for w in writes), book / WORKSHOP / "journal.new"]:
        with suppress(OSError):
            path.unlink(missing_ok=True)


def _history(book: Path) -> list[Path]:
    folder = book / WORKSHOP / "history"
    return sorted(p for p in folder.iterdir() if p.name[:_DIGITS].isdigit()) if folder.is_dir() else []


def _as_json(journal: _Journal) -> bytes:
    return json.dumps(asdict(journal), ensure_ascii=False).encode()


def _read_journal(path: Path) -> _Journal:
    try:
        told = json.loads(path.read_bytes())
        steps = tuple(_Step(**step) for step in told["steps"])
        for step in steps:
            base64.b64decode(step.old, validate=True)
        return _Journal(told["what"], steps, told["takes_back"], told.get("token", ""))
    except (ValueError, KeyError, TypeError, binascii.Error) as fault:
        raise MachineFault(f"{path} is damaged ({fault}); move it away to go on without it") from fault


def _common(one: bytes, other: bytes) -> int:
    """How many bytes two texts share at their start; mostly one is the whole start of the other."""
    low, high = 0, min(len(one), len(other))
    if one[:high] == other[:high]:
        return high
    while low < high:
        middle = (low + high + 1) // 2
        low, high = (middle, high) if one[:middle] == other[:middle] else (low, middle - 1)
    return low


@contextmanager
def _machine(book: Path) -> Iterator[None]:
    """What the machine refuses, as one sentence."""
    try:
        yield
    except OSError as fault:
        where = fault.filename or book
        raise MachineFault(f"nothing was recorded: {where}: {fault.strerror or fault}") from fault
