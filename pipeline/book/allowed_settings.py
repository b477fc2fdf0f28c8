"""The form of ``book.toml``: every key that it may hold, and what a value must look like."""

from __future__ import annotations

import re
import reprlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date
from difflib import get_close_matches
from typing import Any

from pipeline.contract.log_columns import COMB_KINDS, LOGS, METHODS
from pipeline.contract.quantities import Dimension, Refusal, read_quantity


@dataclass(frozen=True, slots=True)
class Complaint:
    """One setting that cannot be used: its path of keys, the value found, and the sentence about it."""

    path: tuple[str, ...]
    value: object
    rule: str
    message: str
    fix: str


class Unusable(ValueError):  # noqa: N818 - says what the setting is
    """A setting's value is not what it must be; the text says what was expected."""


_SHOWN = 100  # characters of a value that is told
_MOST = 1_000  # complaints that are told: nobody reads more

Reader = Callable[[Any], Any]
Form = dict[str, "Reader | Form"]


def _text(value: Any) -> str:
    if not isinstance(value, str) or not value.strip() or len(value) > 200:
        raise Unusable("text in double quotes")
    return value.strip()


def _one_of(*words: str) -> Reader:
    def read(value: Any) -> str:
        if value not in words:
            raise Unusable("one of " + ", ".join(words))
        return str(value)

    return read


def _number(low: float, high: float, unit: str = "", above: bool = False) -> Reader:
    bounds = f"a number {'over' if above else 'from'} {low:g} {'up ' if above else ''}to {high:g}{unit}"

    def read(value: Any) -> float:
        if isinstance(value, bool) or not isinstance(value, int | float):
            raise Unusable(bounds)
        if not low <= value <= high or (above and value == low):
            raise Unusable(bounds)
        return float(value)

    return read


def _month_day(value: Any) -> tuple[int, int]:
    match = re.fullmatch(r"(\d\d)-(\d\d)", value) if isinstance(value, str) else None
    try:
        day = date(2001, int(match[1]), int(match[2])) if match else None  # 2001: a year without 29 February
    except ValueError:
        day = None
    if day is None:
        raise Unusable('a month and a day that every year has, such as "07-01"')
    return day.month, day.day


def _currency(value: Any) -> str:
    if not isinstance(value, str) or not re.fullmatch("[A-Z]{3}", value):
        raise Unusable('three capital letters of ISO 4217, such as "EUR" or "USD"')
    return value


def _mass(value: Any) -> float:
    mass = read_quantity(value, Dimension.MASS) if isinstance(value, str) else None
    if mass is None or isinstance(mass, Refusal) or mass <= 0:
        raise Unusable('an empty weight with its unit, such as "1.84 kg"')
    return float(mass)


def _vessel(value: Any) -> tuple[float, float | None]:
    """A vessel's empty weight and, of a dipping vat, what it weighs full, g."""
    if not isinstance(value, dict):
        return _mass(value), None
    if set(value) != {"empty", "full"} or _mass(value["empty"]) >= _mass(value["full"]):
        raise Unusable('{ empty = "1.2 kg", full = "6.4 kg" }, with empty under full')
    return _mass(value["empty"]), _mass(value["full"])


def _wax_share(value: Any) -> tuple[float, float]:
    share = _number(0, 1)
    try:
        low, high = share(value["low"]), share(value["high"])
    except (TypeError, KeyError):
        raise Unusable("{ low = 0.3, high = 0.7 }, shares of wax between 0 and 1") from None
    if set(value) != {"low", "high"} or not 0 < low < high < 1:
        raise Unusable("{ low = 0.3, high = 0.7 } with low under high, both between 0 and 1")
    return low, high


def _names(value: Any) -> list[str]:
    if not isinstance(value, list):
        raise Unusable('a list of names, such as ["infrared lamp"]')
    return [_text(name) for name in value]


def _step(value: Any) -> float:
    step = read_quantity(value, Dimension.MASS) if isinstance(value, str) else None
    if step is None or isinstance(step, Refusal) or step <= 0:
        raise Unusable('the step with its unit, such as "0.1 oz" or "5 g"')
    return float(step)


_SCALE: Form = {"step_g": _number(0, 1e6, " g", above=True), "step": _step, "relative": _number(0, 1)}
FORM: Form = {
    "name": _text,
    "season_starts": _month_day,
    "currency": _currency,
    "dates": _one_of("iso", "day-first", "month-first"),
    "decimal": _one_of("auto", "dot", "comma"),
    "show": {
        "mass": _one_of("g", "kg", "oz", "lb", "lb oz"),
        "length": _one_of("mm", "in"),
        "temperature": _one_of("C", "F"),
    },
    "scale": _SCALE | dict.fromkeys(LOGS, _SCALE),
    "vessels": {"*": _vessel},
    "comb_kinds": {"*": _wax_share},
    "methods": {"names": _names},
    "changes": {"*": _text},
    "forecast": {"pour_loss_pct": _number(0, 99, " percent")},
    "densities": {"*": _number(0, 25, " g/ml", above=True)},
    "costs": {"*": _number(0, 1e9)},
}
"""The keys of book.toml; ``*`` stands for names of the keeper's own."""


