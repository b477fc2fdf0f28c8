"""Pour sheets and labels print on the pages that they promise, through Chromium's PDF."""

from __future__ import annotations

from pathlib import Path

import pytest
from pypdf import PdfReader

from pipeline.report import pdf_and_picture_files
from tests.answers.test_pour import BATCHES, BLENDS, CANDLES, SETTINGS
from tests.books import ROOT, run, write
from tests.report.test_page_browser import chromium, needed

pytestmark = pytest.mark.browser
DEMO = ROOT / "data" / "demo"
SIZES = {"A4": (595, 842), "Letter": (612, 792)}
"""ISO 216: A4 is 210 x 297 mm; Letter is 8.5 x 11 in (ANSI/ASME Y14.1); in points of 1/72 in."""


@pytest.fixture(autouse=True)
def _tools() -> None:
    needed(chromium() is not None, "Chromium")


def pages(file: Path, paper: str) -> list[tuple[int, int]]:
    boxes = [page.mediabox for page in PdfReader(pdf_and_picture_files.save_pdf(file, paper)).pages]
    return [(round(float(box.width)), round(float(box.height))) for box in boxes]


def test_a_pour_sheet_prints_on_one_page_of_either_paper(tmp_path: Path) -> None:
    """A scented tin has the most steps, here after a flaw and of twelve small blocks; a page of Letter is the shorter one."""
    small = "".join(f"block {i},2026-01-{i:02},0.1,before this book\n" for i in range(1, 13))
    book = write(
        tmp_path, SETTINGS, blends=BLENDS, candles=CANDLES, batches=BATCHES, blocks=f"block,date,mass_lb,supplier\n{small}",
        wicks="wick,rank,from_diameter_in,to_diameter_in\nW,1,2,3",
    )  # fmt: skip
    assert run("pour", book, "P", "--html", tmp_path / "sheet.html").code == 0
    for paper, size in SIZES.items():
        assert pages(tmp_path / "sheet.html", paper) == [size], paper


def test_labels_print_on_two_pages_of_their_paper(tmp_path: Path) -> None:
    files = run("label", DEMO, "P26-7", "--out", tmp_path, "--json").json["files"]
    for paper, file in zip(SIZES, files, strict=True):
        assert pages(Path(file), paper) == [SIZES[paper]] * 2
