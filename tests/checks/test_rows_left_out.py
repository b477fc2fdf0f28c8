"""Which rows are left out with a row that has an error, and how many grams that says it takes (contract, severity).

"Errors stop a build; ``build --leave-out`` builds without the rows that have errors and what hangs on them, and says at the
top what was left out and how many grams." What hangs is worked out by hand: a session with all its rows and blocks, what was
made or taken of its wax, and whatever names a recipe, wick, candle or pour that is left out.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from pipeline import flow
from pipeline.book.book_toml import read_book
from pipeline.checks.rule_engine import rules
from pipeline.flow import Loaded
from pipeline.recording.new_findings import asked_book
from tests.books import TODAY, write
from tests.checks.cases import Case, CaseBook

COLUMNS = {
    "harvests": "harvest,date,comb,mass_g,frames",
    "loads": "session,source,mass_g,part",
    "passes": "session,pass,date,method,mass_in_g,wax_out_g",
    "blocks": "block,date,mass_g,session,supplier,batch,blend",
    "draws": "date,block,mass_g,use,batch",
    "stocktakes": "date,item,mass_g,count",
    "blends": "blend,wax_pct",
    "candles": "candle,form,blend,fill_mass_g,wick",
    "batches": "batch,date,candle,count,status",
    "wicks": "wick,rank,from_diameter_mm,to_diameter_mm",
    "burns": "test,burn,date,candle,wick,time_min",
    "sales": "date,candle,count,batch",
}

BOOK = CaseBook.of(COLUMNS, """
# comb that nobody can weigh takes out the session that melted it, and a stocktake of it in either name
harvests: A, 2025-05-01, cappings, heavy     !! left out: 0
loads: a, A, 100                             !! left out: 100
passes: a, 1, 2025-06-01, steam, , 90        !! left out: 90
blocks: AB, 2025-06-01, 85, session=a        !! left out: 85
draws: 2025-06-05, AB, 5, sold               !! left out: 5
stocktakes: 2026-01-01, AB, 80               !! left out: 80
stocktakes: 2026-01-01, block AB, 80         !! left out: 80
stocktakes: 2026-01-01, A, 0                 !! left out: 0

# a block that bears the comb's name stays, with what was taken of it
blocks: heather, 2025-06-01, 50, supplier=shop
harvests: heather, 2025-05-01, cappings, ?   !! left out: 0
draws: 2025-06-05, heather, 7, sold
passes: h, 1, 2025-06-02, steam, , 8
loads: h, block heather, 9
passes: hh, 1, 2025-06-02, steam, , 8        !! left out: 8
loads: hh, harvest heather, 9                !! left out: 9
stocktakes: 2026-01-01, block heather, 34
stocktakes: 2026-01-01, harvest heather, 1   !! left out: 1

# the wax and the block of a session that is out take out the sessions that they went into; another session stays
passes: b, 1, 2025-06-01, steam, 100         !! left out: 0
loads: c, b, 50, wax                         !! left out: 50
passes: c, 1, 2025-06-02, steam, , 48        !! left out: 48
blocks: CB, 2025-06-02, 47, session=c        !! left out: 47
loads: d, CB, 20                             !! left out: 20
passes: d, 1, 2025-06-03, steam, , 19        !! left out: 19
harvests: E, 2025-05-01, cappings, 200
loads: e, E, 150
passes: e, 1, 2025-06-03, steam, , 130
blocks: EB, 2025-06-03, 120, session=e
draws: 2025-06-05, EB, 11, sold
stocktakes: 2026-01-01, EB, 105
stocktakes: 2026-01-01, , 1000

# a load of nothing that is known takes out its session; a block that cannot be read its session, but a bought one none
passes: f, 1, 2025-06-01, steam, 100, 90     !! left out: 90
loads: f, nowhere, 100                       !! left out: 100
passes: g, 1, 2025-06-01, steam, 100, 90     !! left out: 90
blocks: GB, 2025-06-01, light, session=g     !! left out: 0
blocks: GC, 2025-06-01, light, supplier=shop !! left out: 0
draws: 2025-06-05, GC, 3, sold               !! left out: 3
blocks: GD, 2025-06-01, 30, supplier=shop

