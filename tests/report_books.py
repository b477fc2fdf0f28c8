"""Books made to try the report: nothing in them, one session, hostile text, thirty seasons; and pages read as text."""

from __future__ import annotations

import csv
import re
from datetime import date, timedelta
from functools import cache
from html.parser import HTMLParser
from pathlib import Path

from pipeline import flow
from pipeline.report import chart_to_svg, page_of_book
from pipeline.report.html_page import render
from pipeline.report.page_dataclasses import Drawing, Page
from tests.books import ROOT, write

TODAY = date(2026, 11, 1)
HOSTILE = "<script>alert('x')</script><img src=x onerror=alert(1)>{{7*7}}{% raw %}[red]x[/red]\"'&amp;\u202egnp.exe"
"""What a text field of a log may hold: markup of four kinds, quotes, an entity, a character that turns writing round."""


def empty(folder: Path) -> Path:
    return write(folder, 'name = "Nothing yet"\n')


ONE_SESSION_TOML = 'name = "One kettle"\ndates = "day-first"\n[show]\nmass = "lb"\n'
ONE_SESSION = {
    "harvests": "harvest,date,comb,mass_g\nH1,2026-05-01,cappings,4000",
    "loads": "session,source,mass_g\nR1,H1,4000",
    "passes": "session,pass,date,method,mass_in_g,wax_out_g,residue_g\nR1,1,2026-05-03,solar,4000,3200,500",
    "blocks": "block,date,mass_g,session\nB1,2026-05-04,3195,R1",
}


def one_session(folder: Path) -> Path:
    return write(folder, ONE_SESSION_TOML, **ONE_SESSION)


def hostile(folder: Path) -> Path:
    """Every field that takes free text, and the settings that name things, hold markup."""
    cell = '"' + HOSTILE.replace('"', '""') + '"'
    name = HOSTILE.replace("\\", "\\\\").replace('"', '\\"').replace("\u202e", "\\u202E")
    settings = f'name = "{name}"\n[comb_kinds]\n"{name}" = {{ low = 0.2, high = 0.9 }}\n[methods]\nnames = ["{name}"]\n'
    return write(
        folder, settings,
        harvests=f"harvest,date,comb,mass_g,apiary,hive,hold,notes\nH1,2026-05-01,{cell},4000,{cell},{cell},,{cell}\n"
                 f"H2,2026-05-02,{cell},900,{cell},{cell},{cell},{cell}\nH3,2026-05-03,{cell},800,{cell},,,",
        loads=f"session,source,mass_g,notes\nR1,H1,4000,{cell}",
        passes="session,pass,date,method,mass_in_g,wax_out_g,residue_g,filter,notes\n"
               f"R1,1,2026-05-03,{cell},4000,2200,500,{cell},{cell}\nR1,2,2026-05-04,{cell},2200,2000,100,{cell},{cell}",
        blocks=f"block,date,mass_g,session,place,notes\nB1,2026-05-05,1990,R1,{cell},{cell}",
        draws=f"date,block,mass_g,use,notes\n2026-06-01,B1,100,candles,{cell}",
        blends=f"blend,wax_pct,oil,oil_pct,scent,scent_pct\nplain,90,{cell},10,{cell},3",
        candles=f"candle,form,blend,fill_mass_g,notes\njar,container,plain,150,{cell}",
        batches=f"batch,date,candle,count,status,notes\nP1,2026-11-20,jar,40,planned,{cell}",
        sales=f"date,candle,count,price,place\n2026-06-09,jar,1,9,{cell}",
    )  # fmt: skip


