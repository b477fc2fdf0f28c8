"""What an analysis hands out is a value: nobody who gets it can change it, nor hang anything on it."""

from __future__ import annotations

from ast import Call, parse, walk
from collections.abc import Iterator
from dataclasses import fields, is_dataclass
from functools import cached_property
from importlib import import_module
from inspect import getsource
from pkgutil import iter_modules

import pytest

from pipeline import analyses

WORKING = {"_Shelf", "_Search", "UsualLoss"}
"""What is filled step by step inside one analysis: state, no value."""
ARRAYS = ("Array", "Floats", "Ints", "Flags", "npt.NDArray")


def values() -> Iterator[type]:
    for found in iter_modules(analyses.__path__):
        module = import_module(f"{analyses.__name__}.{found.name}")
        yield from (c for c in vars(module).values() if isinstance(c, type) and c.__module__ == module.__name__ and is_dataclass(c))


@pytest.mark.parametrize("value", [v for v in values() if v.__name__ not in WORKING], ids=lambda v: v.__name__)
def test_a_value_is_frozen_and_compared_only_where_that_can_be_answered(value: type) -> None:
    assert value.__dataclass_params__.frozen  # type: ignore[attr-defined]
    keeps = any(isinstance(kept, cached_property) for kept in vars(value).values())
    assert ("__slots__" in vars(value)) != keeps, "only what keeps something that it worked out has room for more than its fields"
    if any(str(f.type).startswith(ARRAYS) for f in fields(value)):  # two arrays are equal element by element: no yes or no
        assert not value.__dataclass_params__.eq  # type: ignore[attr-defined]


def test_what_goes_side_by_side_has_one_length() -> None:
    """Columns of unlike lengths are a fault, which a silent zip would turn into figures for the wrong rows."""
    sources = [getsource(import_module(f"{analyses.__name__}.{found.name}")) for found in iter_modules(analyses.__path__)]
    calls = [n for s in sources for n in walk(parse(s)) if isinstance(n, Call) and getattr(n.func, "id", "") == "zip"]
    assert len(calls) > 30
    assert all([(k.arg, getattr(k.value, "value", None)) for k in n.keywords] == [("strict", True)] for n in calls)
