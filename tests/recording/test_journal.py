"""Several logs change together or not at all, whatever stops the machine."""

import errno
import multiprocessing
import os
import signal
from collections.abc import Callable
from pathlib import Path

import pytest
from filelock import FileLock

from pipeline.contract.findings import MachineFault
from pipeline.recording import journal
from pipeline.recording.durable_files import may_be_unfinished
from pipeline.recording.journal import Write, commit, locked, recover, take_back

BEFORE = {"loads.csv": b"session,source,mass_kg\nS1,A1,2\n", "passes.csv": b"session,pass\nS1,1\n", "blocks.csv": None}
AFTER = {
    "loads.csv": b"session,source,mass_kg\nS1,A1,2\nS2,A2,3\n",
    "passes.csv": b"session,pass\nS1,1\nS2,1\n",
    "blocks.csv": b"block\nB1\n",
}
CALLS = ("open", "write", "fsync", "replace", "unlink", "mkdir", "close", "fchmod")


def lay(book: Path) -> None:
    for name, data in BEFORE.items():
        if data is not None:
            (book / name).write_bytes(data)


def state(book: Path) -> dict[str, bytes | None]:
    return {name: (book / name).read_bytes() if (book / name).exists() else None for name in BEFORE}


def leftovers(book: Path) -> list[str]:
    return sorted(p.name for p in book.iterdir() if p.name.startswith(".") and p.name != ".combtally")


def record(book: Path) -> None:
    with locked(book):
        commit(book, "session S2", [Write(n, BEFORE[n], AFTER[n]) for n in BEFORE])


def faulted(book: Path) -> str | None:
    """Record, and give back what the machine's refusal was told as."""
    try:
        record(book)
    except MachineFault as said:
        return str(said)
    return None


def undo(book: Path) -> None:
    with locked(book):
        assert take_back(book) == "session S2"


