"""A book from a stranger: what lies in its workshop is not believed, nothing outside it is touched, and check tells it."""

from __future__ import annotations

import base64
import hashlib
import json
from datetime import date
from pathlib import Path

import pytest

from pipeline.contract.findings import MachineFault
from pipeline.contract.log_columns import LOGS
from pipeline.recording import history, journal, record_and_undo, row_change
from pipeline.recording.drafts import Drafts
from tests import books

DAY = date(2027, 1, 1)
BLOCKS = "block,date,mass_kg,supplier\nB1,2025-05-01,1,Ann\n"


def sha(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def step(name: str, before: bytes | None, after: bytes | None) -> dict[str, object]:
    old = base64.b64encode(before or b"").decode()
    hashes = {"before": None if before is None else sha(before), "after": None if after is None else sha(after)}
    return {"name": name, **hashes, "head": 0, "tail": 0, "old": old}


@pytest.fixture
def book(tmp_path: Path) -> Path:
    folder = tmp_path / "books" / "stranger"
    (folder / ".combtally" / "history").mkdir(parents=True)
    (folder / "book.toml").write_text('name = "stranger"\n')
    (folder / "blocks.csv").write_text(BLOCKS)
    (tmp_path / "victim").mkdir()
    (tmp_path / "victim" / "file").write_text("precious")
    return folder


def kept(folder: Path, name: str, **told: object) -> Path:
    path = folder / ".combtally" / name
    path.write_text(json.dumps({"what": "a gift", "steps": [], "takes_back": "", "token": ""} | told))
    return path


ATTACKS = {
    "deletes a file": {"takes_back": "../../../../victim/file"},
    "writes over a file": {"steps": [step("../../victim/file", b"precious", b"gone")]},
    "undoes a file away": {"steps": [step("../../victim/file", None, b"precious")]},
    "writes a new file in two steps": {
        "steps": [step("blocks.csv", BLOCKS.encode(), BLOCKS.encode()), step("../../victim/new", b"evil", b"other")]
    },
    "an absolute name": {"steps": [step("/tmp/combtally-victim", b"evil", b"other")]},
    "no log": {"steps": [step("book.toml", b"", b"")]},
    "again a file": {"again": "../../../../victim/file"},
    "a mark that is a path": {"token": "x/../../y"},
    "words that are none": {"what": ["a"], "steps": 3},
}


@pytest.mark.parametrize("attack", ATTACKS.values(), ids=ATTACKS.keys())
def test_a_foreign_journal_is_told_and_left_alone(book: Path, tmp_path: Path, attack: dict[str, object]) -> None:
    planted = kept(book, "journal", **attack)
    before = planted.read_bytes()
    journal.recover(book)
    (told,) = history.foreign(book)
    assert (told.rule, str(told.severity)) == ("journal-foreign", "warning")
    with pytest.raises(MachineFault, match="move it away"):
        record_and_undo.record(book, {"blocks": [{"block": "B2", "date": "2025-05-02", "mass": "1 kg", "supplier": "Ann"}]}, "x", DAY)
    assert planted.read_bytes() == before
    assert (tmp_path / "victim" / "file").read_text() == "precious"
    assert sorted(p.name for p in (tmp_path / "victim").iterdir()) == ["file"]
    assert (book / "blocks.csv").read_text() == BLOCKS


def test_a_foreign_history_takes_nothing_back(book: Path, tmp_path: Path) -> None:
    kept(book, "history/00000001", steps=[step("../../victim/file", b"evil", b"precious")])
    with pytest.raises(MachineFault, match="nothing was taken back"):
        record_and_undo.undo(book)
    assert (tmp_path / "victim" / "file").read_text() == "precious"
    assert [f.rule for f in history.foreign(book)] == ["journal-foreign"]


@pytest.mark.parametrize("text", ["[" * 100_000, "null", "{}", '{"steps": [{"name": "blocks.csv"}]}', "\x00"])
def test_what_is_no_entry_is_a_sentence(book: Path, text: str) -> None:
    (book / ".combtally" / "journal").write_text(text)
    (book / ".combtally" / "history" / "00000001").write_text(text)
    journal.recover(book)
    assert len(history.foreign(book)) == 2
    with pytest.raises(MachineFault):
        record_and_undo.undo(book)


@pytest.mark.parametrize("place", ["", "lock", "history", "again", "journal"])
def test_links_in_the_workshop_are_not_followed(book: Path, tmp_path: Path, place: str) -> None:
    target = tmp_path / "victim" / ("file" if place in ("lock", "journal") else "")
    spot = book / ".combtally" / place if place else book / ".combtally"
    if spot.is_dir():
        for inside in spot.rglob("*"):
            inside.rmdir()
        spot.rmdir()
    spot.symlink_to(target)
    journal.recover(book)
    assert [f.rule for f in history.foreign(book)] == ["journal-foreign"]
    with pytest.raises(MachineFault, match="is a link"):
        record_and_undo.record(book, {"blocks": [{"block": "B2", "date": "2025-05-02", "mass": "1 kg", "supplier": "Ann"}]}, "x", DAY)
    assert (tmp_path / "victim" / "file").read_text() == "precious"
    assert sorted(p.name for p in (tmp_path / "victim").iterdir()) == ["file"]


def test_a_log_that_is_a_link_out_of_the_book_is_not_written(book: Path, tmp_path: Path) -> None:
    outside = tmp_path / "victim" / "blocks.csv"
    outside.write_text(BLOCKS)
    (book / "blocks.csv").unlink()
    (book / "blocks.csv").symlink_to(outside)
    with pytest.raises(MachineFault, match="a link to a file outside the book"):
        record_and_undo.record(book, {"blocks": [{"block": "B2", "date": "2025-05-02", "mass": "1 kg", "supplier": "Ann"}]}, "x", DAY)
    assert outside.read_text() == BLOCKS


def test_a_copy_planted_as_a_link_is_not_written_through(book: Path, tmp_path: Path) -> None:
    (book / ".blocks.csv.combtally").symlink_to(tmp_path / "victim" / "file")
    record_and_undo.record(book, {"blocks": [{"block": "B2", "date": "2025-05-02", "mass": "1 kg", "supplier": "Ann"}]}, "x", DAY)
    assert (tmp_path / "victim" / "file").read_text() == "precious"
    assert "B2" in (book / "blocks.csv").read_text()


@pytest.mark.parametrize("text", ["[" * 100_000, '{"kind": "nonsense", "answers": [], "kept": [], "pages": [], "saved": ""}', "3"])
def test_drafts_that_are_none_are_not_offered(book: Path, text: str) -> None:
    folder = book / ".combtally" / "drafts"
    folder.mkdir()
    (folder / "0123456789abcdef.json").write_text(text)
    assert Drafts(book).open() == []
    assert Drafts(book).find("0123456789abcdef") is None


def test_entries_are_listed_taken_back_done_again_and_removed(book: Path) -> None:
    row = {"block": "B2", "date": "2025-05-02", "mass": "1 kg", "supplier": "Ann"}
    record_and_undo.record(book, {"blocks": [row]}, "block B2", DAY)
    row_change.change(book, LOGS["blocks"], "B2", {"place": "shed"}, DAY)
    after = (book / "blocks.csv").read_bytes()
    assert row_change.remove(book, LOGS["blocks"], "B1", DAY).removed == (record_and_undo.Written("blocks", 2),)
    undoable, again = history.listed(book)
    assert [each.what for each in undoable] == ["removal of block B1, line 2 of blocks.csv", "change of block B2, line 3 of blocks.csv: place shed", "block B2"]
    assert all(len(each.when) >= 19 for each in undoable)
    assert again == []
    assert record_and_undo.undo(book) == "removal of block B1, line 2 of blocks.csv"
    assert (book / "blocks.csv").read_bytes() == after
    assert record_and_undo.undo(book) == "change of block B2, line 3 of blocks.csv: place shed"
    assert record_and_undo.undo(book) == "block B2"
    assert (book / "blocks.csv").read_text() == BLOCKS
    assert [each.what for each in history.listed(book)[1]] == ["block B2", "change of block B2, line 3 of blocks.csv: place shed", "removal of block B1, line 2 of blocks.csv"]
    assert record_and_undo.redo(book) == "block B2"
    assert record_and_undo.redo(book) == "change of block B2, line 3 of blocks.csv: place shed"
    assert (book / "blocks.csv").read_bytes() == after
    record_and_undo.record(book, {"blocks": [row | {"block": "B3"}]}, "block B3", DAY)
    assert history.listed(book)[1] == [], "a new entry ends what could be done again"


def test_a_row_that_others_name_is_not_removed(book: Path) -> None:
    (book / "draws.csv").write_text("date,block,mass_kg,use\n2025-06-01,B1,0.2,sold\n")
    outcome = row_change.remove(book, LOGS["blocks"], "B1", DAY)
    assert [(f.rule, f.message) for f in outcome.findings] == [("still-named", "1 row of draws.csv names it")]
    assert not outcome.removed
    assert (book / "blocks.csv").read_text() == BLOCKS


@pytest.mark.parametrize("name", ["loads.csv", "book.toml", ".combtally"])
def test_a_link_in_a_circle_is_a_sentence_for_every_command(book: Path, name: str) -> None:
    spot = book / name
    if spot.is_dir():
        (spot / "history").rmdir()
        spot.rmdir()
    spot.unlink(missing_ok=True)
    spot.symlink_to(name)
    for command in (("check",), ("stock", "--leave-out"), ("undo", "--list"), ("sheet", "--out", book.parent)):
        done = books.run(command[0], book, *command[1:])
        assert done.code in (0, 1, 3), done
        assert done.out + done.err
    told = books.run("record", book, "block", "block=B2", "date=2025-05-02", "mass=1 kg", "supplier=Ann")
    assert told.code in ((0, 1) if name == "loads.csv" else (1, 3))
