"""The phone page in a real browser: 360 px wide, JavaScript off, light and dark; axe-core finds nothing."""

import json
import os
import shutil
import subprocess
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.web.test_recording_form import LOGS, Phone

CHROMIUM_FLAGS = [
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
]  # fmt: skip


def missing(what: str) -> str:
    """Skip with a reason; where the tests must be whole (CI is set), fail instead."""
    if os.environ.get("CI"):
        pytest.fail(f"{what} is not installed")
    pytest.skip(f"{what} is not installed")


def chromium() -> str:
    found = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    return found or missing("Chromium")


def axe_source() -> str:
    """axe-core's script: named by COMBTALLY_AXE, or from the global packages of npm."""
    named = os.environ.get("COMBTALLY_AXE")
    if named:
        return Path(named).read_text(encoding="utf-8")
    if shutil.which("npm"):
        root = subprocess.run(["npm", "root", "-g"], capture_output=True, text=True, check=False).stdout.strip()
        path = Path(root) / "axe-core" / "axe.min.js"
        if path.is_file():
            return path.read_text(encoding="utf-8")
    return missing("axe-core")


def browser(profile: Path, script: bool) -> Any:
    selenium = pytest.importorskip("selenium.webdriver")
    driver = shutil.which("chromedriver") or missing("chromedriver")
    options = selenium.ChromeOptions()
    options.binary_location = chromium()
    for flag in [*CHROMIUM_FLAGS, f"--user-data-dir={profile}", "--window-size=500,900"]:
        options.add_argument(flag)
    if not script:
        options.add_experimental_option("prefs", {"profile.managed_default_content_settings.javascript": 2})
    opened = selenium.Chrome(options=options, service=selenium.ChromeService(driver))
    metrics = {"width": 360, "height": 800, "deviceScaleFactor": 2, "mobile": True}
    opened.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)
    return opened


@pytest.fixture
def phone(tmp_path: Path) -> Iterator[Phone]:
    folder = tmp_path / "Larkmoor"
    folder.mkdir()
    (folder / "book.toml").write_text('name = "Larkmoor"\n', encoding="utf-8")
    for name, text in LOGS.items():
        (folder / f"{name}.csv").write_text(text, encoding="utf-8")
    opened = Phone(folder)
    yield opened
    opened.close()


def press(page: Any, label: str) -> None:
    """Press the button of that label and wait for the next page."""
    old = page.find_element("tag name", "html")
    page.find_element("xpath", f"//button[normalize-space()='{label}']").click()
    gone(old, label)


def gone(old: Any, label: str) -> None:
    """Wait until a page has gone."""
    common = pytest.importorskip("selenium.common.exceptions")
    for _ in range(200):
        try:
            old.is_enabled()
        except common.WebDriverException:
            return
        time.sleep(0.05)
    pytest.fail(f"nothing happened after {label}")


def enter(page: Any, name: str, text: str) -> None:
    field = page.find_element("name", name)
    field.clear()
    field.send_keys(text)


def choose(page: Any, words: str) -> None:
    page.find_element("xpath", f"//label[contains(normalize-space(), '{words}')]").click()


@pytest.mark.browser
def test_a_whole_session_at_360_px_with_script_off(phone: Phone, tmp_path: Path) -> None:
    page = browser(tmp_path / "profile", script=False)
    try:
        page.get(f"http://{phone.host}/enter/{phone.guard.link}")
        press(page, "Rendering session")
        press(page, "Next")
        choose(page, "A2 (brood comb")
        press(page, "Next")
        enter(page, "loads.1.mass", "5 lb 4 oz")
        press(page, "Next")
        press(page, "Next")
        press(page, "Next")
        choose(page, "steam")
        enter(page, "passes.1.wax_out", "9,9")
        press(page, "Next")
        assert "more than went in" in page.page_source
        enter(page, "passes.1.wax_out", "1,1")
        enter(page, "passes.1.residue", "1 kg")
        press(page, "Check again")
        assert "281 g unaccounted" in page.page_source
        press(page, "Next")
        enter(page, "blocks.1.block", "B2")
        press(page, "Next")
        enter(page, "blocks.1.mass", "1.05 kg")
        press(page, "Next")
        enter(page, "blocks.2.block", "")
        press(page, "Next")
        assert "Is this right?" in page.page_source
        press(page, "Save")
        assert "passes.csv line 3" in page.page_source
    finally:
        page.quit()
    assert (phone.book / "blocks.csv").read_text() == LOGS["blocks"] + "B2,2025-09-01,1.05,S2\n"


