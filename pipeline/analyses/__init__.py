"""Estimates, plans and verdicts: plain values and a date in, frozen dataclasses out."""
