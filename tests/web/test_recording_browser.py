"""The phone page in a real browser: 360 px wide, JavaScript off, light and dark; axe-core finds nothing."""

import json
import os
import shutil
import subprocess
import time
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from pipeline.contract.log_columns import LOGS as CONTRACT
from pipeline.recording import new_book, paper_sheet, record_and_undo, row_change
from pipeline.web.pages import NAMES
from tests.web.test_recording_form import LOGS, Phone, a_book, logs

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
    metrics = {"width": 360, "height": 800, "deviceScaleFactor": 1, "mobile": True}
    opened.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)
    return opened


@pytest.fixture
def phone(tmp_path: Path) -> Iterator[Phone]:
    opened = Phone(a_book(tmp_path / "Larkmoor"))
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
    for _ in range(1000):
        try:
            old.is_enabled()
        except common.WebDriverException:
            return
        time.sleep(0.01)
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


HOME_LOGS = {
    "batches": "batch,date,candle,count,status,good\nP1,2025-06-20,taper,12,poured,12\n",
    "blends": "blend,wax_pct\npure,100\n",
    "candles": "candle,form,blend,fill_mass_oz,diameter_in,height_in\ntaper,dipped,pure,1,,\njar,container,pure,6,2.5,3\n",
    "wicks": "wick,rank,from_diameter_in,to_diameter_in\nno. 2,2,2,3\nno. 3,3,2.5,3.5\n",
}
RIDGE = {
    "name": "Ridge", "mass": "lb oz", "length": "in", "temperature": "F", "currency": "USD", "dates": "month-first",
    "season_starts": "01-01", "step": "0.1 oz", "vessel 1": "crock = 2 lb 2 oz",
}  # fmt: skip


_ON_THE_PAGE = """
const kinds = [...document.querySelectorAll('body *')].map(e => e.tagName + e.className + e.type);
return [document.title, document.querySelector('main').innerText.replace(/\\s+/g, ' '), [...new Set(kinds)]];
"""
"""The title, what can be read, and the kinds of element that the page is made of."""
_KEYS_TO = """
const radios = new Map(), stops = [], tabs_of_a_date = 4;
for (const e of document.querySelectorAll('a[href],button,input:not([type=hidden]),select,textarea,summary')) {
  if (e.disabled || !e.getClientRects().length) continue;
  if (e.type === 'radio' && radios.has(e.name)) { if (e.checked) stops[radios.get(e.name)] = e; continue; }
  if (e.type === 'radio') radios.set(e.name, stops.length);
  stops.push(e);
}
let at = stops.indexOf(document.activeElement);
const way = arguments[0].map(([name, words]) => {
  const to = stops.findIndex(e => name ? e.name === name : e.innerText?.trim().replace(/\\s+/g, ' ') === words);
  let tabs = to > at ? to - at : to - at + stops.length;
  for (let n = Math.max(at, 0); n < to; n++) tabs += stops[n].type === 'date' ? tabs_of_a_date - 1 : 0;
  at = to;
  const group = [...document.getElementsByName(name || '-')], found = stops[to];
  const arrows = group.findIndex(e => e.parentElement.innerText.includes(words)) - group.indexOf(found);
  return [to < 0 ? -1 : tabs, found?.type, (arrows + group.length) % group.length];
});
return [document.activeElement, way];
"""
"""The focused element and, for each field of a name or button of a label, how often Tab brings the focus there from the one
before (-1: never); its type; and how many arrows down a choice is that holds these words."""
_FILLED = """
const held = arguments[0].map(name => {
  const all = [...document.getElementsByName(name)], e = all.find(e => e.checked) || all[0];
  return e.type === 'radio' ? (e.checked ? e.parentElement.innerText : '') : e.selectedOptions ? e.selectedOptions[0].text : e.value;
});
return [held, document.activeElement, document.activeElement.innerText.trim()];
"""
"""What the fields of these names hold, and the focused element with its words."""


