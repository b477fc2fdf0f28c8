"""The phone page: plain HTML forms that need no script, served to this machine or, when asked, the home network."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from pipeline.contract.findings import MachineFault


@dataclass(frozen=True, slots=True)
class Wish:
    """How a book is to be served: to whom, where, until how many quiet minutes, and who says the address aloud."""

    folder: Path
    today: date | None
    lan: bool
    port: int
    idle_min: float
    reports: Path
    say: Callable[[str], None]


def serve(wish: Wish) -> None:
    """Serve until stopped or idle. Raises MachineFault where the extra is missing or the port is taken."""
    try:
        from pipeline.web import server
    except ModuleNotFoundError as missing:
        raise MachineFault(
            f"the phone page needs {missing.name}, which is not installed; add the form extra in combtally's folder: "
            "pip install -e '.[form]'"
        ) from missing
    server.run(wish)
