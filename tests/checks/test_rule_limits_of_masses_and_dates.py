"""Each rule that weighs, measures or dates at its limit, a step over and a step under, beside rows of which nothing is said.

All expectations are worked out by hand from the contract, section 2. The scales are chosen so that limits are whole grams:
"inside two standard uncertainties they are notes" (contract, severity), the variance of one weighing being step²/12 (GUM
4.3.7). Passes: step² = 13.5, variance 1.125 g²; loads and blocks: step² = 6.75, .5625; harvests and draws: step 4.5, 1.6875.
So two weighings of passes, a draw and its block, and a load and its harvest have 2.25 g² together: exactly 3 g is a note.
"""

from __future__ import annotations

import pytest

from pipeline.contract.findings import Finding
from tests.checks.cases import Case, CaseBook, assert_told

SCALES = """
name = "limits"
[scale]
step_g = 3.6742346141747673
relative = 0
[scale.loads]
step_g = 2.598076211353316
relative = 0
[scale.blocks]
step_g = 2.598076211353316
relative = 0
[scale.harvests]
step_g = 4.5
relative = 0
[scale.draws]
step_g = 4.5
relative = 0
"""

COLUMNS = {
    "harvests": "harvest,date,comb,mass_g,frames,hold,hive",
    "loads": "session,source,mass_g,part,pass,emptied,notes",
    "passes": "session,pass,date,method,mass_in_g,wax_out_g,residue_g,peak_temp_c",
    "blocks": "block,date,mass_g,session,supplier,batch,blend,colour,melting_point_c,acid_value,ester_value",
    "draws": "date,block,mass_g,use,batch",
    "stocktakes": "date,item,mass_g,count",
    "blends": "blend,wax_pct,oil_pct",
    "candles": "candle,form,blend,fill_mass_g,diameter_mm,height_mm,top_diameter_mm,headspace_mm,wick",
    "batches": "batch,date,candle,count,status,good,flaws,pour_temp_c,scent_temp_c",
    "wicks": "wick,rank,from_diameter_mm,to_diameter_mm",
    "burns": "test,burn,date,candle,wick,time_min,mass_before_g,mass_after_g",
    "sales": "date,candle,count,batch",
}

