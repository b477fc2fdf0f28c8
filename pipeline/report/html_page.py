"""The page: finished sections in, one HTML string out; everybody's text escaped, the style bound by its hash."""

from __future__ import annotations

import base64
import hashlib
import re
from collections.abc import Mapping
from functools import cache
from importlib.resources import files

import jinja2
from markupsafe import Markup, escape

from pipeline.report.page_dataclasses import Drawing, Page
from pipeline.report.palette import COLOURS, paint, variables


def render(page: Page, drawings: Mapping[str, Drawing]) -> str:
    """One HTML document that needs nothing else: no script, no request; the same page gives the same text.

    ``drawings``: those of the page's pictures, by the pictures' names.
    """
    style = _style()
    return template().render(page=page, drawings=drawings, style=Markup(style), style_hash=_hash(style)) + "\n"


@cache
def _style() -> str:
    keys = "".join(f".c-{c.name}{{background:{paint(c.name)}}}" for c in COLOURS)
    text = files("pipeline.report").joinpath("style.css").read_text("utf-8")
    for mark, value in (("@LIGHT@", variables(dark=False)), ("@DARK@", variables(dark=True)), ("@KEYS@", keys)):
        text = text.replace(mark, value)
    return text


def _hash(style: str) -> str:
    """The source expression that lets exactly this style in (Content Security Policy Level 3)."""
    return "sha256-" + base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()


_HYPHENED = re.compile(r"(?<![\w-])(?=[\w-]{3,16}(?![\w-]))\w+(?:-\w+)+")
"""A date or a short name with hyphens, at which a browser would break a line."""


_MEASURE = re.compile(r"(?<=\d) (?=(?:%|kg|g|lb|oz)(?!\w))")
"""The space between a number and its unit."""


def unbroken(text: str) -> Markup:
    """Text as HTML in which dates, short names with hyphens, and numbers with their units stay on one line."""
    kept = _MEASURE.sub("\N{NO-BREAK SPACE}", str(escape(text)))
    return Markup(_HYPHENED.sub(r'<span class="t">\g<0></span>', kept))


def with_unit(head: str) -> str:
    """The head of a column; of several words the unit stays with the last."""
    words, comma, unit = head.rpartition(", ")
    return f"{words},\N{NO-BREAK SPACE}{unit}" if comma and " " in words else head


@cache
def template() -> jinja2.Template:
    """The page without its sections; to make it ready takes longer than to fill it."""
    env = jinja2.Environment(autoescape=True, undefined=jinja2.StrictUndefined, trim_blocks=True)
    env.filters |= {"unbroken": unbroken, "with_unit": with_unit}
    return env.from_string(files("pipeline.report").joinpath("page.html").read_text("utf-8"))
