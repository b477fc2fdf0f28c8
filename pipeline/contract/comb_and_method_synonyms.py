"""Words that people write for a kind of comb or a way of melting, and the word that the logs have for each."""

from __future__ import annotations

import re
from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

COMB_WORDS: Final = {
    "cappings": (
        "cappings",
        "capping",
        "caps",
        "cap",
        "capping wax",
        "cappings wax",
        "dry cappings",
        "washed cappings",
        "deckelwachs",
        "entdeckelungswachs",
        "entdecklungswachs",
        "opercules",
        "opercule",
        "cire d'opercules",
        "zegelwas",
        "opérculos",
        "opercoli",
    ),
    "wet cappings": ("wet cappings", "sticky cappings", "cappings wet"),
    "white comb": (
        "white comb",
        "white",
        "new comb",
        "virgin comb",
        "honey comb",
        "super comb",
        "jungfernwaben",
        "cadres de hausse",
    ),
    "brood comb": (
        "brood comb",
        "brood",
        "old comb",
        "dark comb",
        "black comb",
        "old brood comb",
        "brood frames",
        "old combs",
        "altwaben",
        "brutwaben",
        "schwarze waben",
        "vieux cadres",
        "vieux rayons",
        "vieilles cires",
        "cadres de corps",
        "broedraat",
        "oude raat",
    ),
    "drone comb": ("drone comb", "drone", "drohnenwaben", "cadres à mâles", "darrenraat"),
    "burr comb": ("burr comb", "burr", "brace comb", "bridge comb", "wildbau"),
    "scrapings": ("scrapings", "scraping", "scraps", "hive scrapings"),
    "mixed": ("mixed", "mix", "mixture", "various", "all sorts"),
}
"""How people write the kinds of comb."""

METHOD_WORDS: Final = {
    "solar": (
        "solar",
        "sun",
        "solar melter",
        "solar box",
        "solar wax melter",
        "sonnenwachsschmelzer",
        "solaire",
        "zonnesmelter",
    ),
    "water bath": (
        "water bath",
        "hot water",
        "water",
        "boiled",
        "boil",
        "boiling",
        "in water",
        "wasserbad",
        "eau chaude",
    ),
    "steam": ("steam", "steamer", "steam box", "steam melter", "dampf", "dampfwachsschmelzer", "vapeur", "stoom"),
    "press": ("press", "pressed", "wax press", "presse"),
    "centrifuge": ("centrifuge", "spinner", "spun"),
    "slow cooker": ("slow cooker", "slowcooker", "crock pot", "crockpot"),
    "double boiler": ("double boiler", "bain marie", "pan in water"),
    "oven": ("oven",),
}
"""How people write the ways of melting."""

_BY_COLUMN: Final[Mapping[str, Mapping[str, tuple[str, ...]]]] = MappingProxyType(
    {"comb": COMB_WORDS, "method": METHOD_WORDS}
)


def canonical(text: str, words: Mapping[str, tuple[str, ...]], more: tuple[str, ...] = ()) -> str | None:
    """The book's own word for what somebody wrote; None where it is not known. ``more`` are words that the book adds."""
    said = re.sub(r"[\s_-]+", " ", text.strip().lower())
    own = {w.lower(): w for w in (*words, *more)}
    return own.get(said) or next((kind for kind, ways in words.items() if said in ways), None)


def meant_by(column: str, typed: str) -> str:
    """The word of the column that is meant by another one that people write; empty where none is known."""
    return canonical(typed, _BY_COLUMN.get(column, {})) or ""