BOOK = CaseBook.of(COLUMNS, """
# what all cases stand on: wax enough for every pour, a recipe, a wick, a kind of candle that is counted after all sales
blocks: stock, 2000-01-01, 100000, supplier=before this book
blends: plain, 100
wicks: w, 1, 20, 100
candles: jar, mould, plain, 50

# wax-over-in: as much as went in is well; 3 g over is within two weighings; a hair more is not
passes: w1, 1, 2025-06-01, steam, 100, 100
passes: w2, 1, 2025-06-01, steam, 100, 103     !! wax-over-in note: 103 g is 3 g more than went in (100 g)
passes: w3, 1, 2025-06-01, steam, 100, 103.01  !! wax-over-in warning: more than went in (100 g)

# wax-over-in: of passes not weighed between, the last one is told
passes: w4, 1, 2025-06-01, steam, 100
passes: w4, 2, 2025-06-01, steam, , 110        !! wax-over-in warning: 110 g is 10 g more than went in (100 g)
passes: w5, 1, 2025-06-01, steam, 100, 90
passes: w5, 2, 2025-06-01, steam, 90
passes: w5, 3, 2025-06-01, steam
passes: w5, 4, 2025-06-01, steam, , 95         !! wax-over-in warning: 95 g is 5 g more than went in (90 g)

# wax-over-comb: old brood comb holds at most 70 % (data/reference/comb_kinds.csv), and just that is well
harvests: C, 2025-05-01, brood comb, 1000
loads: c1, C, 100
passes: c1, 1, 2025-06-01, steam, , 70
loads: c2, C, 100
passes: c2, 1, 2025-06-01, steam, , 75         !! wax-over-comb warning: 75 g from 100 g of brood comb is 75 %, and such comb holds at most 70 %
loads: c3, C, 100
passes: c3, 1, 2025-06-01, steam, , 100        !! wax-over-comb warning: is 100 %
loads: c4, C, 100
passes: c4, 1, 2025-06-01, steam, , 120        !! wax-over-in warning: 20 g more

# wax-over-comb: a refining pass, wax loaded beside the comb and another kind of comb are none of its matter
loads: c5, C, 100
passes: c5, 1, 2025-06-01, steam, , 50
passes: c5, 2, 2025-06-01, steam, , 45
loads: c6, C, 100
loads: c6, stock, 300
passes: c6, 1, 2025-06-01, steam, , 350
harvests: Cw, 2025-05-01, white comb, 100
loads: c7, Cw, 100
passes: c7, 1, 2025-06-01, steam, , 90
loads: c8, C, 100
loads: c8, stock, 1
passes: c8, 1, 2025-06-01, steam, , 95

# wax-over-comb: of passes not weighed between, the last one is told
loads: c9, C, 100
passes: c9, 1, 2025-06-01, steam
passes: c9, 2, 2025-06-01, steam, , 80         !! wax-over-comb warning: 80 g from 100 g

# load-scale: beside the wax of the pass before, 3 g more is a note and a hair more a warning
passes: l1, 1, 2025-06-01, steam, 100, 50
passes: l1, 2, 2025-06-01, steam, 53, 40       !! load-scale note: 53 g is 3 g more than the wax of the pass before (50 g)
passes: l2, 1, 2025-06-01, steam, 100, 50
passes: l2, 2, 2025-06-01, steam, 53.01, 40    !! load-scale warning: 3 g more than the wax of the pass before (50 g)
passes: l3, 1, 2025-06-01, steam, 100, 50
passes: l3, 2, 2025-06-01, steam, 50, 40
passes: l4, 1, 2025-06-01, steam, 100, 50
passes: l4, 2, 2025-06-01, steam, 49, 40       !! load-scale note: 49 g is 1 g less than the wax of the pass before (50 g)
passes: l5, 1, 2025-06-01, steam, 100, 50
passes: l5, 2, 2025-06-01, steam, 49.5, 40     !! load-scale note: less than the wax of the pass before
passes: l6, 1, 2025-06-01, steam, 100, 50
passes: l6, 2, 2025-06-01, steam, , 40

# load-scale: one gram of wax before is a weighing too
passes: l7, 1, 2025-06-01, steam, 10, 1
passes: l7, 2, 2025-06-01, steam, 4, 2         !! load-scale note: 3 g more than the wax of the pass before (1 g)

# load-scale: a load and its pass have 1.6875 g², so that 2.598 g is the limit; what was loaded stands alone
harvests: L, 2025-05-01, cappings, 1000
loads: l8, L, 100
passes: l8, 1, 2025-06-01, steam, 97.41, 50    !! load-scale note: 3 g less than what was loaded (100 g)
loads: l9, L, 100
passes: l9, 1, 2025-06-01, steam, 97.4, 50     !! load-scale warning: 3 g less than what was loaded (100 g)
loads: l10, L, 1
passes: l10, 1, 2025-06-01, steam, 3.5, 1      !! load-scale note: more than what was loaded (1 g)

# load-scale: with a load into a later pass three weighings, 2.8125 g², 3.354 g
loads: l11, L, 10
loads: l11, L, 1, pass=2
passes: l11, 1, 2025-06-01, steam, 10, 1
passes: l11, 2, 2025-06-01, steam, 5.35, 1     !! load-scale note: 3 g more than the wax of the pass before and the loads together (2 g)
loads: l12, L, 10
loads: l12, L, 1, pass=2
passes: l12, 1, 2025-06-01, steam, 10, 1
passes: l12, 2, 2025-06-01, steam, 5.36, 1     !! load-scale warning: the loads together (2 g)

# blocks-over-pass: a pass, its blocks and loads have 2.25 g²: 3 g over is a note
passes: k1, 1, 2025-06-01, steam, 100, 50
blocks: K1, 2025-06-01, 50, session=k1
passes: k2, 1, 2025-06-01, steam, 100, 50      !! blocks-over-pass note: the blocks of session k2 weigh 53 g, 3 g more than its last pass gave (50 g)
blocks: K2, 2025-06-01, 53, session=k2
passes: k3, 1, 2025-06-01, steam, 100, 50      !! blocks-over-pass warning: 3 g more than its last pass gave (50 g)
blocks: K3a, 2025-06-01, 33, session=k3
blocks: K3b, 2025-06-01, 20.01, session=k3
passes: k4, 1, 2025-06-01, steam, 100, 50
blocks: K4, 2025-06-01, 49.5, session=k4

# blocks-over-pass: wax passed on alone, and beside blocks, even a single gram of either
passes: k5, 1, 2025-06-01, steam, 100, 50      !! blocks-over-pass warning: 54 g of session k5's wax was passed on, 4 g more
loads: k6, k5, 54, wax
passes: k6, 1, 2025-06-02, steam, , 40
passes: k7, 1, 2025-06-01, steam, 100, 50      !! blocks-over-pass warning: blocks (52 g) and wax passed on (1 g) are 3 g more than the 50 g that the last pass of session k7
blocks: K7, 2025-06-01, 52.01, session=k7
loads: k8, k7, 1, wax
passes: k8, 1, 2025-06-02, steam, , 1
passes: k9, 1, 2025-06-01, steam, 100, 50      !! blocks-over-pass warning: blocks (1 g) and wax passed on (53 g) are 4 g more
blocks: K9, 2025-06-01, 1, session=k9
loads: k10, k9, 53, wax
passes: k10, 1, 2025-06-02, steam, , 50

# blocks-over-pass: the last pass is told, not the ones before
passes: k11, 1, 2025-06-01, steam, 100, 50
passes: k11, 2, 2025-06-01, steam, , 40        !! blocks-over-pass warning: weigh 45 g, 5 g more than its last pass gave (40 g)
blocks: K11, 2025-06-01, 45, session=k11

# over-source, a block: all of it may go; a draw and its block have 2.25 g², so 3 g over is a note
blocks: O1, 2025-06-01, 100, supplier=shop
draws: 2025-07-01, O1, 60, sold
draws: 2025-07-02, O1, 40, sold
blocks: O2, 2025-06-01, 100, supplier=shop
draws: 2025-07-01, O2, 60, sold
draws: 2025-07-02, O2, 43, sold                !! over-source note: block O2 held 40 g, and 43 g was taken: 3 g more
blocks: O3, 2025-06-01, 100, supplier=shop
draws: 2025-07-01, O3, 60, sold
draws: 2025-07-02, O3, 43.01, sold             !! over-source warning: block O3 held 40 g

# over-source, a block: the order is that of the days, not of the file; only what crosses the end is told
blocks: O4, 2025-06-01, 100, supplier=shop
draws: 2025-07-03, O4, 30, sold
draws: 2025-07-02, O4, 50, sold                !! over-source warning: block O4 held 40 g, and 50 g was taken: 10 g more
draws: 2025-07-01, O4, 60, sold

# over-source, a block: where nothing was left, that is said
blocks: O5, 2025-06-01, 100, supplier=shop
draws: 2025-07-01, O5, 100, sold
draws: 2025-07-02, O5, 20, sold                !! over-source warning: nothing was left of block O5, and 20 g is taken
blocks: O6, 2025-06-01, 100, supplier=shop
draws: 2025-07-01, O6, , sold
draws: 2025-07-02, O6, 20, sold                !! over-source warning: nothing was left of block O6, and 20 g is taken

# over-source, a block: a count that finds more says that there was more by then, and what was taken too much before stays told
blocks: O7, 2025-06-01, 100, supplier=shop
draws: 2025-07-01, O7, 120, sold               !! over-source warning: block O7 held 100 g, and 120 g was taken: 20 g more
stocktakes: 2025-07-02, O7, 50
draws: 2025-07-03, O7, 50, given
blocks: O8, 2025-06-01, 100, supplier=shop
stocktakes: 2025-07-02, O8, 150
draws: 2025-07-03, O8, 150, sold

# over-source, a block: a load into a pass takes too, and a mixed block is held to the same
blocks: O9, 2025-06-01, 100, supplier=shop
loads: o9, O9, 110                             !! over-source warning: block O9 held 100 g, and 110 g was taken: 10 g more
passes: o9, 1, 2025-07-01, steam, , 100
blocks: O10, 2025-06-01, 100, supplier=shop, blend=plain
draws: 2025-07-01, O10, 110, sold              !! over-source warning: block O10 held 100 g, and 110 g was taken: 10 g more
blocks: O11, 2025-06-01, 100, supplier=shop, blend=plain
draws: 2025-07-01, O11, 100, sold

# over-source, a block: a draw dated before its block has a fault of its own; what it took counts all the same
blocks: O30, 2025-06-05, 100, supplier=shop
draws: 2025-06-03, O30, 30, sold               !! draw-before-block warning: 2 days before it was there
draws: 2025-06-07, O30, 80, sold               !! over-source warning: block O30 held 70 g, and 80 g was taken: 10 g more
blocks: O31, 2025-06-05, 100, supplier=shop
draws: 2025-06-03, O31, 120, sold              !! draw-before-block warning: 2 days before !! over-source warning: block O31 held 100 g, and 120 g was taken

# over-source, a harvest: a load and its harvest have 2.25 g²
harvests: O12, 2025-05-01, cappings, 100
loads: o12, O12, 60
loads: o12, O12, 40
passes: o12, 1, 2025-06-01, steam, , 80
harvests: O13, 2025-05-01, cappings, 100
loads: o13, O13, 60
loads: o13, O13, 43                            !! over-source note: harvest O13 held 40 g, and 43 g was taken: 3 g more
passes: o13, 1, 2025-06-01, steam, , 80
harvests: O14, 2025-05-01, cappings, 100
loads: o14, O14, 60
loads: o14, O14, 43.01                         !! over-source warning: harvest O14 held 40 g
loads: o14, O14, 10
passes: o14, 1, 2025-06-01, steam, , 80

# over-source, a harvest counted in frames: nobody weighed it, so that nothing can be too much (drone comb: 100 g a frame here)
harvests: O15, 2025-05-01, drone comb, 1000, 10
harvests: O16, 2025-05-01, drone comb, , 1
loads: o15, O15, 1000
loads: o15, O16, 500
passes: o15, 1, 2025-06-01, steam, , 800

# over-source, slumgum: what was weighed of a session over all its passes; a load and a pass have 1.6875 g²: 2.598 g
passes: o17, 1, 2025-06-01, steam, 1000, 500, 30
passes: o17, 2, 2025-06-01, steam, , 450, 20
loads: o18, o17, 50, slumgum
passes: o18, 1, 2025-06-02, press, , 10
passes: o19, 1, 2025-06-01, steam, 1000, 500, 50
loads: o20, o19, 52.59, slumgum                !! over-source note: the slumgum of session o19 held 50 g, and 53 g was taken
passes: o20, 1, 2025-06-02, press, , 10
passes: o21, 1, 2025-06-01, steam, 1000, 500, 50
loads: o22, o21, 52.6, slumgum                 !! over-source warning: the slumgum of session o21 held 50 g, and 53 g was taken: 3 g more
passes: o22, 1, 2025-06-02, press, , 10

# over-source, slumgum: it may exceed what was weighed where one residue was not (contract, sources); wax passed on is no slumgum
passes: o23, 1, 2025-06-01, steam, 1000, 500, 30
passes: o23, 2, 2025-06-01, steam, , 450
loads: o24, o23, 500, slumgum
passes: o24, 1, 2025-06-02, press, , 10
passes: o25, 1, 2025-06-01, steam, 1000, 500, 30
loads: o26, o25, 400, wax
loads: o26, o25, 30, slumgum
passes: o26, 1, 2025-06-02, press, , 380

# pass-gap: how many numbers are missing, after a pass and before the first
passes: g1, 1, 2025-06-01, steam, 100, 50
passes: g1, 2, 2025-06-01, steam, , 49
passes: g2, 1, 2025-06-01, steam, 100, 50
passes: g2, 3, 2025-06-01, steam, , 49         !! pass-gap warning: pass 3 of session g2 follows pass 1: 1 number is missing
passes: g2, 6, 2025-06-01, steam, , 48         !! pass-gap warning: pass 6 of session g2 follows pass 3: 2 numbers are missing
passes: g3, 2, 2025-06-01, steam, 100, 50      !! pass-gap warning: pass 2 of session g3 comes first: 1 number is missing

# pass-order: the same day is well, a day before is not
passes: d1, 1, 2025-06-05, steam, 100, 50
passes: d1, 2, 2025-06-05, steam, , 49
passes: d2, 1, 2025-06-05, steam, 100, 50
passes: d2, 2, 2025-06-04, steam, , 49         !! pass-order warning: pass 2 of session d2 is dated 2025-06-04, 1 day before the pass that it follows (2025-06-05)
passes: d2, 3, 2025-06-05, steam, , 48

# pass-before-source: comb, a block and a session, each on the day itself and a day later
harvests: D3, 2025-06-05, cappings, 100
loads: d3, D3, 50
passes: d3, 1, 2025-06-05, steam, , 40
loads: d4, D3, 50
passes: d4, 1, 2025-06-04, steam, , 40         !! pass-before-source warning: pass 1 of session d4 is dated 2025-06-04, 1 day before its source D3 (2025-06-05)
blocks: D5, 2025-06-05, 100, supplier=shop
loads: d5, D5, 50
passes: d5, 1, 2025-06-05, steam, , 40
loads: d6, D5, 50
passes: d6, 1, 2025-06-04, steam, , 40         !! pass-before-source warning: 1 day before its source D5
passes: d7, 1, 2025-06-01, steam, 100, 60
passes: d7, 2, 2025-06-05, steam, , 50
loads: d8, d7, 20, wax
passes: d8, 1, 2025-06-05, steam, , 20
loads: d9, d7, 20, wax
passes: d9, 1, 2025-06-04, steam, , 20         !! pass-before-source warning: 1 day before its source d7 (2025-06-05)

# pass-before-source: of several sources the latest is told, once a pass; a later pass has its own day
harvests: D10, 2025-06-08, cappings, 100
harvests: D11, 2025-06-09, cappings, 100
loads: d10, D10, 50
loads: d10, D11, 50
loads: d10, D10, 10, pass=2
passes: d10, 1, 2025-06-07, steam, , 90        !! pass-before-source warning: 2 days before its source D11 (2025-06-09)
passes: d10, 2, 2025-06-08, steam, , 90

# pass-before-source: a harvest and a block of one name are two things, whichever of them is the later
harvests: D12, 2025-06-01, cappings, 100
blocks: D12, 2025-06-20, 100, supplier=shop
loads: d12, harvest D12, 50
passes: d12, 1, 2025-06-10, steam, , 40
harvests: D13, 2025-06-20, cappings, 100, hold=mites
blocks: D13, 2025-06-01, 100, supplier=shop
loads: d13, block D13, 50
passes: d13, 1, 2025-06-10, steam, , 40

# block-before-session: cast on the day of the last pass or later is well
passes: d14, 1, 2025-06-01, steam, 100, 60
passes: d14, 2, 2025-06-05, steam, , 50
blocks: D14a, 2025-06-05, 10, session=d14
blocks: D14b, 2025-06-04, 20, session=d14      !! block-before-session warning: block D14b is dated 2025-06-04, 1 day before the last pass of session d14 (2025-06-05)
blocks: D14c, 2025-06-09, 20, session=d14
blocks: D14d, 2025-05-01, 20, supplier=shop

# draw-before-block: the day itself is well
blocks: D15, 2025-06-05, 100, supplier=shop
draws: 2025-06-05, D15, 10, sold
draws: 2025-06-03, D15, 20, sold               !! draw-before-block warning: block D15 was taken from on 2025-06-03, 2 days before it was there (2025-06-05)
draws: 2025-06-07, D15, 30, sold

# date-ahead: today (2026-11-01) is well, tomorrow is not, in each log that tells what was done
harvests: A1, 2026-11-01, cappings, 100
harvests: A2, 2026-11-02, cappings, 100        !! date-ahead warning: 2026-11-02 is 1 day after today (2026-11-01)
passes: a3, 1, 2026-11-03, steam, 100, 50      !! date-ahead warning: 2 days after
blocks: A4, 2026-11-02, 100, supplier=shop     !! date-ahead warning: 1 day after
draws: 2026-11-02, stock, 1, sold              !! date-ahead warning: 1 day after
stocktakes: 2026-11-02, O8, 3                  !! date-ahead warning: 1 day after
batches: A5, 2026-11-02, jar, 1, poured        !! date-ahead warning: 1 day after
batches: A6, 2026-11-02, jar, 1, planned
batches: A7, 2026-11-02, jar, 1, dropped
burns: A8, 1, 2026-11-02, jar, w, 60           !! date-ahead warning: 1 day after
sales: 2026-11-02, jar, 1                      !! date-ahead warning: 1 day after

# date-ahead: a hundred years ago to the day is well, the day before that is a slip
harvests: A9, 1926-11-01, cappings, 100
harvests: A10, 1926-10-31, cappings, 100       !! date-ahead warning: 1926-10-31 is more than a hundred years ago

# planned-past: due today is well; what was poured or dropped is past in any case
batches: A11, 2026-11-01, jar, 1, planned
batches: A12, 2026-10-31, jar, 1, planned      !! planned-past note: batch A12 was planned for 2026-10-31, 1 day ago
batches: A13, 2026-10-31, jar, 1, poured
batches: A14, 2026-10-31, jar, 1, dropped

# heat: 85 °C is the limit (Krell, FAO bulletin 124), 121 °C that of fire, beyond which another rule speaks
passes: t1, 1, 2025-06-01, steam, 100, 50, peak_temp_c=85
passes: t2, 1, 2025-06-01, steam, 100, 50, peak_temp_c=87   !! heat note: 87 °C is 2 °C over 85 °C
passes: t3, 1, 2025-06-01, steam, 100, 50, peak_temp_c=121  !! heat note: 121 °C is 36 °C over 85 °C, where the colour of wax begins to darken; hold wax at 75 °C to 80 °C
batches: T4, 2025-06-01, jar, 1, poured, pour_temp_c=90     !! heat note: 90 °C is 5 °C over
batches: T5, 2025-06-01, jar, 1, poured, scent_temp_c=91    !! heat note: 91 °C is 6 °C over
batches: T6, 2025-06-01, jar, 1, poured, pour_temp_c=85, scent_temp_c=85

# temperature-unit: past 121 °C it is told what the figure would be in °F; beyond 250 °F even that is past the limit for fire
passes: t7, 1, 2025-06-01, steam, 100, 50, peak_temp_c=122  !! temperature-unit warning: 122 °C is past every limit for hot wax (121 °C); 122 °F would be 50 °C
batches: T8, 2025-06-01, jar, 1, poured, pour_temp_c=212    !! temperature-unit warning: 212 °F would be 100 °C
batches: T9, 2025-06-01, jar, 1, poured, scent_temp_c=249.8 !! temperature-unit warning: °F would be 121 °C
passes: t10, 1, 2025-06-01, steam, 100, 50, peak_temp_c=250 !! temperature-unit warning: 250 °C is past the limit for fire (121 °C); correct the figure

# temperature-unit: under 50 °C no wax is molten; 40 °C were 104 as °F
passes: t11, 1, 2025-06-01, steam, 100, 50, peak_temp_c=50
passes: t12, 1, 2025-06-01, steam, 100, 50, peak_temp_c=49  !! temperature-unit warning: 49 °C is too cold for molten wax, which melts at 61 °C to 66 °C
batches: T13, 2025-06-01, jar, 1, poured, pour_temp_c=40    !! temperature-unit warning: was 104 °C meant?
blocks: T14, 2025-06-01, 10, supplier=shop, melting_point_c=40   !! temperature-unit warning: was 104 °C meant?

# purity, melting point: 62 to 65 °C is published, of white wax 61 to 66 °C (Pharmacopoeia); 50 to 121 °C is a melting point at all
blocks: P1, 2025-06-01, 10, supplier=shop, melting_point_c=62
blocks: P2, 2025-06-01, 10, supplier=shop, melting_point_c=65
blocks: P3, 2025-06-01, 10, supplier=shop, melting_point_c=66    !! purity note: 66 °C is outside the published range for a melting point (62 °C to 65 °C
blocks: P4, 2025-06-01, 10, supplier=shop, melting_point_c=66, colour=white
blocks: P5, 2025-06-01, 10, supplier=shop, melting_point_c=50    !! purity note: 50 °C is outside
blocks: P6, 2025-06-01, 10, supplier=shop, melting_point_c=121   !! purity note: 121 °C is outside
blocks: P7, 2025-06-01, 10, supplier=shop, melting_point_c=122   !! temperature-unit warning: 122 °C is past

# purity, acid and ester value: 17 to 22 and 70 to 80, together 87 to 102 (European Pharmacopoeia, Cera flava)
blocks: P8, 2025-06-01, 10, supplier=shop, acid_value=17, ester_value=70
blocks: P9, 2025-06-01, 10, supplier=shop, acid_value=22, ester_value=80
blocks: P10, 2025-06-01, 10, supplier=shop, acid_value=16.9      !! purity note: 16.9 is outside the published range (17 to 22
blocks: P11, 2025-06-01, 10, supplier=shop, ester_value=80.1     !! purity note: 80.1 is outside the published range (70 to 80
blocks: P12, 2025-06-01, 10, supplier=shop, acid_value=16, ester_value=70  !! purity note acid_value: 16 is outside !! purity note ester_value: acid and ester value together, 86, are outside the published range of the saponification value (87 to 102

# held-comb-rendered: comb on hold that waits is well, and a block of the same name is no comb
harvests: H1, 2025-05-01, cappings, 100, hold=foulbrood
harvests: H2, 2025-05-01, cappings, 100, hold=foulbrood
loads: h2, H2, 50                              !! held-comb-rendered warning: harvest H2 is on hold (foulbrood) and was rendered in session h2
passes: h2, 1, 2025-06-01, steam, , 40

# hives-joined: two names or more parted otherwise than by ' + '
harvests: H3, 2025-05-01, cappings, 100, hive=7
harvests: H4, 2025-05-01, cappings, 100, hive=7 + 8
harvests: H5, 2025-05-01, cappings, 100, hive=7 & 8          !! hives-joined note: it looks like 2; if so, write 7 + 8
harvests: H6, 2025-05-01, cappings, 100, hive=7 and 8 and 9  !! hives-joined note: it looks like 3; if so, write 7 + 8 + 9
harvests: H7, 2025-05-01, cappings, 100, hive=7 &

# part-not-needed: only a session has parts
harvests: N1, 2025-05-01, cappings, 100
loads: n1, N1, 50, wax                         !! part-not-needed warning: part says wax, but the source is harvest N1
loads: n1, stock, 50, slumgum                  !! part-not-needed warning: part says slumgum, but the source is block stock
loads: n1, stock, 50
passes: n1, 1, 2025-06-01, steam, , 100

# twice-the-same: two alike, of loads and draws; a cell that differs makes it another row
harvests: N3, 2025-05-01, cappings, 1000
loads: n3, N3, 50
loads: n3, N3, 50                              !! twice-the-same note: the row is the same in every cell as line
passes: n3, 1, 2025-06-01, steam, , 90
draws: 2025-07-11, stock, 50, sold
draws: 2025-07-11, stock, 50, sold             !! twice-the-same note: the row is the same in every cell as line
draws: 2025-07-12, stock, 50, sold
draws: 2025-07-12, stock, 50, given

# twice-the-same: each row after the first that is the same in every cell
harvests: N2, 2025-05-01, cappings, 1000
loads: n2, N2, 50
loads: n2, N2, 50                              !! twice-the-same note: the row is the same in every cell as line
loads: n2, N2, 50                              !! twice-the-same note: the row is the same
loads: n2, N2, 51
loads: n2, N2, 50, notes=the other bucket
passes: n2, 1, 2025-06-01, steam, , 150
sales: 2025-08-01, jar, 1
sales: 2025-08-01, jar, 2
sales: 2025-08-01, jar, 2                      !! twice-the-same note: the same sale stands on line
stocktakes: 2026-10-31, jar, count=100
stocktakes: 2026-10-31, jar, count=100         !! twice-the-same note: the row is the same

# candles: a headspace as high as the candle leaves nothing, one step less leaves that
candles: h1, mould, plain, 50, 60, 70, headspace_mm=69.9
candles: h2, mould, plain, 50, 60, 70, headspace_mm=70       !! headspace warning: a headspace of 70 mm leaves nothing of a height of 70 mm
candles: h3, mould, plain, 50, 60, 70, headspace_mm=80       !! headspace warning: a headspace of 80 mm
candles: h4, mould, plain, 50, 60, 70

# container-width: 50 to 76.2 mm are usual (data/reference/candle_practice.csv); a mould may have any width
candles: v1, container, plain, 50, 50, 60
candles: v2, container, plain, 50, 76.2, 60
candles: v3, container, plain, 50, 49.9, 60                  !! container-width note: 50 mm to 76.2 mm are usual
candles: v4, container, plain, 50, 76.3, 60                  !! container-width note: is 76.3 mm across; 50 mm to 76.2 mm
candles: v5, mould, plain, 50, 30, 60
candles: v6, mould, plain, 50, 90, 60
candles: v7, container, plain, 50

# container-tall: twice its width is well, by the wider of bottom and rim; a mould may have any height
candles: t1, container, plain, 50, 60, 120
candles: t2, container, plain, 50, 60, 121                   !! container-tall note: is 121 mm high and 60 mm across, more than 2 times its width
candles: t3, container, plain, 50, 60, 140, top_diameter_mm=70
candles: t4, container, plain, 50, 60, 141, top_diameter_mm=70  !! container-tall note: is 141 mm high
candles: t5, container, plain, 50, 60, 120, top_diameter_mm=55
candles: t6, container, plain, 50, 60, 121, top_diameter_mm=55  !! container-tall note: is 121 mm high
candles: t7, mould, plain, 50, 60, 300

# candle-wick: by the maker's chart the limits belong to the wick; the wider of bottom and rim counts
wicks: c30, 2, 30, 40
candles: c1, mould, plain, 50, 30, 40, wick=c30
candles: c2, mould, plain, 50, 40, 40, wick=c30
candles: c3, mould, plain, 50, 29.9, 40, wick=c30            !! candle-wick note: wick c30 is for candles of 30 mm to 40 mm, and this one is 29.9 mm across
candles: c4, mould, plain, 50, 40.1, 40, wick=c30            !! candle-wick note: this one is 40.1 mm across
candles: c5, mould, plain, 50, 35, 40, top_diameter_mm=45, wick=c30  !! candle-wick note: this one is 45 mm across
candles: c6, mould, plain, 50, wick=c30
candles: c7, mould, plain, 50, 90, 40

# wick-range: one width is a range, from wide to narrow is none, and says nothing of a candle
wicks: r1, 3, 30, 30
wicks: r2, 4, 40.1, 40                                       !! wick-range warning: from 40.1 mm to 40 mm, which is no range
candles: c8, mould, plain, 50, 30, 40, wick=r1
candles: c9, mould, plain, 50, 31, 40, wick=r1               !! candle-wick note: wick r1 is for candles of 30 mm to 30 mm
candles: c10, mould, plain, 50, 90, 40, wick=r2

# burn-gained: as heavy as before is possible, heavier is not
burns: b1, 1, 2025-08-01, jar, w, 60, 50, 50
burns: b1, 2, 2025-08-01, jar, w, 60, 50, 52                 !! burn-gained warning: 52 g after the burn is 2 g more than before it (50 g)
burns: b1, 3, 2025-08-01, jar, w, 60, 50
burns: b1, 4, 2025-08-01, jar, w, 60, , 50

# good-over-count: all may come out right, no more
batches: g1, 2025-08-01, jar, 5, poured, 5
batches: g2, 2025-08-01, jar, 5, poured, 7                   !! good-over-count warning: 7 good candles are 2 more than the 5 poured
batches: g3, 2025-08-01, jar, 5, poured

# flaw-words: a flaw of the trade in either number and spelling; others count as other, with what may be meant
batches: f1, 2025-08-01, jar, 5, poured, flaws=crack
batches: f2, 2025-08-01, jar, 5, poured, flaws=Cracks + off center
batches: f3, 2025-08-01, jar, 5, poured, flaws=crack + bent  !! flaw-words note: “bent” is none of the flaws known here and counts as other; known are bloom
batches: f4, 2025-08-01, jar, 5, poured, flaws=split + bent  !! flaw-words note: “bent + split” is none of the flaws known here and counts as other; is crack meant? known are
batches: f5, 2025-08-01, jar, 5, poured, flaws=runs + split  !! flaw-words note: is crack or drips meant?
batches: f6, 2025-08-01, jar, 5, poured, flaws=crack +

# pour-loop: wax recovered from a pour may go into the next one, not into the same again
batches: q1, 2025-08-01, jar, 5, poured
batches: q2, 2025-08-10, jar, 5, poured
draws: 2025-08-01, stock, 250, candles, q1
blocks: Q1, 2025-08-02, 50, batch=q1
draws: 2025-08-10, Q1, 50, candles, q2
batches: q3, 2025-08-01, jar, 5, poured
blocks: Q3, 2025-08-02, 50, batch=q3                         !! pour-loop warning: block Q3 was recovered from pour q3, and its wax went into that pour
draws: 2025-08-10, Q3, 50, candles, q3

# pour-loop: by way of a session, and of another pour
batches: q4, 2025-08-01, jar, 5, poured
blocks: Q4, 2025-08-02, 50, batch=q4                         !! pour-loop warning: block Q4 was recovered from pour q4
loads: q4, Q4, 50
passes: q4, 1, 2025-08-03, steam, , 50
loads: q5, q4, 50, wax
passes: q5, 1, 2025-08-04, steam, , 50
blocks: Q5, 2025-08-05, 50, session=q5
draws: 2025-08-10, Q5, 50, candles, q4
batches: q6, 2025-08-01, jar, 5, poured
batches: q7, 2025-08-02, jar, 5, poured
blocks: Q6, 2025-08-02, 50, batch=q6                         !! pour-loop warning: block Q6 was recovered from pour q6
draws: 2025-08-02, Q6, 50, candles, q7
blocks: Q7, 2025-08-03, 50, batch=q7                         !! pour-loop warning: block Q7 was recovered from pour q7
draws: 2025-08-04, Q7, 50, candles, q6

# pour-loop: a block that bears the name of the pour is not the pour
batches: Q8, 2025-08-01, jar, 5, poured
blocks: Q9, 2025-08-02, 50, batch=Q8
loads: q9, Q9, 50
passes: q9, 1, 2025-08-03, steam, , 50
blocks: Q8, 2025-08-05, 50, session=q9

# sales-over-stock: all that was poured may be sold, one more is too many; what is dated after today is not sold yet
candles: s1, mould, plain, 50
batches: s1, 2025-08-01, s1, 5, poured, 3
sales: 2025-08-02, s1, 1
sales: 2025-08-03, s1, 2
candles: s2, mould, plain, 50
batches: s2, 2025-08-01, s2, 5, poured, 3
sales: 2025-08-02, s2, 1
sales: 2026-11-01, s2, 3
sales: 2026-11-02, s2, 9                                     !! date-ahead warning: 1 day after
sales: !! sales-over-stock warning: that makes 4 of s2 sold, and 3 were on the shelf: 1 too many

# sales-over-stock: the last count says what was there; a sale of its day came before it (contract, the shelf)
candles: s3, mould, plain, 50
stocktakes: 2025-08-01, s3, count=10
sales: 2025-08-15, s3, 5
sales: 2025-09-01, s3, 4
stocktakes: 2025-09-01, s3, count=2
sales: 2025-09-02, s3, 3
sales: 2025-09-03, s3, 2
sales: !! sales-over-stock warning: that makes 5 of s3 sold since the count of 2025-09-01, and 2 were on the shelf: 3 too many

# sales-over-stock: a count to come and a block of the same name say nothing of candles
candles: s4, mould, plain, 50
blocks: s4, 2025-06-01, 100, supplier=shop
stocktakes: 2025-09-01, block s4, 100
stocktakes: 2026-11-02, candle s4, count=100                 !! date-ahead warning: 1 day after
batches: s4, 2025-08-01, s4, 1, poured
sales: 2025-08-10, s4, 1
sales: 2025-09-10, s4, 2
sales: !! sales-over-stock warning: that makes 3 of s4 sold, and 1 were on the shelf: 2 too many
""")  # fmt: skip


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> list[Finding]:
    return BOOK.findings(tmp_path_factory.mktemp("limits"), SCALES)


@pytest.mark.parametrize("case", BOOK.cases, ids=lambda case: case.shows)
def test_rows_of(case: Case, found: list[Finding]) -> None:
    assert_told(case, found)


def test_nothing_else_is_said_of_the_book(found: list[Finding]) -> None:
    assert BOOK.none_besides(found) == []
