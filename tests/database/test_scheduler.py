"""Work of many parts: nothing begins before what it needs, two go at once, the longest way first, and a fault is told."""

from __future__ import annotations

import threading

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.database.scheduler import abreast


@given(st.lists(st.lists(st.integers(0, 11), max_size=4), min_size=1, max_size=12))
def test_every_part_is_done_once_and_after_what_it_needs(drawn: list[list[int]]) -> None:
    needs = {str(n): sorted({str(m) for m in before if m < n}) for n, before in enumerate(drawn)}
    done: list[str] = []

    def work(name: str) -> int:
        assert set(needs[name]) <= set(done)
        done.append(name)
        return int(name)

    for hands in (1, 2):
        done.clear()
        assert abreast(needs, work, hands) == {name: int(name) for name in needs}
        assert sorted(done) == sorted(needs)


def test_two_parts_are_worked_on_at_once() -> None:
    meet = threading.Barrier(2, timeout=10)
    assert set(abreast({"a": [], "b": []}, lambda _: meet.wait(), hands=2)) == {"a", "b"}


def test_the_part_that_most_wait_for_goes_first() -> None:
    begun: list[str] = []
    abreast({"alone": [], "also": [], "first": [], "second": ["first"], "third": ["second"]}, begun.append, hands=2)
    assert begun[0] == "first"


def test_what_the_work_raises_comes_out() -> None:
    def work(name: str) -> None:
        if name == "b":
            raise ValueError(name)

    with pytest.raises(ValueError, match="b"):
        abreast({"a": [], "b": ["a"], "c": ["b"]}, work, hands=2)
