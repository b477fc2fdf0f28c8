"""The sheet of one batch as a page to print on one side of A4 or letter paper."""

from __future__ import annotations

from html import escape

from pipeline.answers.pour import PourAnswer
from pipeline.wording import pour_sentences
from pipeline.wording.amounts import Units

_STYLE = (
    "@page{margin:10mm}body{font:9.2pt/1.25 sans-serif;max-width:50em;margin:auto;color:#111;background:#fff}"
    "h1{font-size:14pt;margin:0}h2{font-size:10.5pt;margin:.55em 0 .15em}ul{margin:0;padding-left:1.5em}"
    "li{overflow-wrap:anywhere}ul.tick li::marker{content:'☐  '}ul.caution li::marker{content:'!  '}"
    "ul.write{list-style:none;padding:0}ul.write li{padding:.5em 0 .1em;white-space:pre-wrap}ul.note{list-style:none;padding:0}"
    "ul.note li.command{font:8.6pt/1.3 monospace}ul.caution{border:1px solid #111;padding:.3em .3em .3em 1.6em;"
    "columns:22em 2;column-gap:2em}"
    "ul.many{columns:14em 3}li{break-inside:avoid}@media print{body{max-width:none}}"
)
_FEW = 3
"""More short lines than so many stand in columns: a pour may take a dozen small blocks."""


def page(at: PourAnswer, units: Units, book: str) -> str:
    """The page as one HTML file."""
    head = escape(pour_sentences.title(at, units))
    body = "".join(_part(p) for p in pour_sentences.parts(at, units, book))
    return (
        f"<!doctype html><html lang='en'><meta charset='utf-8'><meta name='viewport' content='width=device-width'>"
        f"<title>{head}</title><style>{_STYLE}</style><main><h1>{head}</h1>{body}</main></html>\n"
    )


def _part(part: pour_sentences.Part) -> str:
    items = "".join(f"<li{_command(line)}>{escape(line)}</li>" for line in part.lines)
    head = f"<h2>{escape(part.title)}</h2>" if part.title else ""
    many = " many" if part.title in ("Weigh", "Blocks") and len(part.lines) > _FEW else ""
    return f"{head}<ul class='{part.mark}{many}'>{items}</ul>"


def _command(line: str) -> str:
    return " class='command'" if line.startswith(pour_sentences.COMMAND) else ""