# a draw alone that cannot be read takes nothing with it
draws: 2025-06-05, GD, ?, sold               !! left out: 0

# a recipe that does not sum up takes out its candles, their pours, burns and sales, and what was recovered or taken for them
blends: mix, 70                              !! left out: 0
blends: plain, 100
blocks: mixed, 2025-06-01, 60, supplier=shop, blend=mix  !! left out: 60
candles: bad, mould, mix, 50                 !! left out: 0
batches: p1, 2025-08-01, bad, 1, poured      !! left out: 0
draws: 2025-08-01, GD, 4, candles, p1        !! left out: 4
blocks: P1, 2025-08-02, 2, batch=p1          !! left out: 2
burns: t1, 1, 2025-09-01, bad, w, 60         !! left out: 0
sales: 2025-09-01, bad, 1                    !! left out: 0
stocktakes: 2026-01-01, bad, count=1         !! left out: 0
stocktakes: 2026-01-01, candle bad, count=1  !! left out: 0

# a wick that cannot be read takes out the candles that get it and the burns with it; a pour its sales; others stay
wicks: w, 1, 20, 40
wicks: v, two, 20, 40                        !! left out: 0
candles: jar, mould, plain, 50, w
candles: vase, mould, plain, 50, v           !! left out: 0
burns: t2, 1, 2025-09-01, jar, v, 60         !! left out: 0
burns: t3, 1, 2025-09-01, jar, w, 60
batches: p2, 2025-08-01, jar, many, poured   !! left out: 0
batches: p3, 2025-08-01, jar, 5, poured
sales: 2025-09-01, jar, 1, p2                !! left out: 0
sales: 2025-09-01, jar, 1, p3
sales: 2025-09-02, jar, 1
draws: 2025-08-01, GD, 6, candles, p3
stocktakes: 2026-01-01, jar, count=1
""")  # fmt: skip


@pytest.fixture(scope="module")
def loaded(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Loaded]:
    loaded = flow.load(write(tmp_path_factory.mktemp("left"), **BOOK.logs), date.fromisoformat(TODAY))
    yield loaded
    loaded.warehouse.close()


@pytest.mark.parametrize("case", BOOK.cases, ids=lambda case: case.shows)
def test_rows_of(case: Case, loaded: Loaded) -> None:
    for log in {log for log, _ in case.rows}:
        stay = {row["row"] + 1 for row in loaded.warehouse.rows(f"SELECT row FROM {log}")}  # line 1 is the header
        gone = {line for at, line in case.rows if at == log and line not in stay}
        assert gone == {told.line for told in case.told if told.log == log}, log


def test_what_is_said_of_them(loaded: Loaded) -> None:
    told = [told for case in BOOK.cases for told in case.told]
    rows, grams = Counter(t.log for t in told), Counter[str]()
    for each in told:
        grams[each.log] += int(each.words)
    assert {out.log: (out.rows, out.mass_g) for out in loaded.left_out} == {log: (n, grams[log]) for log, n in rows.items()}


@pytest.mark.parametrize("load", ["T,H,lots", "T,I,90"], ids=["a cell that cannot be read", "a name that no log holds"])
def test_one_fault_alone_takes_its_session_out(tmp_path: Path, load: str) -> None:
    book = write(
        tmp_path, harvests="harvest,date,comb,mass_g\nH,2025-05-01,cappings,90", loads=f"session,source,mass_g\n{load}",
        passes="session,pass,date,method,wax_out_g\nT,1,2025-06-01,solar,50\nU,1,2025-06-01,solar,50",
        blocks="block,date,mass_g,supplier\nB,2025-06-01,10,shop",
    )  # fmt: skip
    asked = [rule for rule in rules() if rule.name == "unknown-source"]
    with asked_book(read_book(book)[0], date.fromisoformat(TODAY), {}, asked) as (_, warehouse):
        assert warehouse.rows("SELECT session FROM passes") == [{"session": "U"}]
        assert warehouse.rows("SELECT session FROM loads") == []
