"""How likely each explanation is, against the plain densities of scipy.stats: a slip's prior times how well what it leaves fits."""

from __future__ import annotations

import itertools
from dataclasses import replace
from math import inf, log

import numpy as np
import pytest
from scipy.stats import multivariate_normal, norm

from pipeline.analyses.slip import Open, Slip, SlipsOfWeight
from pipeline.analyses.slip_ranking import Explanation, by_stream, explanations
from pipeline.analyses.step_balance import Slack
from pipeline.analyses.weight_in_doubt import Problem
from tests.analyses.balances import step, weight

SIZES_G = np.linspace(-400, 400, 80_001)  # every size that an open slip may have


def problem(gap, columns, variance, streams=None) -> Problem:
    cells = np.array(columns, float)
    return Problem(np.array(gap, float), cells, np.array(variance, float), streams or tuple(weight(100.0) for _ in cells.T))


def known(name: str, of: Problem, stream: int, error_g: float, prior: float, coarse_g: float = 0.0) -> Slip:
    return Slip(name, (stream,), log(prior), of.columns[:, stream], error_g=error_g, coarse_g=coarse_g)


def unknown(name: str, of: Problem, stream: int, prior: float, size: float, **more) -> Open:
    return Open(Slip(name, (stream,), log(prior), of.columns[:, stream]), size, **more)


def explained(of: Problem, slips: list[Slip], opens: list[Open]) -> list[Explanation]:
    """Each slip by itself, as if it were the only one of its weight."""
    return explanations(of, list(map(SlipsOfWeight.one, slips)), opens)


def covariance(of: Problem) -> np.ndarray:
    return (of.columns * of.variance) @ of.columns.T


def density(of: Problem, *slips: Slip | Open, rounding: bool = True) -> float:
    """The prior of these slips times the density of the gaps if they happened, as a log."""
    gap, v = of.gap, covariance(of)
    prior = sum(s.slip.prior if isinstance(s, Open) else s.prior for s in slips) if slips else log(0.995)
    for s in (s for s in slips if isinstance(s, Slip)):
        gap = gap - s.shift
        one = s.shift / s.error_g
        v = v + (s.coarse_g**2 / 12 * np.outer(one, one) if rounding else 0)
    for o in (s for s in slips if isinstance(s, Open)):
        if o.normal:
            v = v + o.size**2 * np.outer(o.slip.along, o.slip.along)
        else:
            each = multivariate_normal.pdf(gap - SIZES_G[:, None] * o.slip.along, np.zeros(len(gap)), v)
            return prior + log(np.trapezoid(each, SIZES_G) / o.size)
    return prior + float(multivariate_normal.logpdf(gap, np.zeros(len(gap)), v))


def chances(found: list[Explanation]) -> dict[tuple[str, ...], float]:
    return {tuple(s.kind for s in e.slips): e.chance for e in found}


def shares(scores: dict[tuple[str, ...], float]) -> dict[tuple[str, ...], float]:
    top = max(scores.values())
    weights = {k: np.exp(v - top) for k, v in scores.items()}
    return {k: v / sum(weights.values()) for k, v in weights.items()}


CHAIN = problem((9, -8.5), ((1, -1, 0), (0, 1, -1)), (1, 2, 1.5))
"""Two balances that share their middle weight, which is 9 g too light: one slip explains both."""


def test_single_slips_are_as_likely_as_their_densities_say() -> None:
    slips = {
        "swap": known("swap", CHAIN, 1, -9, 1e-3), "digit": known("digit", CHAIN, 0, 9, 2e-3), "ounces": known("ounces", CHAIN, 1, -8, 5e-4, coarse_g=3),
    }  # fmt: skip
    opens = {
        "other": unknown("other", CHAIN, 1, 4e-4, 5, normal=True), "row": unknown("row", CHAIN, 2, 3e-4, 40), "lost": unknown("lost", CHAIN, 1, 2e-4, 30),
    }  # fmt: skip
    found = explained(CHAIN, list(slips.values()), list(opens.values()))
    assert chances(found) == pytest.approx(shares({(): density(CHAIN)} | {(k,): density(CHAIN, s) for k, s in (slips | opens).items()}))
    assert sum(e.chance for e in found) == pytest.approx(1)
    assert [e.chance for e in found] == sorted((e.chance for e in found), reverse=True)


