"""Altair, loaded where the first chart is made: whoever only names a chart, as the topics do, need not wait for it."""

from __future__ import annotations

import sys
from importlib.util import LazyLoader, find_spec, module_from_spec
from types import ModuleType
from typing import TYPE_CHECKING

__all__ = ["alt"]


def _later(name: str) -> ModuleType:
    """A module whose code runs when something of it is first asked for (importlib's own recipe)."""
    spec = find_spec(name)
    if name in sys.modules or spec is None or spec.loader is None:
        return __import__(name)
    spec.loader = LazyLoader(spec.loader)
    module = sys.modules[name] = module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


if TYPE_CHECKING:
    import altair as alt
else:
    alt = _later("altair")
