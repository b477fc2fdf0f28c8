"""Each rule that links: what it must find, beside rows that look like it and are well; and what such rows take out with them.

All expectations are worked out by hand from the contract, sections 1 (keys, references, what an empty cell means) and 2
(sources, severity). A row with an error is left out of what other rules see, so no case leans on the rows of another.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from pipeline.checks.rule_engine import rules
from pipeline.contract.findings import Finding
from tests.checks.cases import Case, CaseBook, assert_told

COLUMNS = {
    "harvests": "harvest,date,comb,mass_g,frames",
    "loads": "session,source,mass_g,part,pass",
    "passes": "session,pass,date,method,mass_in_g,wax_out_g,residue_g",
    "blocks": "block,date,mass_g,session,supplier,batch,blend",
    "draws": "date,block,mass_g,use,batch",
    "stocktakes": "date,item,mass_g,count",
    "blends": "blend,wax_pct,oil_pct",
    "candles": "candle,form,blend,fill_mass_g,fill_volume_ml,diameter_mm,height_mm,wick",
    "batches": "batch,date,candle,count,status",
    "wicks": "wick,rank,from_diameter_mm,to_diameter_mm",
    "sales": "date,candle,count,batch",
}

BOOK = CaseBook.of(COLUMNS, """
# double-key: each row after the first is told, with the line of the first
harvests: K1, 2025-05-01, cappings, 100
harvests: K1, 2025-05-01, cappings, 200   !! double-key error: the harvest K1 stands on line 2 already
harvests: K1, 2025-05-01, cappings, 300   !! double-key error: the harvest K1 stands on line 2 already
harvests: k1, 2025-05-01, cappings, 400

# double-key: of a key of two columns both must be the same
passes: k2, 1, 2025-06-01, steam, 100, 50
passes: k2, 2, 2025-06-01, steam, , 49
passes: k2, 2, 2025-06-02, steam, , 48    !! double-key error: the session k2/2 stands on line 3 already
passes: k3, 1, 2025-06-01, steam, 100, 50

# what the cases below stand on
blocks: stock, 2000-01-01, 100000, supplier=before this book
blends: plain, 100
wicks: w, 1, 20, 100
candles: jar, mould, plain, 50
batches: pour, 2025-08-01, jar, 1, poured

# unknown-reference: a name that its log does not hold; a session without a pass is still in the melter
draws: 2025-07-01, stock, 10, sold
draws: 2025-07-01, U1, 10, sold           !! unknown-reference error: blocks.csv has no block named U1
draws: 2025-07-01, stock, 50, candles, U2 !! unknown-reference error: batches.csv has no batch named U2
blocks: U3, 2025-06-01, 100, session=U4   !! unknown-reference error: passes.csv has no session named U4
loads: u5, stock, 100                     !! unknown-reference error: it was loaded, but passes.csv has no pass of session u5
sales: 2025-08-02, U6, 1                  !! unknown-reference error: candles.csv has no candle named U6
candles: U7, mould, U8, 50                !! unknown-reference error: blends.csv has no blend named U8

# one-of-several: a block comes from just one of session, supplier and batch
passes: e1, 1, 2025-06-01, steam, 100, 50
blocks: E1, 2025-06-01, 10, session=e1
blocks: E2, 2025-06-01, 10, supplier=shop
blocks: E3, 2025-08-02, 10, batch=pour
blocks: E4, 2025-06-01, 10                !! one-of-several error: 0 of session, supplier and batch are filled; one must be
blocks: E5, 2025-06-01, 10, e1, shop      !! one-of-several error: 2 of session, supplier and batch are filled
blocks: E6, 2025-06-01, 10, e1, shop, pour  !! one-of-several error: 3 of session, supplier and batch are filled

# any-of-several: comb is weighed, counted in frames or both
harvests: F1, 2025-05-01, cappings, 100, 1
harvests: F2, 2025-05-01, cappings, 100
harvests: F3, 2025-05-01, cappings, , 1
harvests: F4, 2025-05-01, cappings        !! any-of-several error: none of mass and frames is filled
candles: F5, mould, plain                 !! any-of-several error: none of fill_mass, fill_volume and diameter is filled

