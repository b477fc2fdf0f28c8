"""The names that the logs already carry: keys against repeats, and what a reference may lead to."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from pipeline.book import Book
from pipeline.columns import Column, Log
from pipeline.logs import LOGS
from pipeline.quantities import Refusal
from pipeline.recording.shape import Shape, shape_of

_OPEN = {("loads", "session")}  # a session's loads are recorded before its first pass is
_SOURCES = {"harvest": "harvests", "block": "blocks", "session": "passes"}
_ITEMS = {"harvest": "harvests", "block": "blocks", "candle": "candles"}
_FEW = 4


@dataclass
class Names:
    """Keys by log, read when first asked for; ``added`` holds those of rows about to be recorded."""

    book: Book
    added: dict[str, set[tuple[str, ...]]] = field(default_factory=dict)
    _shapes: dict[str, Shape] = field(default_factory=dict)
    _keys: dict[str, set[tuple[str, ...]]] = field(default_factory=dict)
    _firsts: dict[str, set[str]] = field(default_factory=dict)

    def shape(self, log: str) -> Shape:
        """The log as it stands. Raises UnfitForWriting."""
        if log not in self._shapes:
            self._shapes[log] = shape_of(self.book, LOGS[log])
        return self._shapes[log]

    def keys(self, log: str) -> set[tuple[str, ...]]:
        """The keys on disk, each a tuple of its parts' text."""
        if log not in self._keys:
            self._keys[log] = set(self.shape(log).column(*LOGS[log].key))
        return self._keys[log]

    def first(self, log: str) -> set[str]:
        """The first part of every key, on disk or about to be recorded: the names that others refer to."""
        if log not in self._firsts:
            self._firsts[log] = {key[0] for key in self.keys(log)} - {""}
        return (
            self._firsts[log] | named if (named := {key[0] for key in self.added.get(log, ())}) else self._firsts[log]
        )

    def add(self, log: Log, row: Mapping[str, str]) -> bool:
        """Take a new row's key in; False where it stands already."""
        if not log.key:
            return True
        key = tuple(row.get(name, "") for name in log.key)
        if key in self.keys(log.name) or key in self.added.setdefault(log.name, set()):
            return False
        self.added[log.name].add(key)
        return True

    def doubts(self, log: Log, column: Column, row: Mapping[str, str]) -> Refusal | None:
        """Why what a cell refers to cannot be found, or None."""
        value = row.get(column.name, "")
        if not value:
            return None
        if column.refers and (log.name, column.name) not in _OPEN:
            return None if value in self.first(column.refers) else self._unknown(value, column.refers)
        if log.name == "loads" and column.name == "source":
            return self._source(value, row)
        if log.name == "stocktakes" and column.name == "item":
            found = self._found(value, _ITEMS)
            return found if isinstance(found, Refusal) else None
        return None

    def _source(self, value: str, row: Mapping[str, str]) -> Refusal | None:
        found = self._found(value, _SOURCES)
        if isinstance(found, Refusal):
            return found
        kind, name = found
        if kind == "session" and name == row.get("session"):
            return Refusal(
                "own-source", f"session {name} cannot load what comes out of it", "name the source it came from"
            )
        if kind == "session" and not row.get("part"):
            return Refusal("part-missing", f"{name} is a session; its slumgum or its wax may have been loaded",
                           "say which with part=slumgum or part=wax")  # fmt: skip
        if kind != "session" and row.get("part"):
            return Refusal("part-unfit", f"{name} is a {kind}, which has no parts", "leave part empty")
        if kind == "block" and self._blended(name):
            return Refusal("blended-block", f"block {name} is a mix, not pure wax", "load blocks of pure wax only")
        return None

    def _found(self, value: str, kinds: Mapping[str, str]) -> tuple[str, str] | Refusal:
        """The kind and name meant by ``A1`` or ``block A1``; an exact name wins over a prefix."""
        exact = [kind for kind, log in kinds.items() if value in self.first(log)]
        if len(exact) == 1:
            return exact[0], value
        if exact:
            several = ", ".join(f"{kind} {value}" for kind in exact)
            return Refusal("ambiguous-name", f"{value} stands in several logs", f"write one of: {several}")
        kind, _, name = value.partition(" ")
        if kind in kinds and name in self.first(kinds[kind]):
            return kind, name
        return self._unknown(value, *kinds.values())

    def _blended(self, block: str) -> bool:
        return any(name == block and blend for name, blend in self.shape("blocks").column("block", "blend"))

    def _unknown(self, value: str, *logs: str) -> Refusal:
        import difflib

        known = sorted({name for log in logs for name in self.first(log)})
        near = difflib.get_close_matches(value, known[-2000:], _FEW, 0.6)
        places = " or ".join(LOGS[log].file for log in logs)
        hint = f"did you mean {' or '.join(near)}?" if near else f"record it in {places} first"
        return Refusal("unknown_reference", f"no row of {places} is named {value}", hint)
