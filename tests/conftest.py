"""Options and fixtures that all tests share, and the seed of all that is drawn at random."""

from __future__ import annotations

import ctypes.util
import gc
import os
import shutil
import subprocess
import sys
from pathlib import Path
from random import SystemRandom

import pytest
from filelock import FileLock
from hypothesis import settings

from pipeline.database import scheduler

SEED = "COMBTALLY_SEED"
"""Where the seed of the laws stands: given, it is taken; where tests run for others (``CI``) it is fresh; else it is 0."""

if "PYTEST_XDIST_WORKER" in os.environ:  # a test process for each core leaves none idle
    scheduler.HANDS = 1

os.environ.pop("PYTHONDONTWRITEBYTECODE", None)  # the processes that tests begin compile the program once, not each
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # as the command line has it
os.environ.setdefault("GLIBC_TUNABLES", "glibc.malloc.tcache_count=2000")  # a tenth less processor for the processes begun from here
if found := ctypes.util.find_library("jemalloc"):  # where it is installed: of one seed 186 s of a whole run became 175
    os.environ.setdefault("LD_PRELOAD", found)
settings.register_profile("combtally", deadline=None, database=None, derandomize=False, print_blob=True)


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--renew", action="store_true", help="write the golden pages anew instead of comparing with them")


@pytest.hookimpl(tryfirst=True)
def pytest_configure(config: pytest.Config) -> None:
    """One seed for every law and every process of the run: those begun later find it in their environment."""
    settings.load_profile("combtally")
    fresh = SystemRandom().randrange(2**32) if os.environ.get("CI") else 0
    config.option.hypothesis_seed = os.environ.setdefault(SEED, str(fresh))


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """The slow ones first, so that at the end no process waits for another that has just begun one."""
    items.sort(key=lambda item: item.get_closest_marker("slow") is None)


def pytest_collection_finish() -> None:
    """All that was loaded stays: no search for garbage looks at it again, nor often at the rest (a judgement: 4 % of processor)."""
    gc.freeze()
    gc.set_threshold(50_000, 20, 50)


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    terminalreporter.write_line(f"the laws' seed was {os.environ[SEED]}; {SEED}={os.environ[SEED]} draws the same again")


@pytest.fixture
def renew(request: pytest.FixtureRequest) -> bool:
    return bool(request.config.getoption("--renew"))


@pytest.fixture(scope="session")
def built_demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo, built once for all test processes, its page in ``reports``; who changes it takes a copy, which needs no building.

    It is built by a process of its own, which leaves the names of the modules that it loaded in ``modules`` beside it.
    """
    from tests.books import ROOT, TODAY

    of_all = tmp_path_factory.getbasetemp().parent if "PYTEST_XDIST_WORKER" in os.environ else tmp_path_factory.getbasetemp()
    book, derived = of_all / "built" / "demo", shutil.ignore_patterns("*.duckdb", ".combtally", "reports")
    with FileLock(of_all / "built.lock"):
        if not (book / "reports" / "demo.html").exists():
            shutil.copytree(ROOT / "data" / "demo", book, ignore=derived, dirs_exist_ok=True)
            build = f"import sys; sys.argv = ['combtally', 'build', {str(book)!r}, '--today', '{TODAY}']\n"
            build += "from pipeline.cli import main\ntry: main()\nfinally: print(*sys.modules, file=sys.stderr)"
            with (book.parent / "modules").open("w") as modules:
                subprocess.run([sys.executable, "-c", build], cwd=ROOT, stdout=subprocess.DEVNULL, stderr=modules, check=True)
    return book


@pytest.fixture
def drawn_demo(built_demo: Path, tmp_path: Path) -> Path:
    """A copy of the demo whose pictures are drawn; its figures and its page are still to be made."""
    return Path(shutil.copytree(built_demo, tmp_path / "demo", ignore=shutil.ignore_patterns("*.duckdb", "reports")))
