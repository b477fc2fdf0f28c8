"""Labels: what stands on them, in whose units, and what is left for the maker to fill."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.books import ROOT, run, write

DEMO = ROOT / "data" / "demo"


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """The A4 page of a scented tin, a jar and a taper of the demo."""
    out = tmp_path_factory.mktemp("labels")
    for batch in ("P26-7", "P26-2", "P25-3"):
        ran = run("label", DEMO, batch, "--out", out, "--json")
        assert ran.code == 0, ran.err
        assert [Path(f).name for f in ran.json["files"]] == [f"demo-label-{batch}-a4.html", f"demo-label-{batch}-letter.html"]
    return {f.name.split("-label-")[1].removesuffix("-a4.html"): f.read_text("utf-8") for f in out.glob("*-a4.html")}


def text(page: str) -> str:
    return " ".join(re.sub(r"<style>.*?</style>|<[^>]+>", " ", page).split())


def test_net_mass_in_both_systems_of_units_and_the_burning_time(made: dict[str, str]) -> None:
    jar = text(made["P26-2"])
    assert "net 150 g (5.3 oz)" in jar  # 150 / 28.349523125 = 5.291
    assert "Burns 28 to 31 h" in jar
    assert "beeswax 70 %, coconut oil 30 %" in jar
    taper = text(made["P25-3"])
    assert "1 dipped candle; net 62 g (2.2 oz)" in taper  # 16 CFR 501.7: tapers by count


def test_a_page_of_equal_labels_and_one_with_the_full_text(made: dict[str, str]) -> None:
    for batch, page in made.items():
        labels = re.findall(r"<article>.*?</article>", page)
        assert len(labels) == (6 if batch == "P26-7" else 8)  # a scented one has room for a hazard label
        assert len(set(labels)) == 1
        assert page.count("<section>") == 1


def test_a_book_in_ounces_and_inches_tells_them_first(tmp_path: Path) -> None:
    write(
        tmp_path, "name='us'\n[show]\nmass='lb oz'\nlength='in'\n", blends="blend,wax_pct\npure,100",
        candles="candle,form,blend,fill_mass_oz,diameter_in,height_in\njar,container,pure,8,2.5,4\nbar,mould,pure,4,2,3",
        batches="batch,date,candle,count,status\nA,2026-12-01,jar,6,planned\nB,2026-01-01,bar,6,poured",
    )  # fmt: skip
    jar, bar = (text(Path(run("label", tmp_path, batch, "--json").json["files"][1]).read_text("utf-8")) for batch in "AB")
    for words in ("net 8.0 oz (227 g)", "1/4 in (6 mm)", "3/8 in (10 mm)", "to be poured 2026-12-01"):
        assert words in jar, words
    assert "1 molded candle, 3 in (76 mm) high; net 4.0 oz (113 g)" in bar
    assert "cotton" not in jar  # what the wick is made of stands in no log


def test_warnings_in_own_words_with_the_general_sign(made: dict[str, str]) -> None:
    """Content of a safety label: ASTM F2058, EN 15494:2019 (quoted): the sign, in sight, away from what burns, from children."""
    for page in made.values():
        said = text(page)
        for word in ("out of sight", "catch fire", "children", "triangle with an exclamation mark", "EN 15494:2019", "EN 15493:2019", "ASTM F2058", "16 CFR 501.7"):
            assert word in said, word
        assert "you sell" in said
        assert "aria-label='general warning sign'" in page


def test_the_boxes_of_the_law_are_left_empty(made: dict[str, str]) -> None:
    tin, jar = made["P26-7"], made["P26-2"]
    assert "1272/2008" in text(tin)
    assert "1272/2008" not in text(jar)
    assert (tin.count("class='box hazard'"), jar.count("class='box hazard'")) == (7, 0)
    for page in made.values():
        assert set(re.findall(r"class='box[^']*'>([^<]*)</div>", page)) <= {"Maker: name, address, telephone", "Hazard label (CLP): from the data sheet of the scent"}


def test_the_lot_is_what_trace_understands(made: dict[str, str]) -> None:
    assert "Lot: batch P26-2" in text(made["P26-2"])
    assert run("trace", DEMO, "batch P26-2").code == 0


def test_the_square_code_holds_the_lot(made: dict[str, str]) -> None:
    """Against segno's own encoder: the drawing on the page is that of the lot's text."""
    import segno

    path = re.search(r" d=\"([^\"]+)\"", segno.make("batch P26-2", error="m", micro=False).svg_inline(border=2))
    assert path is not None
    assert path[1] in made["P26-2"]


def test_names_cannot_break_a_label(tmp_path: Path) -> None:
    write(
        tmp_path, blends="blend,wax_pct,oil,oil_pct\nmix,70,\"<b>&'\",30", candles="candle,form,blend,diameter_mm,height_mm\nbar 1/2,mould,mix,50,80",
        batches="batch,date,candle,count,status\nA/1,2026-01-01,bar 1/2,3,poured",
    )  # fmt: skip
    ran = run("label", tmp_path, "A/1", "--json")
    assert ran.code == 0
    page = Path(ran.json["files"][0]).read_text("utf-8")
    assert "<b>" not in page
    assert "1 moulded candle, 80 mm (3.15 in) high" in text(page)
    wrong = run("label", tmp_path, "A/2")
    assert (wrong.code, "did you mean A/1" in wrong.err) == (2, True)