@pytest.mark.parametrize(("fainter", "named"), [(29.99, True), (30.01, False)])
def test_a_slip_that_much_less_likely_than_the_likeliest_is_no_explanation(fainter: float, named: bool) -> None:
    """30 in log odds, beside one of known size and beside one of any."""
    swap, other = known("swap", CHAIN, 1, -9, 1e-3), unknown("other", CHAIN, 1, 1e-3, 5, normal=True)
    for best in (swap, other):
        slips = [replace(swap, kind="faint"), *([swap] if best is swap else [])]
        top = density(CHAIN, best)
        faint = replace(slips[0], prior=slips[0].prior - fainter - density(CHAIN, swap) + top)
        found = chances(explained(CHAIN, [faint, *slips[1:]], [] if best is swap else [other]))
        assert (("faint",) in found) == named
        lost = unknown("lost", CHAIN, 2, 1e-3, 30)
        lost = replace(lost, slip=replace(lost.slip, prior=lost.slip.prior - fainter - density(CHAIN, lost) + top))
        assert (("lost",) in chances(explained(CHAIN, slips[1:], [lost, *([] if best is swap else [other])]))) == named


def test_the_slips_of_a_weight_are_judged_like_each_by_itself() -> None:
    slips = [known(f"{n}", CHAIN, 1, float(n), 1e-3 / n, coarse_g=n % 3) for n in range(1, 20)] + [known("one", CHAIN, 0, 9, 1e-3)]
    figures = (np.array([getattr(s, name) for s in slips[:-1]]) for name in ("prior", "error_g", "coarse_g"))
    together = SlipsOfWeight((1,), slips[0].along, *figures, slips.__getitem__)
    found = chances(explanations(CHAIN, [together, SlipsOfWeight.one(slips[-1])], []))
    assert found == pytest.approx(chances(explained(CHAIN, slips, [])), rel=1e-12)


FORK = problem((20, 33), ((1, 0, 1), (0, 1, 1)), (1, 1, 1))
"""Two balances that miss 20 and 33 g: no single weight can do that."""


def pair_of_slips() -> tuple[dict[str, Slip], dict[str, Open]]:
    slips = {"a": known("a", FORK, 0, 20, 1e-3), "b": known("b", FORK, 1, 33, 2e-3), "c": known("c", FORK, 1, 30, 1e-3, coarse_g=4)}
    return slips, {"o": unknown("o", FORK, 2, 4e-4, 25, normal=True), "e": unknown("e", FORK, 1, 3e-4, 60)}


def test_where_no_slip_alone_explains_two_are_taken_together() -> None:
    slips, opens = pair_of_slips()
    alone = {(): density(FORK)} | {(k,): density(FORK, s) for k, s in (slips | opens).items()}
    two = {(k, m): density(FORK, slips[k], slips[m], rounding=False) for k, m in (("a", "b"), ("a", "c"))}  # b and c are one weight
    mixed = {(k, m): density(FORK, slips[k], opens[m], rounding=False) for k, m in (("a", "o"), ("b", "o"), ("c", "o"), ("a", "e"))}
    near = max(alone.values()) - 30
    expected = shares({k: s for k, s in alone.items() if s > near or not k} | {k: s for some in (two, mixed) for k, s in some.items() if s > max(some.values()) - 12})
    found = explained(FORK, list(slips.values()), list(opens.values()))
    assert chances(found) == pytest.approx(expected)
    assert set(chances(found)) >= {("a", "b"), ("a", "c"), ("a", "e")}


@pytest.mark.parametrize("seed", range(6))
def test_no_pair_that_counts_is_passed_over(seed: int) -> None:
    """Every pair of sixty slips at six weights, by its density: those within 12 of the likeliest are there, and no other."""
    rng = np.random.default_rng(seed)
    cells = rng.normal(size=(4, 6))
    of = problem(cells[:, :2] @ (150, -130) + rng.normal(size=4), cells, rng.uniform(0.5, 3, 6))  # two weights are wrong
    columns = [of.columns[:, n] for n in range(6)]
    errors = np.where(rng.random(60) < 0.5, (150, -130, 40, -60, 20, 90) * 10, 0) + rng.normal(0, 9, 60)
    slips = [
        replace(known(str(n), of, n % 6, float(error), float(np.exp(rng.uniform(-12, -5)))), along=columns[n % 6]) for n, error in enumerate(errors)
    ]  # fmt: skip
    pairs = {(a.kind, b.kind): density(of, a, b, rounding=False) for a in slips for b in slips if a.streams < b.streams}
    alone = [density(of), *(density(of, s) for s in slips)]
    least = max(*alone, *pairs.values()) - 12
    told = {k: log(p) for k, p in chances(explained(of, slips, [])).items() if len(k) == 2}
    assert told
    assert told.keys() == {k for k, score in pairs.items() if score > least}
    for one, other in itertools.pairwise(told):
        assert told[one] - told[other] == pytest.approx(pairs[one] - pairs[other], abs=1e-6)


