"""A small OpenDocument sheet (OASIS OpenDocument 1.2, part 1), written by hand."""

from __future__ import annotations

import zipfile
from datetime import date
from pathlib import Path

_NAMES = " ".join(
    f'xmlns:{name}="urn:oasis:names:tc:opendocument:xmlns:{name}:1.0"' for name in ("office", "table", "text")
)

_MANIFEST = (
    '<manifest:manifest xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0"><manifest:file-entry '
    'manifest:full-path="/" manifest:media-type="application/vnd.oasis.opendocument.spreadsheet"/></manifest:manifest>'
)


def ods(file: Path, rows: list[list[object]]) -> None:
    """Write rows of texts, numbers and days; None is an empty cell."""
    lines = "".join(f"<table:table-row>{''.join(map(_cell, row))}</table:table-row>" for row in rows)
    sheet = f'<table:table table:name="sheet">{lines}</table:table>'
    content = f"<office:document-content {_NAMES}><office:body><office:spreadsheet>{sheet}</office:spreadsheet></office:body></office:document-content>"
    with zipfile.ZipFile(file, "w") as packed:
        packed.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        packed.writestr("content.xml", content)
        packed.writestr("META-INF/manifest.xml", _MANIFEST)


def _cell(value: object) -> str:
    if value is None:
        return "<table:table-cell/>"
    kind = {date: ("date", "date-value"), str: ("string", ""), float: ("float", "value"), int: ("float", "value")}[type(value)]
    held = f' office:{kind[1]}="{value}"' if kind[1] else ""
    return f'<table:table-cell office:value-type="{kind[0]}"{held}><text:p>{value}</text:p></table:table-cell>'