def checked(raw: dict[str, Any]) -> tuple[dict[str, Any], list[Complaint]]:
    """The usable settings, read, and a complaint for each that is not."""
    complaints: list[Complaint] = []
    values = _section(raw, FORM, (), complaints)
    if "name" not in raw:
        fix = 'add a line such as name = "Larkmoor" at its top'
        complaints.append(Complaint(("name",), None, "book-setting", "the book has no name", fix))
    if len(complaints) >= _MOST:
        more = "there are more settings that cannot be used than anybody would read"
        complaints.append(Complaint((), None, "book-setting", more, "look whether this is the book's own book.toml"))
    complaints.extend(_taken(values))
    complaints.extend(_two_steps(values.get("scale", {}), ("scale",)))
    values["changes"] = dict(_dated(values.get("changes", {}), complaints))
    return values, complaints


def _section(raw: dict[str, Any], form: Form, path: tuple[str, ...], complaints: list[Complaint]) -> dict[str, Any]:
    values: dict[str, Any] = {}
    for key, value in raw.items():
        here = (*path, key)
        reader = form.get(key) or form.get("*")
        if len(complaints) >= _MOST:
            break
        if reader is None:
            complaints.append(_unknown(here, value, form))
        elif isinstance(reader, dict):
            if isinstance(value, dict):
                values[key] = _section(value, reader, here, complaints)
            else:
                complaints.append(_unusable(here, value, f"a section headed [{'.'.join(here)}]"))
        else:
            try:
                values[key] = reader(value)
            except Unusable as expected:
                complaints.append(_unusable(here, value, str(expected)))
    return values


def shown(value: object) -> str:
    """A setting's value as it stands in the file, shortened: values can be long, and nested thousands deep."""
    short = reprlib.Repr()
    short.maxstring = short.maxother = _SHOWN
    return short.repr(value)


def _unusable(path: tuple[str, ...], value: object, expected: str) -> Complaint:
    shown = (
        repr(value)
        if not isinstance(value, str | list | dict) or len(value) <= _SHOWN
        else f"{str(value)[:_SHOWN]!r} …"
    )
    message = f"{shown} cannot be used for {path[-1]}: expected {expected}"
    return Complaint(path, value, "book-setting", message, "correct the line")


def _unknown(path: tuple[str, ...], value: object, form: Form) -> Complaint:
    near = get_close_matches(path[-1][:_SHOWN], form, 1)
    fix = f"did you mean {near[0]}?" if near else "the keys here are " + ", ".join(form)
    return Complaint(path, value, "book-unknown-key", f"there is no setting {'.'.join(path)}", fix)


def _taken(values: dict[str, Any]) -> Iterator[Complaint]:
    """Own comb kinds and methods that repeat a built-in one."""
    for kind in set(values.get("comb_kinds", {})) & set(COMB_KINDS):
        message = f"{kind} is a comb kind already"
        yield Complaint(("comb_kinds", kind), kind, "book-setting", message, "take the line out or choose another name")
    for name in set(values.get("methods", {}).get("names", ())) & set(METHODS):
        message = f"{name} is a method already"
        yield Complaint(("methods", "names"), name, "book-setting", message, "take the name out of the list")


def _two_steps(scale: dict[str, Any], path: tuple[str, ...]) -> Iterator[Complaint]:
    """A scale whose step is said twice; in grams and in another unit they may contradict each other."""
    if {"step", "step_g"} <= set(scale):
        message = "step and step_g both say the smallest step of the scale"
        yield Complaint((*path, "step"), None, "book-setting", message, "take one of the two lines out")
    for log, own in scale.items():
        if isinstance(own, dict):
            yield from _two_steps(own, (*path, log))


def _dated(changes: dict[str, str], complaints: list[Complaint]) -> Iterator[tuple[date, str]]:
    for day, what in changes.items():
        try:
            yield date.fromisoformat(day), what
        except ValueError:
            complaints.append(_unusable(("changes", day), day, 'a date as the key, such as "2025-04-01" = "new press"'))


def lines_of(text: str) -> dict[tuple[str, ...], int]:
    """The line of each setting in the text of a book.toml, by its path of keys; a section's line under its own path."""
    section: tuple[str, ...] = ()
    found: dict[tuple[str, ...], int] = {}
    for number, line in enumerate(text.splitlines(), 1):
        if header := re.fullmatch(r"\s*\[([^\[\]]+)\]\s*(#.*)?", line):
            section = tuple(part.strip().strip("\"'") for part in header[1].split("."))
            found.setdefault(section, number)
        key = re.match(r"\s*(\"[^\"]*\"|'[^']*'|[\w.-]+)\s*=", line)
        if key:
            found.setdefault((*section, key[1].strip("\"'")), number)
    return found