# ambiguous-source: a name in two or three logs must say which; said so, it is none
harvests: X2, 2025-05-01, cappings, 100
blocks: X2, 2025-05-01, 100, supplier=shop
passes: x, 1, 2025-06-01, steam, , 50
loads: x, X2, 10                          !! ambiguous-source error: X2 could be block X2 or harvest X2; name the log first, as in block X2
loads: x, harvest X2, 10
loads: x, block X2, 10
harvests: X3, 2025-05-01, cappings, 100
blocks: X3, 2025-05-01, 100, supplier=shop
passes: X3, 1, 2025-06-01, steam, 100, 50
loads: x, X3, 10                          !! ambiguous-source error: X3 could be block X3 or harvest X3 or session X3

# blended-loaded: a mixed block; comb of the same name is not mixed
blocks: B1, 2025-05-01, 100, supplier=shop, blend=plain
harvests: B1, 2025-05-01, cappings, 100
blocks: B2, 2025-05-01, 100, supplier=shop
passes: b, 1, 2025-06-01, steam, , 50
loads: b, block B1, 10                    !! blended-loaded error: block B1 is mixed to plain, so its wax cannot be told from its oil
loads: b, harvest B1, 10
loads: b, B2, 10

# candle-height: a width alone gives no size; with a height, a mass or a volume it is known; a row with a bad cell has its own fault
candles: c1, mould, plain, diameter_mm=60  !! candle-height error: c1 has a diameter but no height
candles: c2, mould, plain, diameter_mm=60, height_mm=50
candles: c3, mould, plain, 50, diameter_mm=60
candles: c4, mould, plain, fill_volume_ml=50, diameter_mm=60
candles: c5, mould, plain, fill_volume_ml=50
candles: c6, mould, plain, height_mm=50    !! any-of-several error: none of
candles: c7, mould, plain, diameter_mm=60, height_mm=tall  !! number-form error: tall is not a number

# own-source: a session's own wax and slumgum; comb that bears its name, and another session's wax, are well
passes: s1, 1, 2025-06-01, steam, 100, 50, 10
loads: s1, s1, 10, wax                    !! own-source error: session s1 loads what came out of it itself
loads: s1, s1, 10, slumgum                !! own-source error: session s1
passes: s2, 1, 2025-06-01, steam, , 50
harvests: s2, 2025-05-01, cappings, 100
loads: s2, harvest s2, 100
passes: s3, 1, 2025-06-02, steam, , 50
passes: s4, 1, 2025-06-01, steam, 100, 50
loads: s3, s4, 50, wax

# part-missing: wax or slumgum of a session; comb has no parts; a row with a bad cell has its own fault
passes: p1, 1, 2025-06-01, steam, 100, 50, 10
passes: p2, 1, 2025-06-02, steam, , 20
harvests: P3, 2025-05-01, cappings, 100
loads: p2, p1, 10                         !! part-missing error: the source is session p1, but not whether its wax or its slumgum
loads: p2, p1, 11, wax
loads: p2, p1, 10, slumgum
loads: p2, P3, 10
loads: p2, p1, many                       !! number-form error: many is not a number

# recipe-sum: 0.05 either way is rounding, 0.06 is none; an oil left empty is no oil
blends: r1, 100
blends: r2, 70, 30
blends: r3, 99.95
blends: r4, 99.94                         !! recipe-sum error: 99.94 % wax and 0 % oil make 99.94 %, 0.06 % under 100 %
blends: r5, 70, 30.05
blends: r6, 70, 30.06                     !! recipe-sum error: 70 % wax and 30.06 % oil make 100.1 %, 0.06 % over 100 %
blends: r7, 70                            !! recipe-sum error: 70 % wax and 0 % oil make 70 %, 30 % under 100 %

# slumgum-unweighed: all the slumgum is known only where every residue was weighed
passes: g1, 1, 2025-06-01, steam, 100, 60, 20
passes: g1, 2, 2025-06-01, steam, , 50
passes: g2, 1, 2025-06-01, steam, 100, 60, 20
passes: g2, 2, 2025-06-01, steam, , 50, 5
passes: g3, 1, 2025-06-02, press, , 10, 1
passes: g4, 1, 2025-06-02, press, , 10, 1
passes: g5, 1, 2025-06-02, press, , 10, 1
loads: g3, g1, , slumgum                  !! slumgum-unweighed error: all slumgum of session g1 was loaded, but not every residue of it was weighed
loads: g4, g1, 10, slumgum
loads: g4, g1, , wax
loads: g5, g2, , slumgum
loads: g5, g1, , slumgum, one             !! number-form error: one is not a number

