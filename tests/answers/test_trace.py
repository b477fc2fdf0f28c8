"""Traces against a walk of the tests' own, and the demo's longest chain worked out by hand."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given

from pipeline import flow
from pipeline.analyses.trace_shares import LoopError
from pipeline.answers import trace, trace_links
from pipeline.wording import trace_sentences
from pipeline.wording.amounts import Units
from tests.books import ROOT, run, run_once, write, write_kept
from tests.oracle.book import Book
from tests.oracle.trace import Loop, Walk
from tests.strategies import LAST_DAY, books, looking, write_book


def up_and_down(book: Book) -> None:
    """Every block, batch and session of a book, back and ahead."""
    walk = Walk(book)
    with TemporaryDirectory() as folder:
        loaded = flow.load(write_book(book, Path(folder) / "book"), LAST_DAY)
        things = [("block", b) for b in book.blocks] + [("session", s) for s in book.passes]
        things += [("batch", b["batch"]) for b in book.logs["batches"]]
        ups, in_circles = {}, set()
        for kind, name in things:
            found = trace.trace(loaded, f"{kind} {name}")
            try:
                expected = walk.up(kind, name)
            except Loop:
                assert isinstance(found, LoopError)
                in_circles.add((kind, name))
                continue
            if isinstance(found, LoopError):  # the loop lies ahead of it
                in_circles.add((kind, name))
                continue
            assert isinstance(found, trace.Trace), (kind, name, found)
            ours = {(s.kind, s.id): s.share for s in found.up if s.kind in ("harvest", "block", "unknown")}
            assert ours == pytest.approx({k: float(v) for k, v in expected.items()}, abs=1e-9)
            assert sum(ours.values()) == pytest.approx(1, abs=1e-9)
            ups[kind, name] = expected
        for harvest in book.harvests:  # what a harvest finds ahead is what those things find behind
            found = trace.trace(loaded, f"harvest {harvest}")
            if isinstance(found, trace.Trace):
                ahead = {(o.kind, o.id) for o in found.down if o.kind in ("block", "session", "batch")}
                assert ahead - in_circles == {thing for thing, shares in ups.items() if shares.get(("harvest", harvest))}


@given(books())
@looking(6)
def test_shares_of_random_books_agree_with_a_walk_step_by_step(book: Book) -> None:
    up_and_down(book)


DEMO = ROOT / "data" / "demo"


def test_the_longest_chain_of_the_demo_by_hand() -> None:
    """Batch P26-1 from its draws down to the harvests, with the masses of the demo's logs (g).

    P26-1 took all 1,280 of B25-10 and 1,070 of B25-11. B25-10 was cast from R25-9, which refined 2,025 of R25-7 and 2,535
    of R25-8; R25-7 rendered H25-07 alone, R25-8 H25-02 815, H25-05 1,520, H25-08 1,120 and H24-09 690. B25-11 was cast
    from R25-10, which melted again all of B24-03, 1,210, and 1,230 of B24-04, from H24-04 and H24-05.
    """
    b10, b11 = 1280 / (1280 + 1070), 1070 / (1280 + 1070)
    from_8 = b10 * 2535 / (2025 + 2535) / (815 + 1520 + 1120 + 690)
    by_hand = {
        "H25-07": b10 * 2025 / (2025 + 2535), "H25-02": 815 * from_8, "H25-05": 1520 * from_8, "H25-08": 1120 * from_8,
        "H24-09": 690 * from_8, "H24-04": b11 * 1210 / (1210 + 1230), "H24-05": b11 * 1230 / (1210 + 1230),
    }  # fmt: skip
    up = run("trace", DEMO, "P26-1", "--json").json["up"]
    assert {s["id"]: s["share"] for s in up if s["kind"] == "harvest"} == pytest.approx(by_hand)
    assert sum(by_hand.values()) == pytest.approx(1)
    for kind in ("hive", "apiary"):
        assert sum(s["share"] for s in up if s["kind"] == kind) == pytest.approx(1)


CALLED_BACK = {
    "harvests": """
        harvest,date,comb,mass_g,apiary,hive,hold
        H1,2026-05-01,brood comb,4000,Mill,1 + 2,foulbrood
        H2,2026-05-01,cappings,1000,Mill,2,""",
    "loads": """
        session,source,part,mass_g
        S1,H1,,4000
        S2,H2,,1000
        S3,S1,wax,600
        S3,S2,wax,400
        S4,S1,slumgum,500""",
    "passes": """
        session,pass,date,method,wax_out_g,residue_g
        S1,1,2026-06-01,steam,900,1000
        S2,1,2026-06-02,solar,800,100
        S3,1,2026-06-03,water bath,980,20
        S4,1,2026-06-04,press,100,400""",
    "blocks": """
        block,date,mass_g,session,supplier
        A,2026-06-05,980,S3,
        B,2026-06-06,100,S4,
        C,2026-06-07,500,,the neighbour""",
    "blends": "blend,wax_pct\npure,100",
    "candles": "candle,form,blend,fill_mass_g\ntaper,dipped,pure,49",
    "batches": """
        batch,date,candle,count,status,good
        P1,2026-07-01,taper,20,poured,18""",
    "draws": """
        date,block,mass_g,use,batch
        2026-07-01,A,490,candles,P1
        2026-07-01,C,490,candles,P1""",
    "sales": """
        date,candle,count,batch
        2026-08-01,taper,9,P1
        2026-08-02,taper,2,
        2026-06-20,taper,1,""",
}


def test_what_must_be_called_back_of_a_diseased_harvest(tmp_path: Path) -> None:
    book = write_kept(tmp_path / "book", **CALLED_BACK)
    ran = run("trace", book, "harvest H1", "--json").json
    down = {(o["kind"], o["id"]): o["mass_g"] for o in ran["down"]}
    assert down == pytest.approx({
        ("session", "S1"): 900, ("session", "S3"): 980 * 0.6, ("session", "S4"): 100,
        ("block", "A"): 980 * 0.6, ("block", "B"): 100, ("draw", "2"): 490 * 0.6, ("batch", "P1"): 980 * 0.3,
        ("sale", "2"): 980 * 0.3 * 9 / 18, ("sale", "3"): None, ("shelf", None): 490 * 0.6 + 100,
    })  # fmt: skip
    told = run("trace", book, "harvest H1").out
    assert (
        "To call back: 9 taper of P1 sold on 2026-08-01; 2 taper sold on 2026-08-02 (perhaps: no batch was written down); "
        "what is not sold of P1; 2 blocks on the shelf." in " ".join(told.split())
    )
    assert max(map(len, told.splitlines())) <= 80
    assert "foulbrood" in told
    assert "bee inspector" in told


@pytest.mark.parametrize("few", [500, 0])
def test_a_long_book_is_walked_step_by_step_to_the_same_end(few: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    book = write_kept(tmp_path / "book", **CALLED_BACK)
    things = ("harvest H1", "hive Mill/2", "sale 2", "block A")
    at_once = [run("trace", book, thing, "--json").json for thing in things]
    monkeypatch.setattr(trace_links, "_ALL_LINKS", -1)
    monkeypatch.setattr(trace_links, "_FEW", few)
    assert [run("trace", book, thing, "--json").json for thing in things] == at_once


def test_a_sale_of_held_wax_is_itself_called_back(tmp_path: Path) -> None:
    told = run("trace", write_kept(tmp_path / "book", **CALLED_BACK), "sale 2").out
    assert "To call back: the candles of sales.csv line 2." in told


def test_an_answer_of_many_things_is_one_screen() -> None:
    """Forty harvests, hives and sales: the first of each and their sums, with what is called back in one sentence."""
    up = tuple(trace.Origin(kind, f"{kind[0]}{n}", 1 / 40) for kind in ("harvest", "hive") for n in range(40))
    sales = tuple(trace.Destination("sale", str(n), 10.0, date(2026, 8, 1), "taper", 2, batch=f"P{n}") for n in range(40))
    batches = tuple(trace.Destination("batch", f"P{n}", 10.0, date(2026, 7, 1), "taper") for n in range(40))
    held = tuple((f"h{n}", "foulbrood") for n in range(40))
    told = trace_sentences.trace(trace.Trace("block", "B", up, (*batches, *sales), held), Units())
    assert len(told.splitlines()) <= 40
    assert max(map(len, told.splitlines())) <= 80
    assert "80 taper in 40 sales, 2026-08-01 to 2026-08-01; what is not sold of 40 batches." in " ".join(told.split())
    assert "34 more, --all lists them" in told
    assert "85.0 %" in told


def test_a_sale_back_to_hives_and_to_who_sold_the_wax(tmp_path: Path) -> None:
    up = run("trace", write_kept(tmp_path / "book", **CALLED_BACK), "sale 2", "--json").json["up"]
    shares = {(s["kind"], s["id"]): (s["share"], s["flags"]) for s in up}
    assert shares[("harvest", "H1")] == (pytest.approx(0.3), [])
    assert shares[("harvest", "H2")] == (pytest.approx(0.2), [])
    assert shares[("block", "C")] == shares[("supplier", "the neighbour")] == (pytest.approx(0.5), [])
    assert shares[("hive", "Mill/1")] == (pytest.approx(0.15), ["shared"])
    assert shares[("hive", "Mill/2")] == (pytest.approx(0.15 + 0.2), ["shared"])
    assert shares[("apiary", "Mill")] == (pytest.approx(0.5), [])


def test_a_hive_ahead_by_its_part_of_each_harvest(tmp_path: Path) -> None:
    book = write_kept(tmp_path / "book", **CALLED_BACK)
    down = {(o["kind"], o["id"]): o["mass_g"] for o in run("trace", book, "hive Mill/1", "--json").json["down"]}
    assert down["session", "S3"] == pytest.approx(980 * 0.6 / 2)
    assert run("trace", book, "hive 1", "--json").json == run("trace", book, "Mill/1", "--json").json


def test_a_sale_without_a_batch_comes_from_nobody_knows(tmp_path: Path) -> None:
    up = run("trace", write_kept(tmp_path / "book", **CALLED_BACK), "sale 3", "--json").json["up"]
    assert up == [{"kind": "unknown", "id": None, "share": 1, "flags": []}]


@pytest.mark.parametrize(("asked", "says"), [("H9", "is in no log"), ("sale 9", "is in no log"), ("hive 2", None), ("P1", None)])
def test_names_that_lead_nowhere_are_told(asked: str, says: str | None, tmp_path: Path) -> None:
    ran = run("trace", write_kept(tmp_path / "book", **CALLED_BACK), asked)
    assert (ran.code, says in ran.err) == (2, True) if says else ran.code == 0


def test_a_name_that_stands_in_several_logs_is_asked_about(tmp_path: Path) -> None:
    logs = CALLED_BACK | {"blocks": CALLED_BACK["blocks"].replace("B,2026", "P1,2026")}
    ran = run_once("trace", write(tmp_path, **logs), "P1")
    assert ran.code == 2
    assert '"block P1", "batch P1"' in ran.err or '"batch P1", "block P1"' in ran.err


def test_wax_that_comes_from_itself_is_an_error_with_the_circle_named(tmp_path: Path) -> None:
    logs = CALLED_BACK | {"blocks": CALLED_BACK["blocks"].replace("supplier", "supplier,batch").replace("C,2026-06-07,500,,the neighbour", "C,2026-07-02,500,,,P1")}
    ran = run_once("trace", write(tmp_path, **logs), "P1")
    assert ran.code == 1
    assert all(word in ran.err for word in ("batch P1", "block C", "cannot come from itself"))


def test_the_picture_of_a_batch_bears_the_parts_of_its_trace(tmp_path: Path) -> None:
    """The stream from hives to the batch and the shares of the trace are one and the same."""
    loaded = flow.load(DEMO, LAST_DAY)
    found = trace.journey(loaded, "P26-1")
    assert found
    by_harvest: dict[str | None, float] = {}
    for way in found.ways:
        by_harvest[way.begin.name] = by_harvest.get(way.begin.name, 0) + way.share
    traced = trace.trace(loaded, "P26-1")
    assert isinstance(traced, trace.Trace)
    assert by_harvest == pytest.approx({s.id: s.share for s in traced.up if s.kind == "harvest"})
    assert {w.melted.name for w in found.ways if w.melted} == {"R25-7", "R25-8", "R24-3", "R24-4"}
    assert run("trace", DEMO, "P26-1", "--charts", tmp_path / "out").code == 0
    assert (tmp_path / "out" / "journey.svg").read_text("utf-8").startswith("<svg")
    assert run("trace", DEMO, "R25-7", "--charts", tmp_path / "out").code == 2
