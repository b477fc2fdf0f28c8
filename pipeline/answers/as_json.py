"""The one place where an answer becomes what JSON knows: numbers never rounded, what cannot be known null, text as it is."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from enum import Enum
from pathlib import Path
from typing import Any


def as_json(value: Any) -> Any:
    """A value as JSON knows it.

    A frozen value becomes an object of its fields (``from_`` is told as ``from``); where it has an ``in_json``, that
    says its shape instead.
    """
    if value is None or type(value) in (str, int, bool):
        return value
    if hasattr(value, "in_json"):
        return as_json(value.in_json())
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {f.name.rstrip("_"): as_json(getattr(value, f.name)) for f in dataclasses.fields(value)}
    if isinstance(value, Mapping):
        return {str(k): as_json(v) for k, v in value.items()}
    if isinstance(value, list | tuple):
        return [as_json(v) for v in value]
    return _plain(value)


def _plain(value: Any) -> Any:
    if isinstance(value, Decimal | float):
        return float(value) if math.isfinite(value) else None
    if isinstance(value, Enum):
        return value.value
    return str(value) if isinstance(value, date | Path) else value