# source-loop: two sessions that feed one another; the one that began first cannot have had the other's wax
passes: q1, 1, 2025-06-01, steam, 100, 50
passes: q1, 2, 2025-06-09, steam, , 40
passes: q2, 1, 2025-06-05, steam, 50, 30
loads: q1, q2, 10, wax                    !! source-loop error: session q1 loads from q2, which itself came from q1
loads: q2, q1, 10, wax

# source-loop: within one day neither began first; over three sessions it is one too
passes: q3, 1, 2025-06-01, steam, 100, 50, 9
passes: q4, 1, 2025-06-01, steam, 50, 30, 9
loads: q3, q4, 5, slumgum                 !! source-loop error: session q3 loads from q4
loads: q4, q3, 5, slumgum                 !! source-loop error: session q4 loads from q3
passes: q5, 1, 2025-06-01, steam, 100, 50
passes: q6, 1, 2025-06-02, steam, 50, 30
passes: q7, 1, 2025-06-03, steam, 50, 30
loads: q6, q5, 10, wax
loads: q7, q6, 10, wax
loads: q5, q7, 10, wax                    !! source-loop error: session q5 loads from q7, which itself came from q5

# source-loop: by way of a block; the block of a session in the session itself
passes: q8, 1, 2025-06-01, steam, 100, 50
blocks: Q8, 2025-06-01, 40, session=q8
loads: q8, Q8, 10                         !! source-loop error: session q8 loads wax that came from itself
passes: q9, 1, 2025-06-01, steam, 100, 50
passes: q10, 1, 2025-06-02, steam, 100, 50
blocks: Q9, 2025-06-02, 40, session=q9
loads: q10, Q9, 40
loads: q9, q10, 10, wax                   !! source-loop error: session q9 loads from q10

# source-loop: a session without a date may be before or after
passes: q11, 1, 2025-06-01, steam, 100, 50
passes: q12, 1, , steam, 100, 50          !! required error: empty
loads: q11, q12, 10, wax                  !! source-loop error: session q11 loads from q12
loads: q12, q11, 10, wax                  !! source-loop error: session q12 loads from q11

# source-loop: none where a date alone is wrong, whatever fed the giver, and none by way of comb that bears the name of a session or block
passes: q13, 1, 2025-06-09, steam, , 50
passes: q14, 1, 2025-06-01, steam, 50, 30 !! pass-before-source warning: 8 days before
loads: q14, q13, 50, wax
passes: q19, 1, 2025-06-01, steam, 100, 50
loads: q13, q19, 50, wax, 1
harvests: q15, 2025-05-01, cappings, 100
passes: q15, 1, 2025-06-09, steam, , 5
passes: q16, 1, 2025-06-01, steam, , 50
loads: q16, harvest q15, 90
loads: q15, q16, 10, wax
harvests: Q17, 2025-05-01, cappings, 100
blocks: Q17, 2025-06-09, 1, session=q17
passes: q17, 1, 2025-06-09, steam, , 5
passes: q18, 1, 2025-06-01, steam, , 50
loads: q18, harvest Q17, 90
loads: q17, q18, 10, wax

# unknown-item and stocktake-measure: comb and wax are weighed, candles counted, and a name must mean one thing
harvests: TH, 2025-05-01, cappings, 1000
blocks: TB, 2025-05-01, 10, supplier=shop
harvests: TX, 2025-05-01, cappings, 1000
blocks: TX, 2025-05-01, 10, supplier=shop
stocktakes: 2026-01-01, TB, 5
stocktakes: 2026-01-01, TB, count=5       !! stocktake-measure error mass: wax and comb are weighed, but only a count is given; write what it weighed under mass
stocktakes: 2026-01-01, TB, 5, 5          !! one-of-several error: 2 of mass and count
stocktakes: 2026-01-01, TB                !! one-of-several error: 0 of mass and count
stocktakes: 2026-01-01, block TB, 5
stocktakes: 2026-01-01, , 99000
stocktakes: 2026-01-01, , count=5         !! stocktake-measure error: only a count
stocktakes: 2026-01-01, jar, count=5
stocktakes: 2026-01-01, candle jar, count=5
stocktakes: 2026-01-01, jar, 5            !! stocktake-measure error count: candles are counted, but only a mass is given; write how many there are under count
stocktakes: 2026-01-01, candle jar, 5     !! stocktake-measure error: only a mass
stocktakes: 2026-01-01, jar, 5, 5         !! one-of-several error: 2 of mass and count
stocktakes: 2026-01-01, jar               !! one-of-several error: 0 of mass and count
stocktakes: 2026-01-01, harvest TX, 5
stocktakes: 2026-01-01, TZ, 5             !! unknown-item error: no block, harvest or candle is named TZ
stocktakes: 2026-01-01, sack TZ, 5        !! unknown-item error: named sack TZ
stocktakes: 2026-01-01, block TH, 5       !! unknown-item error: named block TH
stocktakes: 2026-01-01, TX, 5             !! unknown-item error: TX could be block TX or harvest TX; name the log first, as in block TX
stocktakes: 2026-01-01, TZ, count=5       !! unknown-item error: is named TZ !! stocktake-measure error: only a count

