"""What must be said of a forecast beside its figures, as values; :mod:`pipeline.wording.forecast_doubt_sentences` says it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True, slots=True)
class Doubt:
    """One thing that a forecast rests on or leaves open: ``what`` it is, and the values that its sentence tells."""

    what: str
    values: Mapping[str, Any] = field(default_factory=dict)
