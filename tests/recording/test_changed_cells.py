"""A small sample; ``python -m tests.bench.changed_cells`` changes 2,000."""

from __future__ import annotations

import os
from pathlib import Path
from random import Random

from tests.recording.changed_cells import misplaced


def test_a_changed_cell_changes_nothing_else(tmp_path: Path) -> None:
    seed = os.environ["COMBTALLY_SEED"]
    for n in range(30):
        assert misplaced(Random(f"{seed} {n}"), tmp_path) is None, (seed, n)
