"""What a tired thumb can get wrong on the phone: undo, discard, weights in pounds and ounces, pots, batches, effects."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

pytest.importorskip("starlette", reason="the form extra is not installed")
pytest.importorskip("httpx", reason="the test extra is not installed")

from pipeline.contract import log_columns
from pipeline.recording import offers, record_and_undo
from pipeline.web.weight_boxes import Boxes, as_answer
from tests.books import write_kept
from tests.web.test_recording_form import TODAY, Phone, logs

AMERICAN = """\
name = "Larkmoor"
currency = "USD"
dates = "month-first"
[show]
mass = "lb oz"
length = "in"
temperature = "F"
[vessels]
crock = "2 lb 2 oz"
"""
LOGS = {
    "harvests": "harvest,date,comb,mass_lb\nA1,6/1/2025,cappings,4\nA2,6/8/2025,brood comb,11\n",
    "loads": "session,source,part,mass_lb\nS1,A1,,2\n",
    "passes": "session,pass,date,method,mass_in_lb,wax_out_lb,residue_lb\nS1,1,7/1/2025,solar,2,1.5,0.4\n",
    "blocks": "block,date,mass_lb,session\nB1,7/1/2025,1.5,S1\n",
    "blends": "blend,wax_pct\npure,100\n",
    "candles": "candle,form,blend,fill_mass_oz\ntaper,dipped,pure,1\n",
    "batches": "batch,date,candle,count,status,good\nP1,8/1/2025,taper,12,poured,12\nP2,8/9/2025,taper,13,poured,13\n",
    "sales": "date,candle,count,batch\n8/20/2025,taper,2,P1\n",
}


def a_book(folder: Path) -> Path:
    return write_kept(folder, AMERICAN, TODAY.isoformat(), **LOGS)


@pytest.fixture
def phone(tmp_path: Path) -> Iterator[Phone]:
    opened = Phone(a_book(tmp_path / "Larkmoor"))
    yield opened
    opened.close()


def save(phone: Phone) -> Phone:
    return phone.act(phone.page.url.path, "save")


def a_block(phone: Phone, **fields: str) -> Phone:
    phone.start("block")
    return phone.fill(blocks__1__session="S1", **fields)


def test_undo_names_the_entry_and_its_time_before_it_does_anything(phone: Phone) -> None:
    save(a_block(phone, blocks__1__mass="1"))
    after = logs(phone.book)
    phone.page = phone.client.get("/undo")
    assert "block from the form: B2, " in phone.text
    assert re.search(r"it was made on \d+/\d+/\d{4} at \d\d:\d\d", phone.text)
    assert "Keep" in phone.text or "All forms" in phone.text
    assert logs(phone.book) == after


def test_a_page_of_undo_that_is_sent_again_takes_nothing_more_back(phone: Phone) -> None:
    save(a_block(phone, blocks__1__mass="1"))
    first = logs(phone.book)
    save(a_block(phone, blocks__1__mass="0", blocks__1__mass__oz="5"))
    phone.page = phone.client.get("/undo")
    mark = re.search(r'name="entry" value="(\w+)"', phone.page.text)
    assert mark
    sent = {"token": phone.token(), "entry": mark[1]}
    told = [phone.client.post("/undo", data=sent, headers=phone.own).text for _ in range(3)]
    assert "Taken back: block from the form: B3" in told[0]
    assert all("Nothing was taken back" in text for text in told[1:])
    assert logs(phone.book) == first


def test_nothing_is_taken_back_that_was_not_asked_about(phone: Phone) -> None:
    save(a_block(phone, blocks__1__mass="1"))
    after = logs(phone.book)
    phone.page = phone.client.get("/")
    for asked in ("", "0" * 64, "../journal"):
        sent = {"token": phone.token(), "entry": asked}
        assert "Nothing was taken back" in phone.client.post("/undo", data=sent, headers=phone.own).text
        assert logs(phone.book) == after


def test_an_entry_made_elsewhere_is_named_as_such(phone: Phone) -> None:
    row = {"block": "B7", "date": "2025-09-01", "mass": "1 lb", "supplier": "Ann"}
    record_and_undo.record(phone.book, {"blocks": [row]}, "block B7", TODAY)
    phone.page = phone.client.get("/undo")
    assert "not entered on these pages" in phone.text
    assert "Take it back all the same" in phone.text


def test_discard_asks_when_something_was_typed_and_keeps_it_for_who_goes_on(phone: Phone) -> None:
    path = phone.start("harvest")
    sent = {"token": phone.token(), "harvests.1.mass": "3", "harvests.1.harvest": "A3"}
    phone.page = phone.client.post(f"{path}/drop", data=sent, headers=phone.own)
    assert "What was typed here would be lost" in phone.text
    phone.page = phone.client.get(path)
    assert 'value="3"' in phone.text
    phone.page = phone.client.post(f"{path}/drop", data={"token": phone.token(), "sure": "yes"}, headers=phone.own)
    assert phone.client.get(path).status_code == 404


def test_an_entry_without_an_answer_is_discarded_at_once(phone: Phone) -> None:
    path = phone.start("harvest")
    phone.page = phone.client.post(f"{path}/drop", data={"token": phone.token()}, headers=phone.own)
    assert phone.page.url.path == "/"
    assert phone.client.get(path).status_code == 404


@pytest.mark.parametrize(
    ("pounds", "ounces", "vessel", "written", "noted"),
    [
        # 1 lb = 453.59237 g (international avoirdupois pound, exact), 16 oz to the pound
        ("1", "4", "", "1.25", ""),
        ("3", "6", "crock", "1.25", "mass: 3 lb 6 oz - crock"),
    ],
)
def test_two_boxes_and_a_pot(
    phone: Phone, pounds: str, ounces: str, vessel: str, written: str, noted: str
) -> None:
    boxes = {"blocks__1__mass": pounds, "blocks__1__mass__oz": ounces, "blocks__1__mass__vessel": vessel}
    save(a_block(phone, **boxes))
    (row,) = (phone.book / "blocks.csv").read_text().splitlines()[2:]
    mass_lb = float(row.split(",")[2])
    assert mass_lb == pytest.approx(float(written), abs=0.01 / 453.59237)
    assert row.endswith(noted)


def test_boxes_say_what_one_would_have_typed(tmp_path: Path) -> None:
    offered = offers.of(a_book(tmp_path / "Larkmoor"), TODAY)
    mass = next(column for column in log_columns.LOGS["blocks"].columns if column.name == "mass")
    said = {
        ("1", "4", ""): "1 lb 4 oz", ("", "12", ""): "12 oz", ("1", "", ""): "1 lb", ("1 lb 2 oz", "", ""): "1 lb 2 oz",
        ("3", "6", "crock"): "3 lb 6 oz - crock", ("6", "1O", ""): "6 lb 1O oz", ("3 lb 6 oz - crock", "", ""): "3 lb 6 oz - crock",
    }  # fmt: skip
    assert {boxes: as_answer(Boxes(*boxes), mass, offered) for boxes in said} == said


def test_what_was_typed_into_boxes_stands_in_them_again(phone: Phone) -> None:
    a_block(phone, blocks__1__mass="3", blocks__1__mass__oz="sick", blocks__1__mass__vessel="crock")
    assert re.search(r'name="blocks.1.mass" value="3"', phone.page.text)
    assert re.search(r'name="blocks.1.mass.oz" value="sick"', phone.page.text)
    phone.fill(blocks__1__mass__oz="6", blocks__1__mass__vessel="crock")
    phone.act(phone.page.url.path, "back")
    assert re.search(r'name="blocks.1.mass" value="3"', phone.page.text)
    assert re.search(r'name="blocks.1.mass.oz" value="6"', phone.page.text)
    assert "<option selected>crock</option>" in phone.page.text


def test_a_pot_without_a_weight_is_not_taken_for_nothing(phone: Phone) -> None:
    a_block(phone, blocks__1__mass__vessel="crock")
    assert phone.page.status_code == 422


def test_a_sale_asks_which_of_several_batches(phone: Phone) -> None:
    phone.start("sale")
    assert "sales.1.batch" not in phone.text
    phone.fill(sales__1__candle="taper", sales__1__count="5")
    assert "P1 (10 left)" in phone.text
    assert "P2 (13 left)" in phone.text
    phone.fill(sales__1__batch="P2 (13 left)")
    save(phone)
    assert (phone.book / "sales.csv").read_text().splitlines()[-1].endswith("taper,5,P2")


def test_a_stocktake_says_what_it_would_do_before_it_is_saved(phone: Phone) -> None:
    before = logs(phone.book)
    phone.start("stocktake")
    phone.fill(stocktakes__1__item="B1", stocktakes__1__mass="1", stocktakes__1__mass__oz="4")
    assert "Is this right?" in phone.text
    assert "block B1: counted 1 lb 4 oz, the book has 1 lb 8 oz: 4 oz less" in phone.text
    assert logs(phone.book) == before


def test_a_sale_beyond_the_shelf_says_so_before_it_is_saved(phone: Phone) -> None:
    phone.start("sale")
    phone.fill(sales__1__candle="taper", sales__1__count="40").fill()
    assert "were on the shelf" in phone.text
    assert "Save anyway" in phone.text


def test_weights_that_do_not_add_up_are_asked_about_in_these_words(phone: Phone) -> None:
    phone.start("session")
    phone.fill()
    phone.fill(loads__1__source="A2")
    phone.fill(loads__1__mass="12")
    for words in ("These weights do not add up", "Check again", "Save anyway"):
        assert words in phone.text


def test_after_saving_another_of_the_kind_is_one_tap_away(phone: Phone) -> None:
    phone.start("sale")
    phone.fill(sales__1__candle="taper", sales__1__count="1").fill()
    save(phone)
    assert "Record another sale" in phone.text


def test_hints_speak_of_the_field_and_not_of_keys(phone: Phone) -> None:
    phone.start("session")
    phone.fill()
    phone.fill(loads__1__source="A2").fill()
    assert "leave empty if not" in phone.text
    assert "Enter if" not in phone.text
