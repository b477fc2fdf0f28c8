"""A small sample of the damaged logs; ``python -m tests.bench.damaged_logs`` reads 20,000."""

from __future__ import annotations

import os
from pathlib import Path
from random import Random

from pipeline.reading.one_log import LogRead
from tests.reading.damaged_logs import damaged, is_there, vanished


def test_no_line_of_a_damaged_log_vanishes(tmp_path: Path) -> None:
    seed = os.environ["COMBTALLY_SEED"]
    for n in range(40):
        data = damaged(Random(f"{seed} {n}"))
        assert vanished(data, tmp_path) == [], (seed, n, data)


def test_the_law_sees_a_line_that_vanished() -> None:
    rows = {2: "H1 2025-05-01 mixed"}
    assert is_there(2, "H1,2025-05-01,mixed", rows, LogRead())
    assert is_there(3, " , ,", rows, LogRead())
    assert not is_there(3, "H2,2025-05-02,mixed", rows, LogRead())
