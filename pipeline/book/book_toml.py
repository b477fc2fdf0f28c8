"""A book's ``book.toml`` read: what it says, and a finding where it is no TOML or says what cannot be used."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType
from typing import Any, Final

from pipeline.book import allowed_settings
from pipeline.book.book_settings import TOML, Book, Scale, Show, usual_densities
from pipeline.book.regular_files import bytes_of
from pipeline.contract.findings import Finding, MachineFault, Severity

_LONGEST, _LARGEST = 2_000, 1_000_000
"""Most characters of one line of it, and of all: settings nest three deep, and long lists have some hundreds: a judgement."""
RULES: Final = MappingProxyType({
    "book-missing": "a folder without a book.toml",
    "book-unreadable": "a book.toml that is not TOML",
    "book-unknown-key": "a setting that there is not",
    "book-setting": "a setting whose value cannot be used, or a name that is missing",
})  # fmt: skip
"""Every rule of ``book.toml`` with what it finds, for the documentation."""


def read_book(folder: Path) -> tuple[Book, list[Finding]]:
    """The book in a folder, and what is wrong with its ``book.toml``; a faulty setting keeps its default.

    Raises MachineFault where the file may not be read.
    """
    file = folder / TOML
    try:
        text = bytes_of(file).decode("utf-8-sig")
    except FileNotFoundError:
        return Book(folder, folder.resolve().name), [_no_toml()]
    except UnicodeDecodeError:
        return Book(folder, folder.resolve().name), [_not_toml("it is not UTF-8 text", None)]
    except OSError as fault:
        raise MachineFault(f"{TOML} cannot be read: {fault.strerror}") from fault
    if too_long := _too_long(text):
        return Book(folder, folder.resolve().name), [too_long]
    try:
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError as fault:
        line = re.search(r"at line (\d+)", str(fault))
        reason = re.sub(r" \(at .*\)", "", str(fault))
        found = _not_toml(f"it cannot be read as TOML ({reason})", int(line[1]) if line else None)
        return Book(folder, folder.resolve().name), [found]
    except (RecursionError, ValueError):
        found = _not_toml("it is nested too deeply, or holds a number of thousands of digits", None)
        return Book(folder, folder.resolve().name), [found]
    values, complaints = allowed_settings.checked(raw)
    lines = allowed_settings.lines_of(text)
    return _book(folder, values), [_finding(c, lines) for c in complaints]


def _too_long(text: str) -> Finding | None:
    """Why a text is no book.toml of a person: the library that reads it takes minutes for a key of very many parts."""
    long = next(((n, len(line)) for n, line in enumerate(text.splitlines(), 1) if len(line) > _LONGEST), None)
    if long:
        return _not_toml(f"the line is {long[1]:,} characters long, {_LONGEST:,} were expected at most", long[0])
    if len(text) > _LARGEST:
        return _not_toml(f"it holds {len(text):,} characters, {_LARGEST:,} were expected at most", None)
    return None


def _book(folder: Path, values: dict[str, Any]) -> Book:
    """A book from checked settings; what is not given keeps its default."""
    given = ("season_starts", "currency", "dates", "decimal", "comb_kinds", "changes", "costs")
    plain: dict[str, Any] = {key: values[key] for key in given if key in values}
    forecast, vessels = values.get("forecast", {}), values.get("vessels", {})
    if "pour_loss_pct" in forecast:
        plain["pour_loss_share"] = forecast["pour_loss_pct"] / 100
    return Book(
        folder,
        values.get("name", folder.resolve().name),
        show=Show(**values.get("show", {})),
        scales=_scales(values.get("scale", {})),
        vessels={name: empty_g for name, (empty_g, _) in vessels.items()},
        vats={name: full_g - empty_g for name, (empty_g, full_g) in vessels.items() if full_g is not None},
        methods=tuple(values.get("methods", {}).get("names", ())),
        densities=usual_densities() | values.get("densities", {}),
        **plain,
    )


def _scales(section: dict[str, Any]) -> dict[str, Scale]:
    """The scales by log, the book's own scale under the empty name; a log's scale inherits what it leaves out."""
    own = _in_grams({k: v for k, v in section.items() if not isinstance(v, dict)})
    per_log = {log: Scale(**(own | _in_grams(v))) for log, v in section.items() if isinstance(v, dict)}
    return {"": Scale(**own)} | per_log


def _in_grams(scale: dict[str, Any]) -> dict[str, Any]:
    """A scale's settings, with a step in a unit of its own (read already) as the step in grams that it is."""
    return {"step_g" if key == "step" else key: value for key, value in scale.items()}


def _finding(complaint: allowed_settings.Complaint, lines: Mapping[tuple[str, ...], int]) -> Finding:
    name, line = ".".join(complaint.path) or None, lines.get(complaint.path)
    told = complaint.value
    value = told if told is None or isinstance(told, str) else allowed_settings.shown(told)
    return Finding(TOML, line, name, value, complaint.rule, Severity.ERROR, complaint.message, complaint.fix)


def _no_toml() -> Finding:
    message = "the folder has no book.toml, so nothing says whose records these are"
    fix = 'make one that holds at least name = "Larkmoor"'
    return Finding(TOML, None, None, None, "book-missing", Severity.ERROR, message, fix)


def _not_toml(reason: str, line: int | None) -> Finding:
    fix = 'write settings as name = "Larkmoor", one to a line, text in double quotes'
    return Finding(TOML, line, None, None, "book-unreadable", Severity.ERROR, reason, fix)
