"""What a column of an old sheet can be: the words people head it with, and the words that stand in it.

The words are common usage, no source. A meaning that needs a number (the second pass's wax) takes it from the heading.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

LEFT_OUT: Final = ""


@dataclass(frozen=True, slots=True)
class Meaning:
    """One thing that a column can say: the log and column it fills, and the headings that name it.

    ``headings`` are whole words or short phrases, lower case; a longer one is the surer one.
    """

    name: str
    log: str
    field: str
    headings: tuple[str, ...]


MEANINGS: Final = {m.name: m for m in (
    Meaning("session", "passes", "session", (
        "session", "run", "melt", "batch", "batch no", "rendering", "render", "lot", "charge",
    )),
    Meaning("number", "passes", "session", ("no", "nr", "num", "number", "#", "id", "nummer", "numéro")),
    Meaning("pass", "passes", "pass", ("pass", "pass no", "pass number", "round", "step", "melt no", "which pass")),
    Meaning("date", "passes", "date", (
        "date", "day", "when", "rendered", "rendered on", "melted on", "datum", "fecha", "dato", "data", "le", "dag",
    )),
    Meaning("comb", "harvests", "comb", (
        "comb type", "type of comb", "kind", "kind of comb", "type", "material", "what", "wabenart", "art", "sorte", "nature",
        "type de cire", "soort", "soort raat", "tipo",
    )),
    Meaning("method", "passes", "method", (
        "method", "how", "melter", "equipment", "way", "process", "rendered with", "methode",
        "verfahren", "méthode", "procédé", "werkwijze", "método", "metodo",
    )),
    Meaning("in", "harvests", "mass", (
        "comb", "comb in", "in", "raw", "raw comb", "comb weight", "weight in", "start", "start weight", "input", "loaded",
        "before", "comb loaded", "dry comb", "waben", "cire brute", "poids brut", "raat", "rohgewicht",
        "total comb", "mass in", "cappings weight", "gross comb", "honey comb", "honeycomb",
    )),
    Meaning("out", "passes", "wax_out", (
        "wax", "wax out", "out", "clean wax", "wax weight", "weight out", "finished", "finished wax", "end weight", "output",
        "after", "got", "recovered", "rendered wax", "pure wax", "wachs", "was", "cire obtenue", "cire", "cera",
        "mass out", "wax recovered", "result",
    )),
    Meaning("residue", "passes", "residue", (
        "residue", "slumgum", "slum gum", "slum", "dregs", "waste", "leftovers", "leftover", "junk", "trester", "refuse", "gunk",
        "rückstand", "déchets", "marc", "afval", "residuo",
    )),
    Meaning("peak_temp", "passes", "peak_temp", ("temp", "temperature", "max temp", "peak temp", "hottest", "peak temperature")),
    Meaning("time", "passes", "time", ("time", "hours", "hrs", "minutes", "duration", "how long", "cook time")),
    Meaning("filter", "passes", "filter", ("filter", "strainer", "strained through", "cloth", "filtered through", "sieve")),
    Meaning("apiary", "harvests", "apiary", ("apiary", "yard", "bee yard", "beeyard", "site", "location", "stand", "out yard")),
    Meaning("hive", "harvests", "hive", ("hive", "hives", "colony", "colonies", "hive no")),
    Meaning("frames", "harvests", "frames", ("frames", "no of frames", "frame count", "combs", "number of frames")),
    Meaning("block", "blocks", "block", ("block", "block no", "cake", "cake no", "bar", "ingot", "brick", "block id")),
    Meaning("block_mass", "blocks", "mass", ("block weight", "cake weight", "bar weight", "brick weight", "block mass")),
    Meaning("colour", "blocks", "colour", ("colour", "color", "shade")),
    Meaning("place", "blocks", "place", ("place", "shelf", "stored", "stored in", "where", "box")),
    Meaning("supplier", "blocks", "supplier", ("supplier", "bought from", "from whom", "seller", "source")),
    Meaning("cost", "blocks", "cost", ("cost", "paid", "price paid")),
    Meaning("notes", "passes", "notes", (
        "notes", "note", "remarks", "remark", "comments", "comment", "memo", "bemerkung", "bemerkungen",
        "remarque", "remarques", "opmerking", "opmerkingen", "observaciones", "osservazioni",
    )),
    Meaning("weight", "", "mass", ("weight", "mass", "lbs", "lb", "kg", "pounds", "gewicht")),
    Meaning("ounces", "", "", ("oz", "ounces")),
    Meaning("honey", "", "", ("honey", "honig", "miel", "honing", "miele")),
    Meaning("worked_out", "", "", (
        "yield", "%", "percent", "pct", "yield %", "% wax", "recovery", "loss", "lost", "loss %", "total", "running total",
        "cumulative", "cumulative wax", "total wax", "year", "value",
    )),
)}  # fmt: skip
"""Every meaning by name. ``weight`` is a mass of whatever the row is; ``ounces`` belong to the pounds left of them; what
is worked out of other columns is not taken over, as it would be worked out again; ``number`` counts lines of any kind."""

TOTALS: Final = re.compile(
    r"\s*(grand |sub|season |year(ly)? |running )?(totals?|sums?|averages?|avg\.?|mean|summe|gesamt|insgesamt|somme|totale|suma|"
    r"totaal|moyenne|durchschnitt|media)\b",
    re.IGNORECASE,
)
"""How a line begins that sums up the lines above it."""

_UNITS: Final = {
    "g": ("g", "gram", "grams"), "kg": ("kg", "kgs", "kilo", "kilos"), "oz": ("oz", "ounces"),
    "lb": ("lb", "lbs", "pounds", "pound", "lb.", "lbs."), "c": ("°c", "c", "celsius"), "f": ("°f", "f", "fahrenheit"),
    "min": ("min", "mins", "minutes"), "h": ("h", "hr", "hrs", "hours"),
}  # fmt: skip
_WORD: Final = re.compile(r"[^\W\d_]+\.?|°\s?[cf]|#|%", re.IGNORECASE)
_ORDINAL: Final = re.compile(r"\b(\d)(?:st|nd|rd|th)?\b")
_IN_WORDS: Final = {
    "first": 1,
    "second": 2,
    "third": 3,
    "fourth": 4,
    "erste": 1,
    "zweite": 2,
    "première": 1,
    "deuxième": 2,
}


_VAGUE: Final = ("weight", "number")
"""Meanings that a heading has only where it names nothing else: the weight of comb is comb, the number of a batch the batch."""
_SHARES: Final = ("%", "percent", "pct", "yield", "ausbeute", "rendement")
"""A heading with one of these holds no weight, whatever else it says: ``Wax %``."""
_OF_ONE_PASS: Final = ("pass", "session", "filter")
"""``Pass 1``, ``2nd melt``, ``after 3rd filter``: with a number these head the wax of that pass."""


@dataclass(frozen=True, slots=True)
class OldHeading:
    """What a heading says: its meaning's name (None: no known word), the unit it carries, and the pass it is of."""

    meaning: str | None
    unit: str | None
    number: int | None
    sureness: int


