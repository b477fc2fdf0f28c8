"""Folders for copies: what killed commands left is swept, what others still use is not."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

from pipeline.reading.scratch_folder import scratch_folder


@pytest.mark.skipif(sys.platform == "win32", reason="whether a process runs is asked by POSIX")
def test_what_a_killed_command_left_is_swept_by_the_next(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    code = "import os; from pipeline.reading.scratch_folder import scratch_folder as s\nwith s() as f: (f / 'copy').touch(); os._exit(9)"
    env = os.environ | {"TMPDIR": str(tmp_path), "PYTHONPATH": os.pathsep.join(sys.path)}
    assert subprocess.run([sys.executable, "-c", code], env=env, check=False).returncode == 9
    (left,) = tmp_path.iterdir()
    others = [tmp_path / f"combtally-{os.getpid()}-mine", tmp_path / "combtally-bench-x", tmp_path / "else"]
    for folder in others:
        folder.mkdir()
    (tmp_path / f"combtally-{left.name.split('-')[1]}-link").symlink_to(others[2])
    with scratch_folder() as made:
        assert made.is_dir()
        assert not left.exists()
    assert not made.exists()
    assert all(folder.is_dir() for folder in others)
