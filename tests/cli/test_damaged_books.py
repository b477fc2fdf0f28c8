"""A small sample of damaged books, and what they taught; ``python -m tests.bench.damaged_books`` runs as many as time allows."""

from __future__ import annotations

import os
import shutil
from pathlib import Path
from random import Random

import pytest

from tests.books import ROOT, run, write_kept
from tests.cli.damaged_books import broken_by, cut_off, damaged_book
from tests.report_books import ONE_SESSION, ONE_SESSION_TOML

GOOD = ROOT / "tests" / "checks" / "good_book"


def test_no_command_on_a_damaged_book_breaks_the_law(tmp_path: Path) -> None:
    seed = os.environ["COMBTALLY_SEED"]
    for n in range(2):
        rng, folder = Random(f"{seed} {n}"), tmp_path / str(n)
        (folder / "out").mkdir(parents=True)
        book, done = damaged_book(rng, folder)
        for _, broken in broken_by(rng, book, done, folder / "out", most=2, build=False):
            assert broken == [], (seed, n, done)


@pytest.fixture
def book(tmp_path: Path) -> Path:
    return shutil.copytree(GOOD, tmp_path / "book")


@pytest.mark.skipif(os.name == "nt", reason="names are text there")
@pytest.mark.parametrize("words", [("check",), ("build",), ("undo",), ("new",)], ids=" ".join)
def test_a_folder_whose_name_is_no_text_is_wrong_use(book: Path, words: tuple[str, ...]) -> None:
    odd = book.rename(book.parent / os.fsdecode(b"Bl\xf6cke"))
    done = run(words[0], odd, *words[1:])
    assert done.code == 2
    assert "is not UTF-8 text" in done.err


@pytest.mark.skipif(os.sep != "/", reason="no folder can be called so there")
@pytest.mark.parametrize("name", [r"spring\summer", "what?"])
@pytest.mark.parametrize("words", [("check",), ("build", "--leave-out"), ("undo",), ("new",)], ids=" ".join)
def test_a_mark_in_a_folders_name_that_the_database_mistakes_is_wrong_use(book: Path, words: tuple[str, ...], name: str) -> None:
    odd = book.rename(book.parent / name)
    done = run(words[0], odd, *words[1:])
    assert done.code == 2
    assert "in it; give it, or the one it lies in, another name" in done.err


def test_a_link_in_a_circle_is_no_place_for_a_new_book(tmp_path: Path) -> None:
    (tmp_path / "loop").symlink_to("loop")
    done = run("new", tmp_path / "loop", "--name", "x")
    assert done.code in (2, 3)
    assert done.err


@pytest.mark.parametrize(("missing", "says"), [
    ("blends", "a recipe that sums to 100 %"), ("candles", "the candle of batch P1 is not in candles.csv"), ("batches", "no batch is named P1"),
])  # fmt: skip
def test_what_a_batch_needs_may_be_missing(book: Path, missing: str, says: str) -> None:
    (book / f"{missing}.csv").unlink()
    for command, *words in (("pour", "P1"), ("label", "P1", "--out", book.parent), ("wick", "jar")):
        assert run(command, book, *words, "--leave-out").code in (0, 2)
    poured = run("pour", book, "P1")
    assert says in " ".join((poured.out + poured.err).split())


PIPES = ("loads.csv", "book.toml", "combtally.duckdb", ".combtally/database.sha256", ".combtally/taken", ".combtally/lock", ".combtally/journal",
         ".combtally/history/00000001", ".combtally/drafts/0123456789abcdef.json", "imports/harvests.toml")  # fmt: skip


@pytest.mark.skipif(os.name == "nt", reason="pipes are no files there")
@pytest.mark.parametrize("place", PIPES)
def test_nothing_waits_for_a_pipe_that_stands_where_a_file_is_expected(tmp_path: Path, place: str) -> None:
    """A device in the same place would be read until the memory is full."""
    book = write_kept(tmp_path / "book", ONE_SESSION_TOML, **ONE_SESSION)
    (book / place).parent.mkdir(parents=True, exist_ok=True)
    (book / place).unlink(missing_ok=True)
    os.mkfifo(book / place)
    for words in (("stock", "--leave-out"), ("change", "load", "2", "notes=x")):
        with cut_off(30):
            done = run(words[0], book, *words[1:])
        assert done.code in (0, 1, 2, 3)
        assert done.out + done.err