def read_heading(text: str) -> OldHeading:
    """A heading in somebody's own words: ``Comb lbs`` is what went in, in lb; ``out 2`` the wax of the second pass."""
    words = [w.lower().replace(" ", "").rstrip(".") for w in _WORD.findall(re.sub(r"(?<=\d)(st|nd|rd|th)\b", "", text))]
    unit = next((name for w in reversed(words) for name, said in _UNITS.items() if w in said), None)
    bare = [w for w in words if not any(w in said for said in _UNITS.values())] or words
    said = " ".join(bare)
    known = [(len(h.split()), len(h), m.name) for m in MEANINGS.values() for h in m.headings if _names(h, said)]
    named = [k for k in known if k[2] not in _VAGUE] or known
    plain = [k for k in named if k[2] not in _OF_ONE_PASS] or named  # what went into the first melt is no melt
    found = max(plain, default=None)
    meaning, number = found[2] if found else None, _number(text, words)
    if number and meaning in _OF_ONE_PASS:
        meaning = "out"
    if any(w in _SHARES for w in words):
        meaning = "worked_out"
    return OldHeading(meaning, unit, number, found[0] if found else 0)


def _number(text: str, words: list[str]) -> int | None:
    """The pass that a heading names, in figures or in words."""
    found = _ORDINAL.search(text)
    return int(found[1]) if found else next((_IN_WORDS[w] for w in words if w in _IN_WORDS), None)


def _names(heading: str, said: str) -> bool:
    """Whether a known heading stands in what was written, as whole words."""
    return f" {heading} " in f" {said} "
