"""Fisher's exact test against SciPy, Holm against statsmodels, and books in which nothing depends on anything."""

from __future__ import annotations

import random

import pytest
from scipy import stats
from statsmodels.stats.multitest import multipletests

from pipeline.analyses.flaw_evidence import Factor, Poured, evidence, fisher, words
from pipeline.answers.flaws import factors
from pipeline.contract import shipped_files

KNOWN = tuple(r["flaw"] for r in shipped_files.reference("flaw_causes"))
HOT, COLD_ROOM = Factor("poured hot", "pour_temp_c", 70, None), Factor("cold room", "room_temp_c", None, 18)


def test_fisher_is_scipys_on_random_tables() -> None:
    dice = random.Random(4)
    for _ in range(400):
        n, m = dice.randint(1, 40), dice.randint(1, 40)
        a, b = dice.randint(0, n), dice.randint(0, m)
        assert fisher(a, n, b, m) == pytest.approx(stats.fisher_exact([[a, n - a], [b, m - b]]).pvalue, rel=1e-9), (a, n, b, m)


def pours(*told: tuple[str, float | None, float | None]) -> list[Poured]:
    return [Poured(frozenset(flaw.split(" + ")) - {""}, {"pour_temp_c": t, "room_temp_c": r}) for flaw, t, r in told]


def test_holm_runs_over_every_pair() -> None:
    told = pours(*[("crack", 72, 15)] * 4, *[("ridges", 72, 21)] * 2, *[("", 68, 15)] * 3, *[("", 68, 21)] * 6, *[("crack + ridges", 68, 15)])
    found = evidence(told, [HOT, COLD_ROOM], 5)
    alone = {
        ("crack", "poured hot"): fisher(4, 6, 1, 10), ("crack", "cold room"): fisher(5, 8, 0, 8),
        ("ridges", "poured hot"): fisher(2, 6, 1, 10), ("ridges", "cold room"): fisher(1, 8, 2, 8),
    }  # fmt: skip
    raised = dict(zip(alone, multipletests(list(alone.values()), method="holm")[1], strict=True))
    for flaw, e in found.items():
        assert e.p_alone == alone[flaw, e.factor] == min(p for (f, _), p in alone.items() if f == flaw)
        assert e.p == pytest.approx(raised[flaw, e.factor])
    assert (found["crack"].with_, found["crack"].without) == ((5, 8), (0, 8))


def test_three_candles_prove_nothing() -> None:
    told = pours(*[("crack", 72, None)] * 4, *[("", 68, None)] * 30)
    assert evidence(told, [HOT], 5) == {}
    found = evidence([*told, *pours(("crack", 72, None))], [HOT], 5)
    assert found["crack"].p < 1e-4
    assert evidence([Poured(frozenset({"crack"}), {"pour_temp_c": 72}, 5), Poured(frozenset(), {"pour_temp_c": 68}, 30)], [HOT], 5) == found
    assert evidence(pours(*[("crack", None, None)] * 20), [HOT], 5) == {}  # what nobody measured is on neither side


def test_a_natural_bloom_and_free_text_are_set_against_nothing() -> None:
    told = pours(*[("bloom + other", 72, None)] * 9, *[("", 68, None)] * 9)
    assert evidence(told, [HOT], 5) == {}


def test_the_words_of_a_cell() -> None:
    assert words("Sinkhole + wet spots", KNOWN) == (frozenset({"sinkhole", "wet spots"}), ())
    assert words("one bent + crack", KNOWN) == (frozenset({"other", "crack"}), ("one bent",))
    assert words("Cracks + sinkholes + wet spot", KNOWN) == (frozenset({"crack", "sinkhole", "wet spots"}), ())
    assert words(None, KNOWN) == words(" ", KNOWN) == (frozenset(), ())


def test_where_nothing_depends_on_anything_few_books_name_a_cause() -> None:
    """At a level of 5 % at most 5 % of books may; Fisher's test on small tables stays well below."""
    dice = random.Random(11)
    cuts, flaws = factors(), [f for f in KNOWN if f not in ("other", "bloom")]
    measures = sorted({c.measure for c in cuts})
    named = 0
    for _ in range(200):
        book = []
        for _ in range(40):
            values = {m: dice.gauss(cut.above or cut.below or 0, 3) for m in measures for cut in cuts if cut.measure == m}
            book.append(Poured(frozenset(f for f in flaws if dice.random() < 0.15), values))
        named += any(e.p < 0.05 for e in evidence(book, cuts, 5).values())
    assert named <= 16  # 5 % of 200 and two standard deviations of a count


def test_a_cause_that_is_there_is_found() -> None:
    told = pours(*[("sinkhole", 74, 20)] * 9, *[("", 74, 20)] * 3, *[("", 68, 20)] * 12)
    found = evidence(told, factors(), 5)["sinkhole"]
    assert found.factor == "poured hot"
    assert found.p < 0.05
