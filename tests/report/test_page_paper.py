"""The printed page as pictures: sheets counted, no heading alone at the foot of one, no drawing cut or split.

Headings, sentences and drawings get a colour of their own before printing, so that they can be found among the dots.
"""

from __future__ import annotations

import re
import shutil
import subprocess
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import pytest
from pypdf import PdfReader

from pipeline.report import build, pdf_and_picture_files
from tests import report_books as books
from tests.report.test_page_browser import chromium, needed

pytestmark = pytest.mark.browser

HEADING = (255, 0, 255)
DOTS_PER_INCH = 60
Dots = npt.NDArray[np.uint32]
"""A picture: by row and column of dots the colour, as one number."""


@dataclass(frozen=True)
class Drawing:
    """A panel with a drawing: the colours of its drawing and of its sentence, the drawing's height over its width."""

    name: str
    colour: tuple[int, int, int]
    answer: tuple[int, int, int]
    shape: float


def drawings(name: str) -> list[Drawing]:
    panels = [p for s in books.page(name).sections for p in s.panels if p.picture]
    svg = books.drawings(name)
    return [Drawing(p.name, (0, 200, 10 * n + 5), (200, 10 * n + 5, 0), shape(svg[p.picture.name].wide)) for n, p in enumerate(panels) if p.picture]


def shape(svg: str) -> float:
    box = re.search(r'viewBox="0 0 ([\d.]+) ([\d.]+)"', svg)
    assert box
    return float(box[2]) / float(box[1])


def marked(name: str, paper: str, style: str = "") -> str:
    """A book's page in its markers' colours, on a paper, in a style that may be broken; without the policy on styles."""
    rules = [f"@page{{size:{paper}}}h2{{background:{css(HEADING)}}}"]
    for d in drawings(name):
        rules.append(f"#{d.name} .wide svg{{background:{css(d.colour)}}}#{d.name} .answer{{background:{css(d.answer)}}}")
    text = re.sub(r"<meta http-equiv[^>]*>", "", books.html(name))
    return text.replace("</style>", "@media print{" + "".join(rules) + style + "}</style>")


def css(colour: tuple[int, int, int]) -> str:
    return f"rgb{colour}"


def sheets(text: str, folder: Path) -> list[Dots]:
    """The printed pages as dots (height, width), made by the way that ``build --pdf`` goes."""
    file = folder / "page.html"
    file.write_text(text, "utf-8")
    pdf = pdf_and_picture_files.save_pdf(file)
    subprocess.run(["pdftoppm", "-r", str(DOTS_PER_INCH), str(pdf), str(folder / "sheet")], check=True)
    return [dots(f) for f in sorted(folder.glob("sheet-*.ppm"))]


def dots(file: Path) -> Dots:
    """A binary PPM (netpbm, P6)."""
    data = file.read_bytes()
    kind, width, height, most = data.split(maxsplit=4)[:4]
    assert (kind, most) == (b"P6", b"255")
    size = int(width) * int(height) * 3
    red, green, blue = np.frombuffer(data[-size:], np.uint8).reshape(int(height), int(width), 3).astype(np.uint32).transpose(2, 0, 1)
    return number((red, green, blue))


def number(colour: tuple[Any, Any, Any]) -> Any:
    return colour[0] << 16 | colour[1] << 8 | colour[2]


def rows_of(sheet: Dots, colour: tuple[int, int, int]) -> npt.NDArray[np.intp]:
    """The rows of a sheet that show a colour in at least five dots."""
    return np.flatnonzero((sheet == number(colour)).sum(axis=1) >= 5)


def faults(name: str, printed: list[Dots]) -> list[str]:
    """What is wrong with a printed page, in words."""
    known = drawings(name)
    found = [f"sheet {n} ends in a heading" for n, sheet in enumerate(printed, 1) if lone(sheet, known)]
    for d in known:
        on = [n for n, sheet in enumerate(printed, 1) if len(rows_of(sheet, d.colour))]
        if len(on) != 1:
            found.append(f"the drawing of {d.name} is on sheets {on}")
        elif not whole(printed[on[0] - 1], d):
            found.append(f"the drawing of {d.name} is cut")
        elif not len(rows_of(printed[on[0] - 1], d.answer)):
            found.append(f"the drawing of {d.name} stands on another sheet than its sentence")
    return found


def lone(sheet: Dots, known: list[Drawing]) -> bool:
    """Whether nothing is printed below the last heading of a sheet."""
    headings = rows_of(sheet, HEADING)
    if not len(headings):
        return False
    below = sheet[headings.max() + 3 :]
    return not (below & 0x808080 != 0x808080).any()  # nothing darker than half in any of the three


def whole(sheet: Dots, drawing: Drawing) -> bool:
    """Whether a drawing has its full height; a twentieth is left to the rounding of dots."""
    there = np.argwhere(sheet == number(drawing.colour))
    tall, wide = there.max(axis=0) - there.min(axis=0) + 1
    return bool(abs(tall / wide / drawing.shape - 1) < 0.05)


@pytest.fixture(autouse=True)
def _tools() -> None:
    needed(chromium() is not None, "Chromium")
    needed(shutil.which("pdftoppm") is not None, "pdftoppm of poppler-utils")


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_printed_demo_is_at_most_eight_sheets_with_nothing_alone_or_split(paper: str, tmp_path: Path) -> None:
    printed = sheets(marked("demo", paper), tmp_path)
    assert len(printed) <= 8
    assert len(drawings("demo")) >= 10
    assert faults("demo", printed) == []


def test_a_broken_style_is_caught(tmp_path: Path) -> None:
    first, second, third = (d.name for d in drawings("demo")[:3])
    style = f"""
        h2{{break-after:page!important}}
        #{first} .wide svg{{height:320mm!important;width:100mm!important}}
        #{second} figure{{height:30mm;overflow:hidden}}
        #{third}.panel{{break-inside:auto!important}} #{third} .answer{{break-after:page!important}}
    """
    found = "; ".join(faults("demo", sheets(marked("demo", "A4", style), tmp_path)))
    expected = (
        "ends in a heading",
        f"the drawing of {first} is on sheets",
        f"the drawing of {second} is cut",
        f"the drawing of {third} stands on another sheet than its sentence",
    )
    assert [words for words in expected if words not in found] == []


def test_build_prints_on_the_paper_of_the_books_lengths(tmp_path: Path) -> None:
    """ISO 216: A4 is 210 x 297 mm; Letter is 8.5 x 11 in (ANSI/ASME Y14.1); in points of 1/72 in."""
    folder = books.empty(tmp_path / "book")
    for length, size in (("mm", (595, 842)), ("in", (612, 792))):
        (folder / "book.toml").write_text(f'name = "Larkmoor"\n[show]\nlength = "{length}"\n', "utf-8")
        with build.Build(folder, tmp_path / "reports") as work:
            built = work.finish(work.load(books.TODAY), pdf=True)
        assert built.pdf is not None
        box = PdfReader(built.pdf).pages[0].mediabox
        assert (round(float(box.width)), round(float(box.height))) == size
        assert "size:" not in built.report.read_text("utf-8").split("@page")[1].split("}")[0]