def thirty_seasons(folder: Path, each: int = 100) -> Path:
    """Thirty seasons of a hundred sessions each, with two passes and a block a session."""
    write(folder, 'name = "A long book"\n')
    kinds = ("cappings", "brood comb", "white comb", "mixed")
    share = (0.82, 0.27, 0.6, 0.45)
    rows: dict[str, list[list[object]]] = {log: [] for log in ("harvests", "loads", "passes", "blocks")}
    for n in range(30 * each):
        day = date(1997 + n // each, 4, 1) + timedelta(days=(n % each) * 2)
        comb, rate = kinds[n % 4], share[n % 4] + 0.03 * ((n * 7919 % 13) / 13 - 0.5)
        mass = 4000 + 10 * (n * 104729 % 300)
        raw, wax = round(mass * rate), round(mass * rate * 0.97)
        rows["harvests"].append([f"H{n}", day, comb, mass, f"apiary {n % 3}", f"hive {n % 9}"])
        rows["loads"].append([f"R{n}", f"H{n}", mass])
        rows["passes"] += [[f"R{n}", 1, day, "steam", mass, raw, mass - raw - 50], [f"R{n}", 2, day, "slow cooker", raw, wax, raw - wax]]
        rows["blocks"].append([f"B{n}", day, wax, f"R{n}"])
    heads = {
        "harvests": "harvest,date,comb,mass_g,apiary,hive", "loads": "session,source,mass_g",
        "passes": "session,pass,date,method,mass_in_g,wax_out_g,residue_g", "blocks": "block,date,mass_g,session",
    }  # fmt: skip
    for log, head in heads.items():
        with (folder / f"{log}.csv").open("w", encoding="utf-8", newline="") as file:
            csv.writer(file).writerows([head.split(","), *rows[log]])
    return folder


def demo(folder: Path) -> Path:
    return ROOT / "data" / "demo"


BOOKS = {"demo": demo, "empty": empty, "one_session": one_session, "hostile": hostile}
"""The four books that have golden pages."""


@cache
def page(name: str) -> Page:
    """The page data of one of these books; made once, as making it takes a second."""
    import tempfile

    made = BOOKS | {"thirty_seasons": thirty_seasons}
    with tempfile.TemporaryDirectory() as temporary:
        loaded = flow.load(made[name](Path(temporary) / name), TODAY)
        gathered = page_of_book.gather(loaded, lambda _: None)
        loaded.warehouse.close()
    return gathered


@cache
def drawings(name: str) -> dict[str, Drawing]:
    """The drawings of that page, made in this process."""
    with chart_to_svg.unchecked():
        return {p.name: p.chart() for p in page(name).pictures}


@cache
def html(name: str) -> str:
    return render(page(name), drawings(name))


class _Outline(HTMLParser):
    """A page as text lines: one for each heading, sentence, row, drawn label, so that a diff can be read."""

    LINES = frozenset({"h1", "h2", "p", "li", "dt", "dd", "tr", "caption", "figcaption", "summary", "text", "pre", "title"})

    def __init__(self) -> None:
        super().__init__()
        self.lines: list[str] = []
        self._open: list[str] = []
        self._skip = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        told = dict(attrs)
        if tag == "style" or told.get("class") == "narrow":
            self._skip += 1
        elif self._skip:
            self._skip += tag == "div"
        if told.get("role") == "img" and not self._skip:
            self.lines.append(f"picture: {told['aria-label']}")
        if tag in self.LINES and not self._skip:
            self._open.append(tag)
            self.lines.append(f"{tag}: ")
        elif tag in {"td", "th"} and not self.lines[-1].endswith(": "):
            self.lines[-1] += " | "

    def handle_endtag(self, tag: str) -> None:
        if self._skip and tag in {"style", "div"}:
            self._skip -= 1
        elif self._open and self._open[-1] == tag:
            self._open.pop()

    def handle_data(self, data: str) -> None:
        if self._open and not self._skip and data.strip():
            self.lines[-1] += re.sub(r"\s+", " ", data) if self._open[-1] != "pre" else data


def outline(text: str) -> str:
    """The page without its drawing and dress; versions, which change by themselves, taken out."""
    reader = _Outline()
    reader.feed(text)
    told = "\n".join(line.strip() for line in reader.lines if line.strip())
    return re.sub(r"(combtally|Python|duckdb|altair|pandas) \d+(\.\w+)*", r"\1 x", told) + "\n"
