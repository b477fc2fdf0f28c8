"""The page in a real browser: axe-core finds nothing, the console is silent, nothing is asked of the network, it fits."""

from __future__ import annotations

import base64
import io
import json
import os
import re
import shutil
import subprocess
import unicodedata
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests import report_books as books

WIDTHS = (1200, 768, 375, 320)
PAPER_INCHES = {"A4": (8.27, 11.69), "Letter": (8.5, 11.0)}
FLAGS = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
)  # fmt: skip


def chromium() -> str | None:
    return next((found for name in ("chromium", "chromium-browser", "google-chrome") if (found := shutil.which(name))), None)


def axe() -> Path | None:
    """axe-core's script: COMBTALLY_AXE, or where npm keeps global packages."""
    if named := os.environ.get("COMBTALLY_AXE"):
        return Path(named)
    npm = shutil.which("npm")
    if npm is None:
        return None
    root = subprocess.run([npm, "root", "-g"], capture_output=True, text=True, check=False).stdout.strip()
    return Path(root) / "axe-core" / "axe.min.js"


def needed(there: bool, what: str) -> None:
    """Skips with a reason where something is not installed; in CI that is a failure."""
    if not there:
        assert not os.environ.get("CI"), f"{what} is needed in CI"
        pytest.skip(f"{what} is not installed")


pytestmark = pytest.mark.browser


@pytest.fixture(scope="module")
def browser(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    needed(chromium() is not None and shutil.which("chromedriver") is not None, "Chromium with its driver")
    from selenium import webdriver
    from selenium.webdriver.chrome.service import Service

    options = webdriver.ChromeOptions()
    options.binary_location = str(chromium())
    for flag in (*FLAGS, f"--user-data-dir={tmp_path_factory.mktemp('profile')}"):
        options.add_argument(flag)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    driver = webdriver.Chrome(options=options, service=Service(str(shutil.which("chromedriver"))))
    driver.execute_cdp_cmd("Network.enable", {})
    yield driver
    driver.quit()


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("pages")


def opened(browser: Any, folder: Path, name: str, width: int, dress: str) -> None:
    file = folder / f"{name}.html"
    if not file.exists():
        file.write_text(books.html(name), "utf-8")
    metrics = {"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": width < 500}
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)
    features = [{"name": "prefers-color-scheme", "value": dress}]
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "", "features": features})
    browser.get_log("performance"), browser.get_log("browser")
    browser.get(file.as_uri())


ALL = [*sorted(books.BOOKS), "thirty_seasons"]


def broken_rules(browser: Any) -> list[tuple[str, str, str]]:
    """What axe-core finds on the page that is open: rule, place, what to do."""
    script = axe()
    needed(script is not None and script.is_file(), "axe-core from npm")
    browser.execute_script(Path(str(script)).read_text("utf-8"))
    found = browser.execute_async_script("axe.run(document, {resultTypes: ['violations']}).then(arguments[0])")
    assert len(found["passes"]) > 10
    return [(v["id"], v["nodes"][0]["html"][:200], v["nodes"][0]["failureSummary"]) for v in found["violations"]]


def unrest(browser: Any) -> list[str]:
    """What the page that was just opened did that it should not: scroll sideways, speak to the console, ask for anything."""
    wide = browser.execute_script("return document.documentElement.scrollWidth - document.documentElement.clientWidth")
    said = [f"console: {entry['message']}" for entry in browser.get_log("browser")]
    sent = [json.loads(entry["message"])["message"] for entry in browser.get_log("performance")]
    asked = {m["params"]["request"]["url"] for m in sent if m["method"] == "Network.requestWillBeSent"}
    beside = sorted(u for u in asked if not u.startswith("data:") and u != browser.current_url)
    return [f"{wide} px too wide"] * (wide > 0) + said + [f"asked for {u}" for u in beside]


@pytest.mark.parametrize(
    ("name", "width", "dress"),
    [*((name, min(WIDTHS), "dark") for name in sorted(books.BOOKS)), ("demo", max(WIDTHS), "light")],
)
def test_axe_finds_nothing(browser: Any, folder: Path, name: str, width: int, dress: str) -> None:
    opened(browser, folder, name, width, dress)
    assert broken_rules(browser) == []


@pytest.mark.parametrize("name", ALL)
def test_no_sideways_scroll_no_message_no_request(browser: Any, folder: Path, name: str) -> None:
    for width in WIDTHS if name == "demo" else (min(WIDTHS),):
        opened(browser, folder, name, width, "light")
        assert unrest(browser) == [], width