@pytest.mark.parametrize(("prior", "named"), [(2e-3 * np.exp(-11.99), True), (2e-3 * np.exp(-12.01), False)])
def test_a_pair_so_much_less_likely_than_the_likeliest_is_left_out(prior: float, named: bool) -> None:
    """12 in log odds; the same slip with a smaller prior."""
    slips = [known("a", FORK, 0, 20, 1e-3), known("b", FORK, 1, 33, 2e-3), known("z", FORK, 1, 33, prior)]
    assert (("a", "z") in chances(explained(FORK, slips, []))) == named
    one = [known("a", FORK, 0, 20, 1e-3)]
    opens = [unknown("e", FORK, 1, 2e-3, 60), unknown("z", FORK, 1, prior, 60)]
    assert (("a", "z") in chances(explained(FORK, one, opens))) == named


def upright(*gap: float) -> Problem:
    """Balances that share no weight, each surer than a gram."""
    return problem(gap, np.eye(len(gap)), np.ones(len(gap)))


@pytest.mark.parametrize(
    ("rest", "tried"),
    [  # the points of chi-squared at 1 %: 6.635 for one degree of freedom, 9.210 for two (tables)
        ((2.57,), False), ((2.58,), True), ((2.57, 1.61), False), ((2.57, 1.62), True),
    ],
)  # fmt: skip
def test_two_slips_are_tried_where_what_the_best_leaves_is_rarer_than_a_hundredth(rest, tried: bool) -> None:
    of = upright(50, *rest)
    slip, other = known("a", of, 0, 50, 1e-3), known("b", of, 1, rest[0], 1e-3)
    assert any(len(e.slips) > 1 for e in explained(of, [slip, other], [])) == tried
    size_told = unknown("a", of, 0, 1e-3, 100)  # its likeliest size, 50 g, mends the balance as well
    assert any(len(e.slips) > 1 for e in explained(of, [other], [size_told])) == tried


def test_beside_an_odd_step_another_slip_is_always_thought_of() -> None:
    of = upright(50, 1)
    slips = [known("b", of, 1, 1, 1e-3)]
    assert ("b", "odd") in chances(explained(of, slips, [unknown("odd", of, 0, 1e-3, 100)]))
    assert ("b", "rest") not in chances(explained(of, slips, [unknown("rest", of, 0, 1e-3, 100)]))


def test_what_happens_often_is_thought_of_beside_every_slip_and_nothing_else_is() -> None:
    of = upright(50, 1)
    opens = [unknown("often", of, 1, 1e-3, 100, often=True), unknown("seldom", of, 1, 1e-3, 100)]
    found = chances(explained(of, [known("a", of, 0, 50, 1e-3)], opens))
    assert ("a", "often") in found
    assert ("a", "seldom") not in found


def test_where_nothing_can_have_happened_it_is_chance() -> None:
    assert explained(upright(9), [], []) == [Explanation((), 1.0)]


@pytest.mark.parametrize(
    ("size", "more", "possible"),
    [
        (101.4, {}, True), (101.6, {}, False),  # 100 g at most, and three sd of half a gram
        (-101.4, {}, True), (-101.6, {}, False),
        (101.4, {"gain": True}, True), (-50, {"gain": True}, False), (0, {"gain": True}, False), (0, {}, True),
        (41.4, {"most_g": 40.0}, True), (41.6, {"most_g": 40.0}, False), (101.4, {"most_g": 400.0}, True), (101.6, {"most_g": 400.0}, False),
        (500, {"normal": True}, True), (41.6, {"normal": True, "most_g": 40.0}, False),
    ],
)  # fmt: skip
def test_a_size_that_makes_no_sense_is_no_explanation(size: float, more, possible: bool) -> None:
    of = problem((2 * size,), ((2,),), (0.25, ))  # a gram of it counts twice, and the balance is sure to a gram
    assert (len(explained(of, [], [unknown("x", of, 0, 1e-3, 100, **more)])) == 2) == possible


@pytest.mark.parametrize(("size", "named"), [(0.1002, True), (0.0998, False)])
def test_of_what_is_hardly_known_nothing_is_said(size: float, named: bool) -> None:
    """A balance sure to 1 g knows a size of .1 g to ten times itself."""
    of = upright(0)
    assert (len(explained(of, [], [unknown("x", of, 0, 1e-3, size)])) == 2) == named


