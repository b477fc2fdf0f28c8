"""Traces against a walk of the tests' own, and the demo's longest chain worked out by hand."""

from __future__ import annotations

import time
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline import flow
from pipeline.analyses.wax_trace import LoopError
from pipeline.answers import trace
from tests.books import ROOT, write
from tests.oracle.book import Book
from tests.oracle.trace import Loop, Walk
from tests.strategies import LAST_DAY, books, looking, write_book


def up_and_down(book: Book) -> None:
    """Every block, batch and session of a book, back and ahead."""
    walk = Walk(book)
    with TemporaryDirectory() as folder:
        loaded = flow.load(write_book(book, Path(folder) / "book"), LAST_DAY)
        things = [("block", b) for b in book.blocks] + [("session", s) for s in book.passes]
        things += [("batch", b["batch"]) for b in book.logs["batches"]]
        ups, downs = {}, {}
        for kind, name in things:
            found = trace.trace(loaded, f"{kind} {name}")
            try:
                expected = walk.up(kind, name)
            except Loop:
                assert isinstance(found, LoopError)
                continue
            if isinstance(found, LoopError):
                continue  # the loop lies ahead of it
            assert isinstance(found, trace.Trace), (kind, name, found)
            ours = {(s.kind, s.id): s.share for s in found.up if s.kind in ("harvest", "block", "unknown")}
            assert ours == pytest.approx({k: float(v) for k, v in expected.items()}, abs=1e-9)
            assert sum(ours.values()) == pytest.approx(1, abs=1e-9)
            ups[kind, name], downs[kind, name] = expected, found
        for harvest in book.harvests:  # what a harvest finds ahead is what those things find behind
            found = trace.trace(loaded, f"harvest {harvest}")
            if isinstance(found, trace.Trace):
                ahead = {(o.kind, o.id) for o in found.down if o.kind in ("block", "session", "batch")}
                assert ahead == {thing for thing, shares in ups.items() if shares.get(("harvest", harvest))}


@given(books())
@looking(15)
def test_shares_of_random_books_agree_with_a_walk_step_by_step(book: Book) -> None:
    up_and_down(book)