def test_a_broken_page_is_found_out(browser: Any, folder: Path) -> None:
    """The watches above fire: pale text, no language, something too wide, a message, a request."""
    text = re.sub(r"<meta http-equiv[^>]*>", "", books.html("one_session")).replace('<html lang="en">', "<html>")
    pale = text.replace("</style>", ".answer{color:#ccc!important}h1{width:900px}</style>")
    asking = pale.replace("</body>", '<img alt="" src="http://127.0.0.1:9/x.png"><script>console.error("oh")</script></body>')
    (folder / "broken.html").write_text(asking, "utf-8")
    opened(browser, folder, "broken", 320, "light")
    found = "; ".join(unrest(browser))
    assert all(what in found for what in ("px too wide", "oh", "asked for http://127.0.0.1:9/x.png"))
    assert {"color-contrast", "html-has-lang"} <= {rule for rule, *_ in broken_rules(browser)}


OUTSIDE = """
return [...document.querySelectorAll('figure svg text')].flatMap(text => {
  const box = text.getBoundingClientRect(), room = text.closest('.panel').getBoundingClientRect();
  return box.width && (box.left < room.left - 1 || box.right > room.right + 1) ? [text.textContent] : [];
})"""
"""Labels of drawings that leave the panel that they stand in: on paper they would be cut."""


@pytest.mark.parametrize("name", ["demo", "one_session", "hostile"])
@pytest.mark.parametrize(("width", "media"), [(1200, ""), (768, ""), (320, ""), (690, "print")])
def test_labels_stay_inside_their_panel(browser: Any, folder: Path, name: str, width: int, media: str) -> None:
    opened(browser, folder, name, width, "light")
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": media})
    assert browser.execute_script(OUTSIDE) == []


def test_twice_the_text_size_still_fits(browser: Any, folder: Path) -> None:
    """WCAG 2.2, 1.4.4 and 1.4.10: 1280 px at 200 % is 640 px, at 400 % 320 px."""
    opened(browser, folder, "demo", 640, "light")
    browser.execute_script("document.documentElement.style.fontSize = '200%'")
    assert browser.execute_script("return document.documentElement.scrollWidth <= document.documentElement.clientWidth")


def test_the_policy_refuses_what_a_page_might_be_made_to_do(browser: Any, folder: Path) -> None:
    opened(browser, folder, "hostile", 768, "light")
    ran = browser.execute_script(
        "const s = document.createElement('script'); s.textContent = 'window.ran = true'; document.body.append(s);"
        "return window.ran === true"
    )
    assert ran is False
    assert "Content Security Policy" in str(browser.get_log("browser"))


def test_three_thousand_sessions_open_in_under_a_second(browser: Any, folder: Path) -> None:
    """Navigation Timing: from the start of the navigation to the end of load, and the whole page laid out."""
    opened(browser, folder, "thirty_seasons", 1200, "light")
    took_ms = []
    for _ in range(3):
        opened(browser, folder, "thirty_seasons", 1200, "light")
        took_ms.append(
            browser.execute_script(
                "const start = performance.now(), tall = document.body.offsetHeight, laid = performance.now() - start;"
                "return laid + performance.getEntriesByType('navigation')[0].loadEventEnd"
            )
        )
    assert 0 < min(took_ms) < 1000, took_ms


@pytest.mark.parametrize("paper", sorted(PAPER_INCHES))
def test_the_printed_demo_keeps_what_belongs_together(browser: Any, folder: Path, paper: str) -> None:
    """At most eight pages; no page ends in a heading; a panel's sentence, picture and table stand on one page."""
    from pypdf import PdfReader

    opened(browser, folder, "demo", 1200, "dark")
    width, height = PAPER_INCHES[paper]
    sheet = {"paperWidth": width, "paperHeight": height, "printBackground": True}
    data = base64.b64decode(browser.execute_cdp_cmd("Page.printToPDF", sheet)["data"])
    pages = [flat(p.extract_text()) for p in PdfReader(io.BytesIO(data)).pages]
    assert len(pages) <= 8
    for section in books.page("demo").sections:
        (at,) = [n for n, text in enumerate(pages) if flat(section.heading) in text]
        assert flat(section.panels[0].sentence)[:40] in pages[at], f"{section.heading} stands alone"
        for panel in section.panels:
            wanted = [panel.sentence[:40], *([panel.picture.title[:30]] if panel.picture else []), *([panel.table.caption] if panel.table else [])]
            assert any(all(flat(w) in text for w in wanted) for text in pages), f"{panel.name} is split"


def flat(text: str) -> str:
    """Text without line breaks, narrow spaces and the ligatures that a PDF's fonts draw."""
    return " ".join(unicodedata.normalize("NFKC", text).split())
