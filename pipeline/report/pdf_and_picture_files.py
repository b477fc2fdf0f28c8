"""The page's pictures as files of their own, and the page as a PDF through an installed Chromium."""

from __future__ import annotations

import re
import shutil
import subprocess
import tempfile
from collections.abc import Mapping
from pathlib import Path

from pipeline.contract.findings import MachineFault
from pipeline.report.page_dataclasses import Drawing
from pipeline.report.palette import settled

BROWSERS = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome", "msedge")
NO_BROWSER = "no Chromium is installed, which a PDF needs; open the page in any browser and print it to a file instead"
_QUIET = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--no-pdf-header-footer",
)  # fmt: skip
_PATIENCE_S = 60
_PAPER = (
    "<style>text{paint-order:stroke;stroke:#fff;stroke-width:3px;stroke-linejoin:round}</style>"
    '<rect width="100%" height="100%" fill="#ffffff"/>'
)
"""What a drawing that stands alone gets from no page: white paper, and room around the letters that lie on others' colour."""


def save_charts(drawings: Mapping[str, Drawing], out: Path) -> list[Path]:
    """Every drawing of a page as SVG and as PNG (twice the size) in its light dress. Raises MachineFault."""
    import vl_convert

    saved: list[Path] = []
    try:
        out.mkdir(parents=True, exist_ok=True)
        for name, drawing in drawings.items():
            svg = standing_alone(drawing)
            for ending, data in ((".svg", svg.encode()), (".png", vl_convert.svg_to_png(svg, scale=2))):
                saved.append(out / f"{name}{ending}")
                saved[-1].write_bytes(data)
    except OSError as fault:
        raise MachineFault(f"the charts cannot be written to {out}: {fault.strerror}") from fault
    return saved


def standing_alone(drawing: Drawing) -> str:
    """The wide drawing with its colours settled, a font and white paper, as a file needs them."""
    head, rest = settled(drawing.wide).split(">", 1)
    return f'{head} font-family="sans-serif">{_PAPER}{rest}'


def save_pdf(page: Path, paper: str = "A4") -> Path:
    """The page printed beside itself as PDF. Raises MachineFault in a plain sentence where no Chromium does it.

    The page itself names no paper, so that any browser prints it on its own; what is printed here is a copy that does.
    """
    browser = next((found for name in BROWSERS if (found := shutil.which(name))), None)
    if browser is None:
        raise MachineFault(NO_BROWSER)
    target = page.with_suffix(".pdf")
    with tempfile.TemporaryDirectory() as profile:
        copy = Path(profile) / page.name
        copy.write_text(_on_paper(page.read_text("utf-8"), paper), "utf-8")
        command = [browser, *_QUIET, f"--user-data-dir={profile}/own", f"--print-to-pdf={target}", copy.as_uri()]
        try:
            done = subprocess.run(command, capture_output=True, timeout=_PATIENCE_S, check=False)
        except (OSError, subprocess.TimeoutExpired) as fault:
            raise MachineFault(f"{Path(browser).name} did not print the page: {fault}") from fault
    if done.returncode or not target.is_file():
        raise MachineFault(f"{Path(browser).name} did not print the page (it ended with {done.returncode})")
    return target


def _on_paper(text: str, paper: str) -> str:
    """A page's text with its paper named; without the policy that would refuse the changed style."""
    return re.sub(r"<meta http-equiv[^>]*>", "", text).replace("@page{", f"@page{{size:{paper};", 1)