class Hand:
    """Somebody who has keys and nothing else; axe looks at each new kind of page, in light and in dark."""

    def __init__(self, page: Any, axe: str) -> None:
        self.page, self.seen = page, set[str]()
        self.keys = pytest.importorskip("selenium.webdriver").Keys
        page.execute_cdp_cmd("Page.addScriptToEvaluateOnNewDocument", {"source": axe})

    def sees(self, *words: str) -> None:
        title, text, made_of = self.page.execute_script(_ON_THE_PAGE)
        assert all(each in text for each in words), text
        new = {title.partition(" – ")[0], *made_of} - self.seen
        if new:  # another form, or a kind of element that no page had before
            looked_at(self.page)
        self.seen |= new

    def tap(self, label: str, *words: str) -> None:
        self.fill({}, *words, then=label)

    def fill(self, fields: dict[str, str], *words: str, then: str = "Next") -> None:
        """Fields in the order of the page, by Tab from one to the next, a choice by arrows, a box by letters; then a button."""
        at, ways = self.page.execute_script(_KEYS_TO, [*fields.items(), ("", then)])
        assert all(tabs >= 0 for tabs, _, _ in ways), (fields, then)
        typed = [self._typed(*each) for each in zip(fields.values(), ways[:-1], strict=True)]
        at.send_keys("".join(typed) + self.keys.TAB * ways[-1][0])
        held, pressed, words_on_it = self.page.execute_script(_FILLED, [*fields])
        assert all(text == value or (text and text in value) for text, value in zip(fields.values(), held, strict=True)), held
        assert words_on_it == then
        pressed.send_keys(self.keys.ENTER)
        gone(pressed, then)
        self.sees(*words)

    def _typed(self, text: str, way: tuple[int, str, int]) -> str:
        tabs, kind, arrows = way
        if kind == "radio":
            keys = self.keys.ARROW_DOWN * arrows if arrows else self.keys.SPACE
        elif kind == "select-one":
            keys = text
        else:
            keys = f"{self.keys.CONTROL}a{self.keys.NULL}{text or self.keys.DELETE}"
        return self.keys.TAB * tabs + keys

    def saved(self, *words: str, label: str = "Save") -> None:
        self.sees("Is this right?", *words)
        self.tap(label, "Written:")


@pytest.mark.slow
@pytest.mark.browser
def test_every_form_by_keys_alone_at_360_px_and_axe_finds_nothing_on_any_page(tmp_path: Path) -> None:
    """A book in pounds from its first harvest to undo. 8 lb 6 oz less the crock's 2 lb 2 oz are 6 lb 4 oz; 47 of 100 oz: 47 %."""
    axe, book = axe_source(), tmp_path / "Ridge"
    new_book.book(book, RIDGE)
    for name, text in HOME_LOGS.items():
        (book / f"{name}.csv").write_text(text, "utf-8")
    before, phone = logs(book), Phone(book, date(2025, 7, 4))
    page = browser(tmp_path / "profile", script=True)
    try:
        page.execute_cdp_cmd("Page.setBypassCSP", {"enabled": True})
        hand = Hand(page, axe)
        page.get(f"http://{phone.host}/")
        hand.sees("Open the link that the terminal shows first")
        page.get(f"http://{phone.host}/enter/{phone.guard.link}")
        hand.sees("No report was made yet")
        comb_and_session(hand)
        candles(hand)
        undo_and_discard(hand, phone)
        page.get(f"http://{phone.host}/nowhere")
        hand.sees("There is no such page here")
        page.get(paper_sheet.make(book, tmp_path)[-1].as_uri())
        assert all(words in page.page_source for words in ("gross", "tare", "net", "crock 2 lb 2 oz", "8/14/2025", "pours and test burns"))
        assert hand.seen >= {*NAMES.values(), "Record", "Is this right?", "Left open", "Saved", "Take back?", "Discard this?", "Not done"}
    finally:
        page.quit()
        phone.close()
    while record_and_undo.undo(book):
        pass
    assert logs(book) == before


def comb_and_session(hand: Hand) -> None:
    hand.tap("Rendering session", "record a harvest first")
    hand.tap("Harvest of comb", "Weight")
    boxes = {"harvests.1.mass": "8", "harvests.1.mass.oz": "6", "harvests.1.mass.vessel": "crock"}
    hand.fill({"harvests.1.comb": "cappings", **boxes, "harvests.1.apiary": "Mill", "harvests.1.hive": "H1, H2 & H3"}, "is that 3 hives?")
    hand.fill({"harvests.1.hive": "H1 + H2 + H3"}, then="Check again")
    hand.saved("weight 8 lb 6 oz - crock", "date 7/4/2025")
    hand.tap("All forms")
    hand.tap("Rendering session", "Session")
    hand.fill({"passes.1.session": "2026-1"}, "H1 (cappings, 6 lb 4 oz left)")
    hand.fill({"loads.1.source": "H1"}, "Weight of H1")
    hand.fill({}, "Anything else in the pot?")
    hand.fill({}, "Is the wax out yet?")
    hand.fill({"passes.1.more": "no"}, "waits here until its wax is weighed")
    hand.tap("All forms", "Begun and not saved")
    hand.tap("Rendering session: session 2026-1, loaded H1; not taken off yet", "waits here")
    hand.tap("The wax came off: go on", "Is the wax out yet?")
    hand.fill({"passes.1.more": "yes"}, "Hottest")
    weights = {"passes.1.wax_out": "3", "passes.1.wax_out.oz": "1", "passes.1.residue": "1"}
    doubts = ("did you mean 74 °C?", "4 minutes, or 4 hours?", "honey in it, or something not weighed?")
    hand.fill({"passes.1.method": "solar", **weights, "passes.1.peak_temp": "74", "passes.1.time": "4"}, *doubts)
    hand.fill({"passes.1.residue": "3", "passes.1.peak_temp": "165", "passes.1.time": "4 h"}, "Another pass?", then="Check again")
    hand.fill({"passes.2.more": "yes"}, "Hottest")
    hand.fill({"passes.2.method": "solar", "passes.2.wax_out": "3", "passes.2.residue.oz": "1"}, "Another pass?")
    hand.fill({"passes.3.more": "no"}, "leave empty if none")
    hand.fill({"blocks.1.block": "B1"}, "Color")
    hand.fill({"blocks.1.mass": "2", "blocks.1.mass.oz": "15", "blocks.1.colour": "yellow"}, "Next block")
    hand.fill({"blocks.2.block": ""})
    hand.saved("session 2026-1: 2 lb 15 oz of wax from 6 lb 4 oz of comb, a yield of 47.0 %")