# unknown-item: a name that is one thing's own and could be read as another's with its log is told where it has two owners
harvests: block TB, 2025-05-01, cappings, 1000
blocks: block TC, 2025-05-01, 10, supplier=shop
harvests: block TC, 2025-05-01, cappings, 1000
blocks: TC, 2025-05-01, 10, supplier=shop
stocktakes: 2026-01-01, block TC, 5       !! unknown-item error: block TC could be block block TC or harvest block TC

# unknown-pass: a pass that the session does not have; where none is named it is the first
passes: v1, 1, 2025-06-01, steam, , 50
passes: v1, 2, 2025-06-01, steam, , 50
loads: v1, stock, 60
loads: v1, stock, 1, pass=2
loads: v1, stock, 2, pass=3               !! unknown-pass error: session v1 has no pass 3
passes: v2, 2, 2025-06-01, steam, 100, 50
loads: v2, stock, 50                      !! unknown-pass error: session v2 has no pass 1

# a row that is left out is judged by no other rule: this part would be needless
loads: v1, stock, 3, wax, 4               !! unknown-pass error: session v1 has no pass 4

# unknown-source: a name that no log holds, and one that differs by its capitals (of several the first by name)
harvests: Nn1, 2025-05-01, cappings, 100
harvests: NN1, 2025-05-01, cappings, 100
passes: n1, 1, 2025-06-01, steam, 100, 50
loads: n1, N9, 100                        !! unknown-source error: no harvest, block or session is named N9; correct the name
loads: n1, nN1, 100                       !! unknown-source error: is NN1 meant? Capital and small letters count
loads: n1, harvest N9, 100                !! unknown-source error: is named harvest N9
loads: n1, , 100                          !! required error: empty

# wax-out-missing: only the last pass must be weighed; a row with a bad cell has its own fault
passes: m1, 1, 2025-06-01, steam, 100
passes: m1, 2, 2025-06-01, steam, , 40
passes: m2, 1, 2025-06-01, steam, 100, 50
passes: m2, 2, 2025-06-01, steam          !! wax-out-missing error: pass 2 is the last of session m2 and its wax was not weighed
passes: m3, 1, 2025-06-01, steam, 100     !! wax-out-missing error: pass 1 is the last of session m3
passes: m4, 1, 2025-06-01, steam, 100, some  !! number-form error: some is not a number
""")  # fmt: skip


MISSING = (
    CaseBook.of(COLUMNS, """
# neither harvests, blocks nor candles are logged: what may stand there is counted, what came of a session is known
passes: s1, 1, 2025-06-01, steam, , 100
passes: s2, 1, 2025-06-02, steam, , 90
loads: s1, H1, 100
loads: s1, H2, 50
loads: s2, s1, 90, wax
draws: 2025-07-01, B1, 5, sold
draws: 2025-07-02, B2, 5, sold
stocktakes: 2026-01-01, Z, 5
stocktakes: 2026-01-01, Q, count=3
loads: !! source-not-logged note: 2 loads name sources that no log holds, and blocks.csv, harvests.csv is missing or empty
stocktakes: !! item-not-logged note: 2 stocktakes name items that no log holds, and blocks.csv, candles.csv, harvests.csv is
draws: !! log-missing note: 2 rows name a block, but blocks.csv is missing or empty
"""),
    CaseBook.of(COLUMNS, """