def shim(at: int, act: Callable[[], None], half: bool = False) -> list[str]:
    """Count the system calls that write; do ``act`` at call number ``at`` (0: only count)."""
    seen: list[str] = []
    for name in CALLS:
        real = getattr(os, name)

        def wrapped(*args: object, real: Callable[..., object] = real, name: str = name, **more: object) -> object:
            seen.append(name)
            if len(seen) == at:
                if half and name == "write":
                    data = args[1]
                    assert isinstance(data, memoryview)
                    real(args[0], data[: len(data) // 2])
                act()
            return real(*args, **more)

        setattr(os, name, wrapped)
    return seen


def in_child(book: Path, job: Callable[[Path], None], at: int, half: bool) -> int:
    """Run the job in a process of its own that is killed at a call; its exit code."""

    def killed() -> None:
        shim(at, lambda: os.kill(os.getpid(), signal.SIGKILL), half)
        job(book)

    child = multiprocessing.get_context("fork").Process(target=killed)
    child.start()
    child.join()
    return child.exitcode or 0


def begun(book: Path, job: Callable[[Path], None]) -> Path:
    """A new book as it is before the job."""
    book.mkdir()
    lay(book)
    if job is undo:
        record(book)
    return book


@pytest.mark.parametrize(("job", "start", "end"), [(record, BEFORE, AFTER), (undo, AFTER, BEFORE)])
def test_killed_at_every_call_the_book_is_before_or_after(
    tmp_path: Path,
    job: Callable[[Path], None],
    start: dict[str, bytes | None],
    end: dict[str, bytes | None],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Before each call, in the middle of each that writes, and at none."""
    book = begun(tmp_path / "whole", job)
    with monkeypatch.context() as patch:
        for name in CALLS:
            patch.setattr(os, name, getattr(os, name))
        calls = shim(0, lambda: None)
        job(book)
    kills = [(at, half) for at, name in enumerate(calls, start=1) for half in (False, True)[: 1 + (name == "write")]]
    assert len(kills) > 20
    outcomes = []
    for at, half in [*kills, (len(calls) + 1, False)]:
        book = begun(tmp_path / f"{at} {half}", job)
        code = in_child(book, job, at, half)
        assert (code == 0) == (at > len(calls))
        recover(book)
        now = state(book)
        assert now in (start, end), f"killed at call {at}: neither before nor after"
        outcomes.append(now == end)
        with locked(book):
            assert leftovers(book) == []
    assert outcomes == sorted(outcomes), "once decided, a later crash never takes it back"
    assert not outcomes[0]
    assert outcomes[-1]


@pytest.mark.parametrize("fault", [errno.ENOSPC, errno.EACCES, errno.EIO])
def test_a_refusal_at_every_call_leaves_the_book_untouched(
    tmp_path: Path, fault: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    refused = 0
    for at in range(1, 500):
        book = tmp_path / str(at)
        book.mkdir()
        lay(book)
        with monkeypatch.context() as patch:
            for name in CALLS:
                patch.setattr(os, name, getattr(os, name))

            def refuse() -> None:
                raise OSError(fault, os.strerror(fault))

            seen = shim(at, refuse)
            said = faulted(book)
            told = said is not None
            refused += told
            assert "\n" not in (said or "")
        assert state(book) == (BEFORE if told else AFTER), f"refused at call {at} ({seen[at - 1 :][:1]})"
        recover(book)
        assert state(book) == (BEFORE if told else AFTER)
        if len(seen) < at:
            break
    assert refused > 15


def test_undo_gives_the_very_bytes_and_walks_back_step_by_step(tmp_path: Path) -> None:
    lay(tmp_path)
    record(tmp_path)
    with locked(tmp_path):
        commit(tmp_path, "block B2", [Write("blocks.csv", AFTER["blocks.csv"], b"block\nB1\nB2\n")])
        assert take_back(tmp_path) == "block B2"
    assert state(tmp_path) == AFTER
    undo(tmp_path)
    assert state(tmp_path) == BEFORE
    with locked(tmp_path):
        assert take_back(tmp_path) is None


def test_undo_refuses_what_was_changed_since(tmp_path: Path) -> None:
    lay(tmp_path)
    record(tmp_path)
    (tmp_path / "passes.csv").write_bytes(b"by hand\n")
    with locked(tmp_path):
        assert take_back(tmp_path) == ["passes.csv"]
    assert (tmp_path / "passes.csv").read_bytes() == b"by hand\n"
    assert (tmp_path / "loads.csv").read_bytes() == AFTER["loads.csv"]


def test_a_log_edited_by_hand_between_a_crash_and_the_next_command_keeps_the_edit(tmp_path: Path) -> None:
    lay(tmp_path)
    calls = shim_count(tmp_path)
    second_swap = [n for n, name in enumerate(calls, 1) if name == "replace"][2]
    in_child(tmp_path, record, second_swap, False)
    assert (tmp_path / "loads.csv").read_bytes() == AFTER["loads.csv"], "killed between two logs"
    (tmp_path / "passes.csv").write_bytes(b"by hand\n")
    recover(tmp_path)
    assert state(tmp_path) == BEFORE | {"passes.csv": b"by hand\n"}
    assert leftovers(tmp_path) == []


def shim_count(like: Path) -> list[str]:
    """The writing calls of one recording, in order, counted in a copy of the book."""
    copy = like / "copy"
    copy.mkdir()
    lay(copy)
    receive, send = multiprocessing.get_context("fork").Pipe(duplex=False)

    def counted() -> None:
        seen = shim(0, lambda: None)
        record(copy)
        send.send(list(seen))

    child = multiprocessing.get_context("fork").Process(target=counted)
    child.start()
    calls: list[str] = receive.recv()
    child.join()
    return calls


def test_a_link_stays_a_link_and_permissions_stay(tmp_path: Path) -> None:
    book = tmp_path / "book"
    elsewhere = book / "kept"
    book.mkdir()
    elsewhere.mkdir()
    lay(book)
    (book / "loads.csv").rename(elsewhere / "loads.csv")
    (book / "loads.csv").symlink_to(elsewhere / "loads.csv")
    (book / "passes.csv").chmod(0o640)
    record(book)
    assert (book / "loads.csv").is_symlink()
    assert (elsewhere / "loads.csv").read_bytes() == AFTER["loads.csv"]
    assert (book / "passes.csv").stat().st_mode & 0o777 == 0o640


def test_a_log_saved_by_hand_in_the_last_moment_is_not_written_over(tmp_path: Path) -> None:
    (tmp_path / "book.toml").write_text('name = "t"\n')
    (tmp_path / "passes.csv").write_bytes(b"what the hand saved")
    with locked(tmp_path), pytest.raises(MachineFault, match="try again"):
        commit(tmp_path, "an entry", [Write("passes.csv", b"what was read", b"what was read and more")])
    assert (tmp_path / "passes.csv").read_bytes() == b"what the hand saved"
    assert sorted(p.name for p in tmp_path.iterdir() if p.name.startswith(".") and p.name != ".combtally") == []
    assert not (tmp_path / ".combtally" / "journal").exists()


def test_who_waits_for_a_recording_that_hangs_is_told_so_and_who_waits_in_a_queue_goes_on_waiting(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The lock held by somebody else: silent, a sentence; writing meanwhile, the entry is made once it is free."""
    monkeypatch.setattr(journal, "_LOCK_WAIT_S", 0.05)
    with journal.locked(tmp_path):
        pass
    held = FileLock(tmp_path / ".combtally" / "lock")
    held.acquire()
    with pytest.raises(MachineFault, match="another recording has held"), journal.locked(tmp_path):
        pass
    looks = iter(range(9))

    def another_wrote(_book: Path) -> int:
        look = next(looks)
        if look == 1:
            held.release()
        return look

    monkeypatch.setattr(journal.history, "stamp", another_wrote)
    with journal.locked(tmp_path):
        assert not held.is_locked


@pytest.mark.parametrize("left", ["", ".combtally/journal", ".combtally/journal.new", ".loads.csv.combtally"])
def test_one_look_tells_whether_a_crash_may_have_cut_a_recording_short(tmp_path: Path, left: str) -> None:
    lay(tmp_path)
    (tmp_path / ".combtally").mkdir()
    if left:
        (tmp_path / left).write_bytes(b"")
    assert may_be_unfinished(tmp_path) is bool(left)


def test_where_a_log_lies_elsewhere_or_no_list_is_to_be_had_each_name_is_looked_at(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "book").mkdir()
    lay(tmp_path / "book")
    (tmp_path / "book" / "sales.csv").symlink_to(tmp_path / "elsewhere.csv")
    assert may_be_unfinished(tmp_path / "book")
    (tmp_path / "book" / "sales.csv").unlink()
    assert not may_be_unfinished(tmp_path / "book")

    def refused(_: Path) -> None:
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))

    monkeypatch.setattr(os, "scandir", refused)
    assert may_be_unfinished(tmp_path / "book")
