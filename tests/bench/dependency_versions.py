"""The lowest and the newest versions that pyproject.toml allows, each tried: ``python -m tests.bench.dependency_versions``.

For ``lowest``, ``newest`` (or those named) a virtual environment is made, the program and pytest are installed into it
with every dependency at that end of its range, and the smoke tests below run. It prints what was installed and how the
tests ended, and ends with 1 where some failed.
"""

from __future__ import annotations

import re
import subprocess
import sys
import tempfile
import tomllib
import venv
from pathlib import Path

from tests.books import ROOT

SMOKE = (
    "tests/models/test_demo.py", "tests/test_flow.py", "tests/reading", "tests/checks", "tests/recording/test_record_and_undo.py",
    "tests/recording/test_sheets.py", "tests/web/test_recording_form.py", "tests/report/test_report.py", "tests/report/test_charts.py",
)  # fmt: skip
"""What touches every dependency: reading, models, checks, forecasts, charts, the page, the form, workbooks."""
TESTING = ("pytest", "pytest-xdist", "hypothesis", "httpx")


def requirements() -> list[str]:
    """Every requirement of the program and of its extras, but for those of the tests."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    extras = [r for name, rs in project["optional-dependencies"].items() if name != "test" for r in rs]
    return [*project["dependencies"], *extras]


def lowest(requirement: str) -> str:
    """The requirement pinned to the least version that it allows."""
    return re.sub(r">=([\w.]+).*", r"==\1", requirement)


def tried(end: str, folder: Path) -> bool:
    """Whether the smoke tests pass with every dependency at this end of its range."""
    venv.create(folder, with_pip=True)
    python = folder / ("Scripts" if sys.platform == "win32" else "bin") / "python"
    wanted = [lowest(r) for r in requirements()] if end == "lowest" else requirements()
    command = [python, "-m", "pip", "install", "--quiet", "--disable-pip-version-check", *wanted, *TESTING]
    if end == "newest":
        command += ["--upgrade", "--upgrade-strategy", "eager"]
    done = subprocess.run([*command, "-e", ROOT], check=False)
    if done.returncode:
        print(f"{end}: could not be installed together")
        return False
    names = "|".join(re.split(r"[>=<\[]", r)[0] for r in requirements())
    frozen = subprocess.run([python, "-m", "pip", "freeze"], capture_output=True, text=True, check=True).stdout
    installed = re.findall(rf"(?im)^(?:{names})==[\w.]+", frozen)
    print(f"{end}: {', '.join(installed)}")
    smoke = subprocess.run([python, "-m", "pytest", "-m", "not browser and not slow", *SMOKE], cwd=ROOT, check=False)
    print(f"{end}: {'passed' if smoke.returncode == 0 else 'FAILED'}")
    return smoke.returncode == 0


def main() -> None:
    """Try each end in an environment of its own."""
    passed = []
    for end in sys.argv[1:] or ("lowest", "newest"):
        with tempfile.TemporaryDirectory() as folder:
            passed.append(tried(end, Path(folder)))
    sys.exit(0 if all(passed) else 1)


if __name__ == "__main__":
    main()