# blocks alone are not logged: a source, and what was weighed, may be one; what was counted may not, nor what has two owners
harvests: H1, 2025-05-01, cappings, 200
harvests: y, 2025-05-01, cappings, 100
passes: s, 1, 2025-06-01, steam, , 100
passes: y, 1, 2025-06-01, steam, 100, 50
loads: s, H1, 50
loads: s, harvest H1, 51
loads: s, X9, 10
loads: s, y, 10
blends: plain, 100
candles: y, mould, plain, 50
stocktakes: 2026-01-01, H1, 5
stocktakes: 2026-01-01, Z, 5
stocktakes: 2026-01-01, , 5
stocktakes: 2026-01-01, Q, count=5  !! unknown-item error: is named Q !! stocktake-measure error: only a count
stocktakes: 2026-01-01, y, count=5  !! unknown-item error: y could be candle y or harvest y
draws: 2025-07-01, B1, 5, sold
loads: !! source-not-logged note: 1 load names a source that no log holds, and blocks.csv is missing or empty
stocktakes: !! item-not-logged note: 1 stocktake names an item that no log holds, and blocks.csv is missing or empty
draws: !! log-missing note: 1 row names a block, but blocks.csv is missing or empty
"""),
    CaseBook.of(COLUMNS, """
# passes and candles are not logged: a source may be a session, what was counted a candle; what was weighed may not
harvests: H1, 2025-05-01, cappings, 200
blocks: B1, 2025-06-01, 100, supplier=shop
loads: s, H1, 50
loads: s, X9, 10
stocktakes: 2026-01-01, Z, 5  !! unknown-item error: is named Z
stocktakes: 2026-01-01, Q, count=5
stocktakes: 2026-01-01, , count=5  !! stocktake-measure error: only a count
loads: !! source-not-logged note: 1 load names a source that no log holds, and passes.csv is missing or empty
loads: !! log-missing note: 2 rows name a session, but passes.csv is missing or empty
stocktakes: !! item-not-logged note: 1 stocktake names an item that no log holds, and candles.csv is missing or empty

# the shelf may be emptied to the last gram
draws: 2025-07-01, B1, 100, sold
"""),
    CaseBook.of(COLUMNS, """
# every log is there, so that a source that none holds is a slip and no missing log
harvests: H1, 2025-05-01, cappings, 200
passes: s, 1, 2025-06-01, steam, , 100
loads: s, H1, 50
loads: s, X9, 10  !! unknown-source error: is named X9

# of the days on which the shelf stood below zero the lowest is told, of equals the first, and not one that is above again
blocks: B1, 2025-06-01, 100, supplier=shop
draws: 2025-07-01, B1, 105, sold
blocks: B2, 2025-07-02, 100, supplier=shop
draws: 2025-07-03, B1, 105, sold
blocks: B3, 2025-07-04, 100, supplier=shop
draws: 2025-07-05, B3, 100, sold
blocks: B4, 2025-07-06, 5, supplier=shop
draws: !! shelf-below-zero warning: the shelf stood 10 g below zero on 2025-07-03: more was taken than there was
"""),
    CaseBook.of(COLUMNS, """
# blocks are not logged, and no load needs them
harvests: H1, 2025-05-01, cappings, 200
passes: s, 1, 2025-06-01, steam, , 100
loads: s, H1, 50
"""),
)  # fmt: skip
"""Books in which a whole log is missing, and what is said of the shelf as a whole."""

OF_WHOLE_LOGS = {
    "source-not-logged", "item-not-logged", "log-missing", "unknown-source", "unknown-item", "unknown-reference",
    "stocktake-measure", "shelf-below-zero",
}  # fmt: skip


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> list[Finding]:
    return BOOK.findings(tmp_path_factory.mktemp("links"))


@pytest.mark.parametrize("case", BOOK.cases, ids=lambda case: case.shows)
def test_rows_of(case: Case, found: list[Finding]) -> None:
    assert_told(case, found)


def test_nothing_else_is_said_of_the_book(found: list[Finding]) -> None:
    assert BOOK.none_besides(found) == []


@pytest.mark.parametrize("book", MISSING, ids=lambda book: book.cases[0].shows)
def test_a_log_that_is_missing(book: CaseBook, tmp_path: Path) -> None:
    found = book.findings(tmp_path, asked=[rule for rule in rules() if rule.name in OF_WHOLE_LOGS])
    for case in book.cases:
        assert_told(case, found)
    assert book.none_besides(found) == []
