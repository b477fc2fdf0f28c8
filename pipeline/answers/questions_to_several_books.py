"""One question asked of several books: each answers by itself, on every core, and its answer is kept in its folder."""

from __future__ import annotations

import gc
import json
import os
import signal
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from itertools import chain, pairwise
from pathlib import Path
from typing import Any

from pipeline.contract.findings import MachineFault
from pipeline.database.made_from import MadeFrom, made_from
from pipeline.database.text_cache import KeptTexts, digest_of
from pipeline.flow import Loaded, answering

_WORTH_PROCESSES = 8
"""So many books without an answer are shared among processes: a process takes as long to start as one or two books."""
_TOGETHER = 8
"""At most so many books are worked out in one database: more would make it slow, fewer would make many of them."""
_MOST_KEPT = 20
"""So many answers a book keeps for this: of more, most are of other days."""


@dataclass(frozen=True, slots=True)
class Question:
    """What is asked of each book. ``words``: what it is kept under; ``reads``: the tables that it asks.

    ``answer``: a function that another process can import, or a ``partial`` of one; it gives what JSON knows, and exact masses.
    """

    words: tuple[str, ...]
    reads: frozenset[str]
    answer: Callable[[Loaded], Any]


def answers(folders: Sequence[Path], today: date, question: Question) -> list[Any]:
    """What each book answers, in order; None for a book that has errors or cannot be read, which the caller opens and tells."""
    texts: list[str | None] = [_kept(folder, today, question) for folder in folders]
    missing = [n for n, text in enumerate(texts) if text is None]
    hands = (os.cpu_count() or 1) if len(missing) >= _WORTH_PROCESSES else 1
    parts = _shared_out(missing, hands)
    with _workers(hands) as work:
        tasks = [([folders[n] for n in part], today, question) for part in parts]
        for n, text in zip(missing, chain.from_iterable(work(_answered, tasks)), strict=True):
            texts[n] = text
    return [None if text is None else json.loads(text, object_hook=_value) for text in texts]


def _shared_out(books: Sequence[int], hands: int) -> list[Sequence[int]]:
    """The books in parts of no more than are worked out together: as many parts for each hand, all of them alike in size."""
    parts = hands * -(-len(books) // (hands * _TOGETHER))
    ends = [len(books) * n // parts for n in range(parts + 1)] if parts else []
    return [books[begin:end] for begin, end in pairwise(ends)]


Task = tuple[Sequence[Path], date, Question]


def _kept(folder: Path, today: date, question: Question) -> str | None:
    origin = made_from(folder, today)
    return None if origin is None else _shelf(folder).get(_key(origin, question))


def _answered(task: Task) -> list[str | None]:
    """The answers of some books, worked out now and kept."""
    folders, today, question = task
    return [_worked_out(folder, today, question) for folder in folders]


def _worked_out(folder: Path, today: date, question: Question) -> str | None:
    origin = made_from(folder, today)
    if origin is None:
        return None
    try:
        loaded = answering(question.reads, folder, today, origin)
    except MachineFault:
        return None
    text = None if loaded.blocked else json.dumps(question.answer(loaded), default=_exact)
    loaded.warehouse.close()
    if text is not None and origin.holds():  # else the answer may be of other logs than were hashed
        _shelf(folder).put(_key(origin, question), text, _MOST_KEPT)
    return text


def _shelf(folder: Path) -> KeptTexts:
    return KeptTexts(folder, "beside_others")


def _key(origin: MadeFrom, question: Question) -> str:
    return digest_of(origin.key, *question.words)


def _exact(value: object) -> Any:
    if isinstance(value, Decimal):
        return {"exact": str(value)}
    raise TypeError(f"{type(value).__name__} is nothing that JSON knows")


def _value(read: dict[str, Any]) -> Any:
    return Decimal(read["exact"]) if read.keys() == {"exact"} else read


@contextmanager
def _workers(
    hands: int,
) -> Iterator[Callable[[Callable[[Task], list[str | None]], Sequence[Task]], Iterator[list[str | None]]]]:
    """How work is done: here, or by so many processes; an interrupt ends them."""
    from concurrent.futures import ProcessPoolExecutor
    from multiprocessing import get_context

    if hands == 1:
        yield map
        return
    pool = ProcessPoolExecutor(hands, get_context("spawn"), _begin)
    try:
        yield pool.map
    finally:
        pool.shutdown(cancel_futures=True)


def _begin() -> None:
    """A worker: the interrupt of a keyboard is its sender's business, and it is over before collecting pays."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    gc.set_threshold(1_000_000)