@pytest.mark.browser
@pytest.mark.parametrize("scheme", ["dark"])
def test_axe_finds_nothing_and_nothing_is_wider_than_the_phone(phone: Phone, scheme: str, tmp_path: Path) -> None:
    axe = axe_source()
    page = browser(tmp_path / "profile", script=True)
    try:
        page.execute_cdp_cmd(
            "Emulation.setEmulatedMedia", {"features": [{"name": "prefers-color-scheme", "value": scheme}]}
        )
        page.execute_cdp_cmd("Page.setBypassCSP", {"enabled": True})
        page.get(f"http://{phone.host}/enter/{phone.guard.link}")
        looked_at(page, axe)
        press(page, "Rendering session")
        looked_at(page, axe)
        press(page, "Next")
        looked_at(page, axe)
        choose(page, "A2 (brood comb")
        press(page, "Next")
        enter(page, "loads.1.mass", "1,234")
        press(page, "Next")
        looked_at(page, axe)
        enter(page, "loads.1.mass", "9 kg")
        press(page, "Next")
        looked_at(page, axe)
        press(page, "Save anyway")
        press(page, "Next")
        choose(page, "no")
        press(page, "Next")
        assert "waits here until its wax is weighed" in page.page_source
        looked_at(page, axe)
        page.get(f"http://{phone.host}/")
        looked_at(page, axe)
        page.get(f"http://{phone.host}/nowhere")
        looked_at(page, axe)
        page.get(f"http://{phone.host}/")
        press(page, "Draw of wax")
        looked_at(page, axe)
        choose(page, "B1")
        choose(page, "sold")
        press(page, "Next")
        looked_at(page, axe)
        press(page, "Save")
        looked_at(page, axe)
    finally:
        page.quit()


@pytest.mark.browser
@pytest.mark.parametrize("scheme", ["light"])
def test_pages_in_pounds_and_ounces_by_keyboard_alone(tmp_path: Path, scheme: str) -> None:
    """Tab, arrows, letters and Enter get through a weighing with a pot, a discard and an undo; axe finds nothing."""
    from tests.web import test_phone_forms as american

    axe, phone = axe_source(), Phone(american.a_book(tmp_path / "Larkmoor"))
    page = browser(tmp_path / "profile", script=True)
    try:
        page.execute_cdp_cmd(
            "Emulation.setEmulatedMedia", {"features": [{"name": "prefers-color-scheme", "value": scheme}]}
        )
        page.execute_cdp_cmd("Page.setBypassCSP", {"enabled": True})
        page.get(f"http://{phone.host}/enter/{phone.guard.link}")
        by_keys(page, "button", "Block of wax")
        looked_at(page, axe)
        typed_by_keys(page, "blocks.1.mass", "3")
        typed_by_keys(page, "blocks.1.mass.oz", "6")
        typed_by_keys(page, "blocks.1.mass.vessel", "crock")
        typed_by_keys(page, "blocks.1.session", "S1")
        by_keys(page, "button", "Discard")
        assert "would be lost" in page.page_source
        looked_at(page, axe)
        by_keys(page, "a", "Keep it and go on")
        by_keys(page, "button", "Next")
        assert "3 lb 6 oz - crock" in page.page_source
        looked_at(page, axe)
        by_keys(page, "button", "Save anyway")  # S1 gave no more wax than its first block
        by_keys(page, "a", "Take it back")
        looked_at(page, axe)
        by_keys(page, "button", "Take it back")
        assert "Taken back: block from the form" in page.page_source
    finally:
        page.quit()
        phone.close()
    assert (phone.book / "blocks.csv").read_text() == american.LOGS["blocks"]


def focused(page: Any, wanted: str) -> Any:
    """Tab until the element of that XPath has the focus."""
    keys = pytest.importorskip("selenium.webdriver").Keys
    for _ in range(80):
        now = page.switch_to.active_element
        if any(now == each for each in page.find_elements("xpath", wanted)):
            return now
        now.send_keys(keys.TAB)
    return pytest.fail(f"the Tab key does not reach {wanted}")


def by_keys(page: Any, tag: str, label: str) -> None:
    """Tab to a button or link and press Enter."""
    keys = pytest.importorskip("selenium.webdriver").Keys
    old = page.find_element("tag name", "html")
    focused(page, f"//{tag}[normalize-space()='{label}']").send_keys(keys.ENTER)
    gone(old, label)


def typed_by_keys(page: Any, name: str, text: str) -> None:
    focused(page, f"//*[@name='{name}']").send_keys(text)


def looked_at(page: Any, axe: str) -> None:
    page.execute_script(axe)
    found = page.execute_async_script(
        "const done = arguments[arguments.length - 1]; axe.run().then(r => done(JSON.stringify(r)))"
    )
    told = json.loads(found)
    faults = [f"{v['id']}: {n['html']} {n['failureSummary']}" for v in told["violations"] for n in v["nodes"]]
    assert faults == [], page.title
    assert len(told["passes"]) > 5
    assert page.execute_script("return document.documentElement.scrollWidth") <= 360
    small = "return [...document.querySelectorAll('button,a.wide,.choice,input:not([type=radio]):not([type=hidden]),select')].filter(e => e.getBoundingClientRect().height < 44).length"
    assert page.execute_script(small) == 0
