"""The balances of a book as the sparse rows of one matrix, streams that nobody weighed eliminated from them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

import numpy as np

from pipeline.analyses.balance_least_squares import Floats, Network


class Entries:
    """The cells of A, gathered row by row; rows that hold an unweighed stream wait until it is eliminated."""

    def __init__(self) -> None:
        self._sizes: list[int] = []
        self._stream: list[int] = []
        self._coefficient: list[float] = []
        self._holed: list[dict[int, float]] = []

    def add(self, streams: Sequence[int], coefficients: Sequence[float], weighed: bool) -> int:
        """One more row; ``weighed``: whether all its streams were. Its number, -1 while it waits."""
        if not weighed:
            self._holed.append(dict(zip(streams, coefficients, strict=True)))
            return -1
        self._sizes.append(len(streams))
        self._stream.extend(streams)
        self._coefficient.extend(coefficients)
        return len(self._sizes) - 1

    def eliminate(self, unweighed: Sequence[int]) -> None:
        """Take each unweighed stream out of all rows by the first row that holds it; that row is used up."""
        rows, wanted = self._holed, set(unweighed)
        holding: dict[int, set[int]] = defaultdict(set)
        for i, row in enumerate(rows):
            for stream in wanted & row.keys():
                holding[stream].add(i)
        for stream in unweighed:
            here = sorted(holding.pop(stream, ()))
            if not here:
                continue
            pivot = rows[here[0]]
            for i in here[1:]:
                _subtract(rows[i], pivot, rows[i][stream] / pivot[stream])
                rows[i].pop(stream, None)
                for other in wanted & pivot.keys():
                    (holding[other].add if other in rows[i] else holding[other].discard)(i)
            for other in wanted & pivot.keys():
                holding[other].discard(here[0])
            rows[here[0]] = {}
        self._holed = []
        for row in rows:
            if row:
                self.add(tuple(row), tuple(row.values()), weighed=True)

    def network(self, value: Floats, variance: Floats) -> Network:
        """These rows over streams of such values and variances."""
        row = np.repeat(np.arange(len(self._sizes)), np.array(self._sizes, np.int64))
        stream, coefficient = np.array(self._stream, np.int64), np.array(self._coefficient, np.float64)
        return Network(value, variance, row, stream, coefficient, len(self._sizes))


def _subtract(row: dict[int, float], pivot: dict[int, float], times: float) -> None:
    for other, coefficient in pivot.items():
        new = row.get(other, 0.0) - times * coefficient
        if abs(new) < 1e-12:
            row.pop(other, None)
        else:
            row[other] = new
