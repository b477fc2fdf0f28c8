"""The phone page: plain HTML forms that need no script, served to this machine or, when asked, the home network."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path

from pipeline.findings import MachineFault


def serve(  # noqa: PLR0913 - the command's options
    folder: Path,
    today: date | None,
    *,
    lan: bool,
    port: int,
    idle_min: float,
    reports: Path,
    say: Callable[[str], None],
) -> None:
    """Serve until stopped or idle. Raises MachineFault where the extra is missing or the port is taken."""
    try:
        from pipeline.recording.form import serving
    except ModuleNotFoundError as missing:
        raise MachineFault(
            f"the phone page needs {missing.name}, which is not installed; add the form extra in combtally's folder: "
            "pip install -e '.[form]'"
        ) from missing
    serving.run(folder, today, lan=lan, port=port, idle_min=idle_min, reports=reports, say=say)
