"""Texts kept in a book's folder under a digest of all that they depend on: pictures, answers; losing one only costs time."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path

from pipeline.book.book_settings import WORKSHOP
from pipeline.book.regular_files import bytes_of


class KeptTexts:
    """The texts of one kind, each a file that is named by its digest and begins with that of what it holds."""

    def __init__(self, book: Path, kind: str) -> None:
        """``kind`` names their folder."""
        self._folder = book / WORKSHOP / kind

    def get(self, key: str) -> str | None:
        """The text; None where there is none, or not a whole one."""
        try:
            digest, _, text = bytes_of(self._folder / key).decode().partition("\n")
        except (OSError, UnicodeDecodeError):
            return None
        return text if digest == digest_of(key, text) else None

    def put(self, key: str, text: str, most: int | None = None) -> None:
        """Keep a text, where the folder can be written; where ``most`` are kept already, it takes their place."""
        aside = self._folder / f"{key}.{os.getpid()}"
        with suppress(OSError):
            self._folder.mkdir(parents=True, exist_ok=True)
            if most is not None and len(list(self._folder.iterdir())) >= most:
                self.keep_only(())
            aside.write_bytes(f"{digest_of(key, text)}\n{text}".encode())
            aside.replace(self._folder / key)

    def keep_only(self, keys: Iterable[str]) -> None:
        """Remove all others, also what a killed command left half written."""
        wanted = set(keys)
        with suppress(OSError):
            for file in self._folder.iterdir():
                if file.name not in wanted:
                    file.unlink(missing_ok=True)


def digest_of(*words: str) -> str:
    """One SHA-256 of several texts in their order."""
    return hashlib.sha256("\0".join(words).encode("utf-8", "surrogatepass")).hexdigest()
