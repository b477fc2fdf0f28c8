"""Half-entered recordings, kept beside the logs: a locked phone loses nothing, and a session may stay open for weeks."""

from __future__ import annotations

import json
import re
import secrets
import time
from contextlib import suppress
from dataclasses import dataclass, field, replace
from itertools import groupby
from pathlib import Path
from typing import Any

from pipeline.book.regular_files import bytes_of
from pipeline.contract.findings import MachineFault
from pipeline.recording.answers_so_far import Draft, Spot
from pipeline.recording.durable_files import durable, put_in_place
from pipeline.recording.journal_record import guarded
from pipeline.recording.typed_rows import KINDS

_NAME = re.compile(r"[0-9a-f]{16}")
_MOST, _MOST_OPEN = 50, 500  # drafts kept before saved ones make room, and open ones before a new one is refused

_LEFT_S = 3600.0  # a draft is written in a moment; one that is half written for an hour is nobody's


@dataclass(frozen=True)
class Kept:
    """A draft with its name, the spots answered on each page so far, and what it came to once saved (else empty).

    ``typed`` is what stands on the page that is not answered yet, by the names of its fields.
    """

    name: str
    draft: Draft
    pages: tuple[tuple[Spot, ...], ...] = ()
    saved: str = ""
    typed: dict[str, str] = field(default_factory=dict)

    def with_page(self, answers: dict[Spot, str]) -> Kept:
        """One page further."""
        draft = self.draft
        for spot, text in answers.items():
            draft = draft.answered(spot, text)
        return replace(self, draft=draft, pages=(*self.pages, tuple(answers)), typed={})

    def back(self) -> Kept:
        """One page back, its answers kept to be offered again."""
        if not self.pages:
            return self
        draft = self.draft
        for _ in self.pages[-1]:
            draft = draft.back()
        return replace(self, draft=draft, pages=self.pages[:-1], typed={})


def begun(draft: Draft, name: str = "") -> Kept:
    """A draft under a name (empty: one of its own), its answers parted into pages by the row that they belong to."""
    pages = tuple(tuple(spots) for _, spots in groupby(draft.answers, key=lambda spot: spot[:2]))
    return Kept(name or secrets.token_hex(8), draft, pages)


class Drafts:
    """The drafts of one book, one small file each."""

    def __init__(self, book: Path) -> None:
        """Nothing is written before the first draft is."""
        self.book, self._folder = book, guarded(book, "drafts")

    def new(self, kind: str) -> Kept:
        """A draft without answers; the oldest that are saved, or were never answered, make room."""
        self._sweep()
        files = self._files()
        if len(files) >= _MOST:
            opened = {kept.name for kept in self.open()}
            if len(opened) >= _MOST_OPEN:
                raise MachineFault(f"{len(opened)} entries are begun and not saved; save or drop some first")
            for old in [f for f in files if f.stem not in opened][: len(files) - _MOST + 1]:
                old.unlink(missing_ok=True)
        kept = begun(Draft(kind))
        self.keep(kept)
        return kept

    def keep(self, kept: Kept) -> None:
        """Write it in one step, forced to disk while it is all there is of the entry. Raises MachineFault."""
        told = {
            "kind": kept.draft.kind,
            "answers": [[*spot, text] for spot, text in kept.draft.answers.items()],
            "kept": [[*spot, text] for spot, text in kept.draft.kept.items()],
            "pages": [[list(spot) for spot in page] for page in kept.pages],
            "saved": kept.saved,
            "typed": kept.typed,
        }
        try:
            self._folder.mkdir(parents=True, exist_ok=True)
            aside = self._folder / f"{kept.name}.new"
            if kept.saved:
                aside.write_bytes(json.dumps(told).encode())
            else:
                durable(aside, json.dumps(told).encode())
            put_in_place(aside, self._folder / f"{kept.name}.json")
        except OSError as fault:
            raise MachineFault(f"the draft could not be kept: {fault.strerror}") from fault

    def find(self, name: str) -> Kept | None:
        """The draft of that name; None where there is none or its file is damaged."""
        if not _NAME.fullmatch(name):
            return None
        try:
            return _read(name, json.loads(bytes_of(self._folder / f"{name}.json")))
        except (OSError, ValueError, KeyError, TypeError, IndexError, RecursionError):
            return None

    def drop(self, name: str) -> None:
        """Forget a draft."""
        if _NAME.fullmatch(name):
            (self._folder / f"{name}.json").unlink(missing_ok=True)

    def open(self) -> list[Kept]:
        """Drafts with answers that are not saved yet, the latest first."""
        found = (self.find(p.stem) for p in reversed(self._files()))
        return [k for k in found if k is not None and not k.saved and k.draft.answers]

    def _sweep(self) -> None:
        """Remove what a killed program left half written; what another is writing now is younger."""
        for left in self._folder.glob("*.new"):
            with suppress(OSError):
                if time.time() - left.lstat().st_mtime > _LEFT_S:
                    left.unlink()

    def _files(self) -> list[Path]:
        """Oldest first; one that another hand takes away meanwhile is left out."""
        found = []
        for path in self._folder.glob("*.json"):
            with suppress(FileNotFoundError):
                found.append((path.stat().st_mtime_ns, path.name, path))
        return [path for *_, path in sorted(found)]


def _read(name: str, told: dict[str, Any]) -> Kept:
    """A draft from its file. Raises KeyError, TypeError, ValueError or IndexError where it is none of this program's."""
    if told["kind"] not in ("session", *KINDS):
        raise ValueError("no kind of entry")
    answers = {_spot(a): str(a[3]) for a in told["answers"]}
    kept = {_spot(a): str(a[3]) for a in told["kept"]}
    pages = tuple(tuple(_spot(s) for s in page) for page in told["pages"])
    typed = {str(field): str(text) for field, text in dict(told.get("typed", {})).items()}
    return Kept(name, Draft(str(told["kind"]), answers, kept), pages, str(told["saved"]), typed)


def _spot(told: list[Any]) -> Spot:
    return str(told[0]), int(told[1]), str(told[2])
