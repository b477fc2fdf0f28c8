"""The README's pictures of recording: ``python -m tests.pictures_recording`` remakes them from the demo book."""

from __future__ import annotations

import html
import re
import shutil
import tempfile
from datetime import date
from pathlib import Path

from tests.recording import test_terminal
from tests.web.test_recording_browser import browser, choose, enter, press
from tests.web.test_recording_form import Phone

ROOT = Path(__file__).parent.parent
OUT = ROOT / "reports" / "pictures"
TALK = [
    ("session –", ""), ("What went into the pot", "H26-08"), ("weight of H26-08", "2 lb"), ("Anything else in the pot", "-"),
    ("Is the wax out yet", ""), ("date –", ""), ("method –", "steam"), ("weight in", "-"), ("wax out", "1 lb 5 oz"),
    ("residue", "200 g"), ("hottest", "-"), ("time", "-"), ("filter", ""),
]  # fmt: skip
SCREEN = (
    "<body style='margin:0;overflow:hidden;background:#1d1a14'><pre style='margin:18px;color:#f3ead7;font:15px/1.45 monospace'>{}</pre>"
)


def main() -> None:
    """Make both pictures."""
    OUT.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as kept:
        folder = Path(kept)
        book = folder / "demo"
        shutil.copytree(ROOT / "data" / "demo", book)
        _terminal(book, folder)
        _phone(book, folder)


def _phone(book: Path, folder: Path) -> None:
    phone = Phone(book, date(2026, 11, 1))
    page = browser(folder / "profile", script=False)
    page.get(f"http://{phone.host}/enter/{phone.guard.link}")
    press(page, "Rendering session")
    press(page, "Next")
    choose(page, "H26-08 (cappings")
    for name, text in (("", ""), ("loads.1.mass", "2 lb"), ("", ""), ("", "")):
        if name:
            enter(page, name, text)
        press(page, "Next")
    choose(page, "steam")
    enter(page, "passes.1.wax_out", "1 lb 5 oz")
    enter(page, "passes.1.residue", "200 g")
    press(page, "Next")
    page.save_screenshot(str(OUT / "record-phone.png"))
    page.quit()
    phone.close()


def _terminal(book: Path, folder: Path) -> None:
    terminal = test_terminal.talk(book, len(TALK), TALK, "2026-11-01")
    terminal.wait_for("Another pass?")
    terminal.process.terminate()
    terminal.end()
    seen = terminal.seen.partition("hottest")[0]
    lines = [line for line in seen.replace("\r", "").splitlines() if not re.match(r" {4}\s*\d+  ", line)]
    screen = folder / "screen.html"
    screen.write_text(
        SCREEN.format(html.escape("$ combtally record demo session\n" + "\n".join(lines))), encoding="utf-8"
    )
    page = browser(folder / "profile2", script=False)
    metrics = {"width": 1060, "height": 580, "deviceScaleFactor": 1, "mobile": False}
    page.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)
    page.get(screen.as_uri())
    page.save_screenshot(str(OUT / "record-terminal.png"))
    page.quit()


if __name__ == "__main__":
    main()
