"""Work of many parts, several at a time: each part is begun when all that it needs is done."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait
from graphlib import TopologicalSorter
from typing import TypeVar

T = TypeVar("T")

HANDS = 2
"""So many parts are worked on beside each other: small tables leave a second core idle."""


def abreast(needs: Mapping[str, list[str]], work: Callable[[str], T], hands: int) -> dict[str, T]:
    """What the work gives for each name; ``needs`` holds the names that each waits for; ``hands`` work beside each other.

    Of those that can be begun, the one goes first that the longest way of others waits for; of equals, the first named.
    What the work raises is raised when the parts under way have ended.
    """
    if hands == 1:
        return {name: work(name) for name in TopologicalSorter(needs).static_order()}
    done: dict[str, T] = {}
    order, behind = TopologicalSorter(needs), _behind(needs)
    order.prepare()
    ready: list[str] = []
    busy: dict[Future[T], str] = {}
    with ThreadPoolExecutor(hands) as pool:
        while order.is_active():
            ready = sorted([*ready, *order.get_ready()], key=lambda name: -behind[name])
            while ready and len(busy) < hands:
                name = ready.pop(0)
                busy[pool.submit(work, name)] = name
            for ended in wait(busy, return_when=FIRST_COMPLETED).done:
                name = busy.pop(ended)
                done[name] = ended.result()
                order.done(name)
    return done


def _behind(needs: Mapping[str, list[str]]) -> dict[str, int]:
    """How many others, one after another, wait for each."""
    behind = dict.fromkeys(needs, 0)
    for name in reversed(list(TopologicalSorter(needs).static_order())):
        for needed in needs[name]:
            behind[needed] = max(behind[needed], behind[name] + 1)
    return behind
