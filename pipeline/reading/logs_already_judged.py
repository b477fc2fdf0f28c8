"""Logs that their pandera models have judged whole, and as which bytes, so that what was judged once is not judged again.

A log is known where it begins with those bytes: rows that came since are judged by the predicates made from the same
columns, as a recorded row is, and a model and its library are loaded for a log that was changed in any other way.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from pathlib import Path

from pipeline.book.book_settings import TOML, Book
from pipeline.book.regular_files import bytes_of
from pipeline.contract.findings import MachineFault
from pipeline.contract.log_columns import LOGS
from pipeline.database.made_from import MadeFrom
from pipeline.database.text_cache import KeptTexts, digest_of


class JudgedLogs:
    """What a book's folder remembers of the logs that were judged by this program, with these settings."""

    def __init__(self, made_from: MadeFrom) -> None:
        """``made_from``: what the book's figures are made from now."""
        known = dict(made_from.origin)
        self._made_from, self._kept = made_from, KeptTexts(made_from.folder, "judged")
        self._key = digest_of(known["program"], known.get(TOML, ""))

    def known(self, book: Book) -> frozenset[str]:
        """The logs that begin with what was judged. Raises MachineFault."""
        before = json.loads(self._kept.get(self._key) or "{}")
        files = {log: file for log in LOGS for file in book.log_files(log) if file.name in before}
        try:
            return frozenset(log for log, file in files.items() if _begins(file, *before[file.name]))
        except OSError as fault:
            raise MachineFault(f"the logs could not be read: {fault.strerror}") from fault

    def remember(self, files: Mapping[str, Path]) -> None:
        """Keep what these logs hold now, and were judged as, where the folder can be written."""
        hashes = dict(self._made_from.origin)
        judged = {file.name: [file.stat().st_size, hashes[file.name]] for file in files.values()}
        self._kept.put(self._key, json.dumps(judged))
        self._kept.keep_only([self._key])


def _begins(file: Path, size: int, sha256: str) -> bool:
    return hashlib.sha256(bytes_of(file)[:size]).hexdigest() == sha256