@pytest.mark.parametrize(
    ("kind", "mass_g", "likely_g"),
    [("missing row", None, 30), ("missing row", 5.0, 30), ("rest", None, None), ("other", 100.0, 70), ("other", 20.0, 0)],
)
def test_what_was_meant_is_what_the_balances_leave(kind: str, mass_g: float | None, likely_g: float | None) -> None:
    of = problem((60,), ((2, 1),), (1, 12))  # a gram of it counts twice: 30 g too much
    slip = next(e.slips[0] for e in explained(of, [], [unknown(kind, of, 0, 1e-3, 100, mass_g=mass_g)]) if e.slips)
    assert (slip.error_g, slip.likely_g) == (pytest.approx(30), likely_g if likely_g is None else pytest.approx(likely_g))


def test_a_size_may_be_likelier_than_another() -> None:
    of = upright(5)
    even = unknown("x", of, 0, 1e-3, 100)
    found, plain = (chances(explained(of, [], [o])) for o in (replace(even, likelier=lambda g: g / 2.5), even))
    assert found["x",] / found[()] == pytest.approx(plain["x",] / plain[()] * np.exp(2))


LOSSY = step("yield", [1000.0], [200.0])


def lossy() -> Problem:
    """Of 1000 g half is usually lost, give or take a tenth of it; 200 came out. By what came out some 400 went in, and 40 g of scatter."""
    slack = Slack(0.5, 0.1, 9)
    return problem((300,), ((0.5, -1, -1),), (9, 4, 100**2), (LOSSY.into[0], LOSSY.out[0], (LOSSY, slack, 1000.0)))


def test_what_went_in_is_doubted_with_the_scatter_of_a_step_without_it() -> None:
    of = lossy()
    surer = replace(of, variance=np.array([9, 4, 40.0**2]))
    slips = {"in": known("in", of, 0, 500, 1e-3, coarse_g=90), "out": known("out", of, 1, -250, 1e-3, coarse_g=90)}
    opens = {"in too": unknown("in too", of, 0, 1e-3, 300, normal=True), "out too": unknown("out too", of, 1, 2e-3, 300, normal=True)}
    scores = {(): density(of), ("in",): density(surer, slips["in"]), ("out",): density(of, slips["out"])}
    scores |= {("in too",): density(surer, opens["in too"]), ("out too",): density(of, opens["out too"])}
    assert chances(explained(of, list(slips.values()), list(opens.values()))) == pytest.approx(shares(scores))


def test_of_very_many_slips_only_the_likeliest_are_paired() -> None:
    """1,500: a slip that is by itself less likely than so many others is not tried in pairs, though a pair would fit."""
    of = upright(50, 50)
    slips = [known("a", of, 0, 50, 1e-3), known("b", of, 1, 50, 1e-3)]
    many = [known("x", of, 0, 50 + 1e-6 * n, 1e-3) for n in range(1499)]
    assert ("a", "b") in chances(explained(of, [*slips, *many[:1498]], []))
    assert ("a", "b") not in chances(explained(of, [slips[0], replace(slips[1], prior=log(1e-4)), *many], []))
    open_too = unknown("o", of, 0, 1e-3, 100)
    assert ("b", "o") in chances(explained(of, [*slips, *many[:1498]], [open_too]))
    assert ("b", "o") not in chances(explained(of, [slips[0], replace(slips[1], prior=log(1e-4)), *many], [open_too]))


def test_an_exchange_is_blamed_on_both_its_rows() -> None:
    swap, exchange = (Slip(kind, (2, 5), 0.0, np.zeros(1)) for kind in ("wrong name", "rows exchanged"))
    found = by_stream([Explanation((exchange,), 0.6), Explanation((swap, exchange), 0.3), Explanation((), 0.1)])
    assert {i: [p for _, p in told] for i, told in found.items()} == {2: [0.6, 0.3, 0.3], 5: [0.6, 0.3]}


def test_of_a_slip_nothing_is_said_beyond_what_is_known() -> None:
    bare = Slip("other", (0,), 0.0, np.zeros(1))
    assert (bare.likely_g, bare.error_g, bare.detail, bare.taken_off, bare.likely, bare.row, bare.coarse_g) == (None, 0, "", False, None, None, 0)
    plain = Open(bare, 1.0)
    assert (plain.normal, plain.gain, plain.mass_g, plain.often, plain.most_g, plain.likelier) == (False, False, None, False, inf, None)


def test_one_in_two_hundred_weights_is_a_slip() -> None:
    """That none is one has the log odds of 199 to 1: beside a slip of prior 1 % that explains a gap of three sd as chance cannot."""
    of = upright(3)
    found = chances(explained(of, [known("a", of, 0, 3, 0.01)], []))
    assert found["a",] / found[()] == pytest.approx(0.01 * norm.pdf(0) / (0.995 * norm.pdf(3)))
