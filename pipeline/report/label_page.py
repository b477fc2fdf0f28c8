"""Labels of one batch to print: a page of equal labels, and a page with the full text, on A4 or letter paper."""

from __future__ import annotations

from html import escape
from pathlib import Path

from pipeline.answers.label import LabelAnswer
from pipeline.contract.findings import MachineFault
from pipeline.wording import label_sentences as words
from pipeline.wording.amounts import Units

PAPERS = {"a4": ("A4", "210mm", "297mm"), "letter": ("letter", "8.5in", "11in")}
ACROSS, DOWN, DOWN_WITH_HAZARD_BOX = 2, 4, 3
"""Equal labels on a page: so many as leave room for the warnings and the boxes in a type that can be read."""

_STYLE = """@page{size:%(size)s;margin:0}*{box-sizing:border-box}
body{margin:0;color:#000;background:#fff;font:7.6pt/1.22 sans-serif}
main,section{width:%(width)s;height:%(height)s;overflow:hidden}
main{padding:8mm;page-break-after:always;display:grid;grid-template-columns:repeat(%(across)d,minmax(0,1fr));
grid-template-rows:repeat(%(down)d,minmax(0,1fr))}
article{border:1px dashed #767676;padding:3mm;overflow:hidden;display:grid;grid-template-columns:minmax(0,1fr) 21mm;
grid-template-rows:auto auto minmax(0,1fr);gap:1.5mm 2mm;overflow-wrap:anywhere}
section{padding:18mm;font-size:10.5pt;line-height:1.4}h1{font-size:15pt;margin:0 0 2mm}h2{font-size:10.5pt;margin:0}
section h2{margin-top:4mm}p{margin:0 0 .6mm}ul{margin:0;padding-left:5mm}svg.qr{width:21mm;height:21mm;display:block}
.lot{font-size:6.8pt;text-align:center}.warn{grid-column:1/3;display:grid;grid-template-columns:9mm 1fr;gap:1mm}
.boxes{grid-column:1/3;display:grid;grid-auto-flow:column;grid-auto-columns:1fr;gap:1mm}
.box{border:1px solid #000;font-size:6.4pt;padding:.5mm 1mm}.box.hazard{border-style:dotted}
section .box{height:24mm;margin-top:3mm;font-size:9pt}"""
_SIGN = (
    "<svg viewBox='0 0 24 22' width='9mm' role='img' aria-label='general warning sign'><path d='M12 1 23 21H1z' fill='#fff' "
    "stroke='#000' stroke-width='2' stroke-linejoin='round'/><path d='M12 8v6' stroke='#000' stroke-width='2.4'/>"
    "<circle cx='12' cy='17.4' r='1.4'/></svg>"
)


def write(at: LabelAnswer, units: Units, out: Path, book: str) -> list[Path]:
    """Write the labels for both paper sizes; the files. Raises MachineFault."""
    name = f"{book}-label-{at.batch.replace('/', '_').replace(' ', '_')}"
    written = []
    for key in PAPERS:
        path = out / f"{name}-{key}.html"
        try:
            out.mkdir(parents=True, exist_ok=True)
            path.write_text(page(at, units, key), "utf-8")
        except OSError as fault:
            raise MachineFault(f"{path} could not be written: {fault.strerror}") from fault
        written.append(path)
    return written


def page(at: LabelAnswer, units: Units, paper: str) -> str:
    """Both pages as one HTML file for one paper size."""
    size, width, height = PAPERS[paper]
    style = _STYLE % {"size": size, "width": width, "height": height, "across": ACROSS, "down": _down(at)}
    head = escape(f"Labels: {words.title(at)}, {words.lot(at)}")
    small = _label(at, units)
    return (
        f"<!doctype html><html lang='en'><meta charset='utf-8'><meta name='viewport' content='width=device-width'>"
        f"<title>{head}</title><style>{style}</style><main>{small * (ACROSS * _down(at))}</main>{_full(at, units)}</html>\n"
    )


def _down(at: LabelAnswer) -> int:
    return DOWN_WITH_HAZARD_BOX if at.scent else DOWN


def _label(at: LabelAnswer, units: Units) -> str:
    facts = [words.contents(at), words.amount(at, units), words.burning_time(at)]
    told = "".join(f"<p>{escape(f)}</p>" for f in facts if f)
    warnings = " ".join([*words.warnings(units), *words.advice(at, units)])
    lot = f"{_code(at)}<p class='lot'>{escape(words.lot(at))}</p>"
    return (
        f"<article><div><h2>{escape(words.title(at))}</h2>{told}</div><div>{lot}</div>"
        f"<div class='warn'>{_SIGN}<p>{escape(warnings)}</p></div><div class='boxes'>{_boxes(at)}</div></article>"
    )


def _boxes(at: LabelAnswer) -> str:
    """Room for the maker's address and, with a scent in it, for the hazard label: never filled here."""
    hazard = f"<div class='box hazard'>{escape(words.HAZARD_BOX)}</div>" if at.scent else ""
    return f"<div class='box'>{escape(words.MAKER_BOX)}</div>{hazard}"


def _code(at: LabelAnswer) -> str:
    """The lot as a square code: what ``trace`` takes as its ID, as plain text."""
    import segno

    drawn: str = segno.make(at.lot, error="m", micro=False).svg_inline(
        border=2, svgclass="qr", lineclass=None, omitsize=True
    )
    return drawn.replace("<svg ", f"<svg role='img' aria-label='{escape(words.lot(at), quote=True)}' ", 1)


def _full(at: LabelAnswer, units: Units) -> str:
    on_page = ACROSS * _down(at)
    sheets = -(-at.candles // on_page)
    parts = "".join(
        f"<h2>{escape(title)}</h2><ul>{''.join(f'<li>{escape(line)}</li>' for line in lines)}</ul>"
        for title, lines in words.full_text(at, units)
    )
    needed = f"{units.plural(at.candles, 'candle')} need {units.plural(sheets, 'sheet')} of {on_page} labels."
    return f"<section><h1>{escape(words.title(at))}</h1><p>{escape(needed)}</p>{parts}{_boxes(at)}</section>"
