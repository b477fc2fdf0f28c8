"""What low, middle and high mean of whatever is not known for sure: one range for forecasts, burning times and market days."""

from __future__ import annotations

from typing import Final

LOW, MID, HIGH = 0.1, 0.5, 0.9
"""The points of a distribution that are told."""
HELD: Final = round(HIGH - LOW, 9)
"""The share of outcomes between low and high."""