def candles(hand: Hand) -> None:
    hand.tap("All forms")
    hand.tap("Batch of candles", "Batch")
    hand.fill({"batches.1.batch": "P2", "batches.1.candle": "taper", "batches.1.count": "13", "batches.1.status": "poured"}, "Good")
    hand.fill({"batches.1.good": "13", "batches.1.pour_temp": "160"})
    hand.saved()
    hand.tap("All forms")
    hand.tap("Sale of candles", "Candle")
    hand.fill({"sales.1.candle": "taper", "sales.1.count": "40", "sales.1.price": "$4"}, "P1 (12 left)")
    hand.fill({"sales.1.batch": "P2"})
    hand.saved("25 were on the shelf", label="Save anyway")
    hand.tap("All forms")
    hand.tap("Stocktake", "Item")
    hand.fill({"stocktakes.1.item": "B1", "stocktakes.1.mass": "2", "stocktakes.1.mass.oz": "11"})
    hand.saved("block B1: counted 2 lb 11 oz, the book has 2 lb 15 oz: 4 oz less")
    hand.tap("All forms")
    hand.tap("Draw of wax", "Block")
    hand.fill({"draws.1.block": "B1", "draws.1.mass": "1", "draws.1.use": "given"})
    hand.saved()
    hand.tap("All forms")
    hand.tap("Test burn", "Wick")
    burn = {"burns.1.test": "T1", "burns.1.burn": "1", "burns.1.candle": "jar", "burns.1.wick": "no. 2", "burns.1.time": "2 h", "burns.1.pool_diameter": "2.4"}
    hand.fill(burn)
    hand.saved("pool across 2.4")


def undo_and_discard(hand: Hand, phone: Phone) -> None:
    """The burn is named and taken back once, though the page is loaded again; what was typed is not thrown away unasked."""
    hand.tap("Take it back", "burn from the form: T1, 1, 7/4/2025, jar")
    hand.tap("Take it back", "Taken back: burn from the form")
    hand.page.refresh()
    hand.sees("Nothing was taken back")
    assert row_change.change(phone.book, CONTRACT["blocks"], "B1", {"place": "garage"}, phone.desk.today).changed
    hand.tap("Take the last entry back", "not entered on these pages", "change of block B1, line 2 of blocks.csv: place garage", "Take it back all the same")
    hand.tap("All forms")
    hand.tap("Block of wax", "Weight")
    hand.fill({"blocks.1.mass": "1"}, "What was typed here would be lost", then="Discard")
    hand.tap("Keep it and go on")
    hand.fill({"blocks.1.mass": "O.5", "blocks.1.supplier": "Ann"}, "write 0.5")
    hand.tap("Discard", "would be lost", "B2, 7/4/2025")
    hand.tap("Discard it", "Record")
    assert not phone.desk.drafts.open()


def looked_at(page: Any) -> None:
    """axe finds nothing, in dark no colours that are too near either; nothing is wider than the phone, or too small for a thumb."""
    for scheme, only in (("light", "{resultTypes: ['violations']}"), ("dark", "{runOnly: ['color-contrast'], resultTypes: ['violations']}")):
        media = {"features": [{"name": "prefers-color-scheme", "value": scheme}]}
        page.execute_cdp_cmd("Emulation.setEmulatedMedia", media)
        told = json.loads(page.execute_async_script(f"axe.run({only}).then(r => arguments[0](JSON.stringify(r)))"))
        faults = [f"{v['id']}: {n['html']} {n['failureSummary']}" for v in told["violations"] for n in v["nodes"]]
        assert faults == [], f"{page.title}, {scheme}"
        assert told["passes"]
    assert page.execute_script("return document.documentElement.scrollWidth") <= 360
    small = "return [...document.querySelectorAll('button,a.wide,.choice,input:not([type=radio]):not([type=hidden]),select')].filter(e => e.getBoundingClientRect().height < 44).length"
    assert page.execute_script(small) == 0
