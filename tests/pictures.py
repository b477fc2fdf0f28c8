"""Remakes the README's pictures of the demo report: ``python -m tests.pictures`` (needs Chromium and its driver)."""

from __future__ import annotations

import base64
import shutil
import sys
import tempfile
from datetime import date
from pathlib import Path
from typing import Any

from pipeline import flow, report
from pipeline.report.chart_drawing_process import ChartProcess
from tests.books import ROOT
from tests.report.test_page_browser import FLAGS, chromium

TODAY = date(2026, 11, 1)
FOLDER = ROOT / "reports" / "pictures"
SHOTS = {  # name: (selector of the panel, width in px, dress)
    "season": ("#flow", 1000, "light"),
    "changes": ("#changes", 1000, "light"),
    "plan": ("#plan", 1000, "light"),
    "control": ("#control", 1000, "light"),
    "suspects": ("#suspects", 1000, "light"),
    "phone": ("header", 375, "light"),
    "dark": ("#seasons", 1000, "dark"),
}


def main() -> None:
    """Build the demo's page and take one picture of each panel."""
    FOLDER.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        loaded = flow.load(ROOT / "data" / "demo", TODAY)
        with ChartProcess() as drawn:
            page = report.path(loaded, Path(folder))
            report.write(loaded, page, drawn)
        loaded.warehouse.close()
        browser = started(folder)
        for name, shot in SHOTS.items():
            (FOLDER / f"{name}.png").write_bytes(taken(browser, page, *shot))
        browser.quit()
    sys.stdout.write(f"{len(SHOTS)} pictures in {FOLDER.relative_to(ROOT)}\n")


def started(folder: str) -> Any:
    """A headless Chromium with a profile of its own."""
    from selenium import webdriver
    from selenium.webdriver.chrome.service import Service

    options = webdriver.ChromeOptions()
    options.binary_location = str(chromium())
    for flag in (*FLAGS, "--hide-scrollbars", f"--user-data-dir={folder}/profile"):
        options.add_argument(flag)
    return webdriver.Chrome(options=options, service=Service(str(shutil.which("chromedriver"))))


def taken(browser: Any, page: Path, selector: str, width: int, dress: str) -> bytes:
    """One panel as PNG."""
    metrics = {"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": False}
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)
    features = [{"name": "prefers-color-scheme", "value": dress}]
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "", "features": features})
    browser.get(page.as_uri())
    box = browser.execute_script(f"const r = document.querySelector('{selector}').getBoundingClientRect();"
                                 "return [r.x, r.y + window.scrollY, r.width, r.height]")  # fmt: skip
    clip = dict(zip(("x", "y", "width", "height"), box, strict=True)) | {"scale": 1}
    shot = browser.execute_cdp_cmd("Page.captureScreenshot", {"captureBeyondViewport": True, "clip": clip})
    return base64.b64decode(shot["data"])


if __name__ == "__main__":
    main()
