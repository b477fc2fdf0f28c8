"""What may have gone wrong in balances that fail, listed by hand: slips at each weight, steps that went off, names that are wrong."""

from __future__ import annotations

from math import exp, inf, log

import numpy as np
import pytest
from scipy.stats import norm

from pipeline.analyses.balance_least_squares import solve
from pipeline.analyses.possible_slips import Neighbours, Open, Pen, Slip, ways
from pipeline.analyses.step_balance import Balance, Slack, Weight
from pipeline.analyses.typing_slips import Typed
from pipeline.analyses.weighing_network import Weighed, weighed
from pipeline.analyses.weight_in_doubt import Problem
from pipeline.analyses.wrong_names import Names
from tests.analyses.balances import step, weight

PEN = Pen(lambda w: Typed(f"{w.mass_g:g}", "g"), {"pot": 10.0}, lambda log: 0.0)


def problem(*steps: tuple[Balance, Slack, float], sd_g: float = 1.0) -> Problem:
    """These balances with all their weights, each known to a gram."""
    weights = list(dict.fromkeys(w for b, *_ in steps for w in (*b.into, *b.out)))
    cells = np.zeros((len(steps), len(weights) + len(steps)))
    for row, (b, slack, _) in enumerate(steps):
        for w, each in zip((*b.into, *b.out), slack.coefficients(b), strict=True):
            cells[row, weights.index(w)] += each
        cells[row, len(weights) + row] = -1
    masses = np.array([w.mass_g or 0.0 for w in weights] + [0.0] * len(steps))
    return Problem(cells @ masses, cells, np.full(len(masses), sd_g**2), (*weights, *steps))


def listed(of: Problem, others: list[Weight] | None = None) -> tuple[list[Slip], list[Open]]:
    known, opens = ways(of, PEN, Neighbours.of([*(s for s in of.streams if isinstance(s, Weight)), *(others or [])]))
    slips = [(w, n, w.made(n)) for w in known for n in range(len(w.prior))]
    for w, n, slip in slips:
        assert (w.streams, w.along.tolist(), w.prior[n], w.error_g[n], w.coarse_g[n]) == (
            slip.streams, slip.along.tolist(), slip.prior, slip.error_g, slip.coarse_g,
        )  # fmt: skip
    return [slip for *_, slip in slips], opens


def off(of: Problem) -> list[tuple]:
    """The steps that went off: kind, prior, which way (1: too little came out), size, most, thought of often, by usual sizes."""
    return [
        (o.slip.kind, round(exp(o.slip.prior), 6), float(o.slip.along[0]), o.size, o.most_g, o.often, o.likelier is not None)
        for o in listed(of)[1] if o.gain
    ]  # fmt: skip


PLAIN, JUDGED = Slack(0.1, 0.02, 9), Slack(0.1, 0.02, 0, judged=True)


@pytest.mark.parametrize(
    ("kind", "slack", "expected"),
    [  # a step goes off once in 667, one way or the other where both can be
        ("melt", PLAIN, [("odd", 0.0015, 1, 400, inf, False, False), ("odd", 0.0015, -1, 400, inf, False, False)]),
        ("melt", JUDGED, [("odd", 0.003, 1, 400, inf, True, False), ("odd", 0.003, -1, 400, inf, True, False)]),
        ("yield", PLAIN, [("odd", 0.0015, 1, 400, inf, False, False), ("odd", 0.0015, -1, 400, 40, False, False)]),  # no more wax than all
        ("yield", JUDGED, [("odd", 0.01, 1, 400, inf, True, False), ("odd", 0.01, -1, 400, 40, True, False)]),
        ("yield", Slack(-0.1, 0.02, 9), [("odd", 0.0015, 1, 400, inf, False, False), ("odd", 0.0015, -1, 400, 0, False, False)]),
        ("join", PLAIN, [("odd", 0.00075, 1, 400, inf, False, False), ("missing row", 0.00075, -1, 400, inf, False, True)]),
        ("harvest", PLAIN, [("missing row", 0.00075, 1, 400, inf, False, True)]),
        ("block", PLAIN, [("missing row", 0.00075, 1, 400, inf, False, True)]),
        ("cast", PLAIN, [("missing row", 0.00075, 1, 400, inf, False, True)]),
        ("shelf", PLAIN, [("missing row", 0.00075, 1, 400, inf, False, True)]),
        ("wax", PLAIN, [("odd", 0.00075, 1, 400, inf, False, False)]),
        ("harvest", Slack(0, 0.02, 0, rest=0.2), [("rest", 0.2, 1, 400, inf, False, False), ("missing row", 0.00075, 1, 400, inf, False, True)]),
    ],
)  # fmt: skip
def test_how_a_step_may_have_gone_off(kind: str, slack: Slack, expected) -> None:
    assert off(problem((step(kind, [500], [300]), slack, 400.0))) == expected


def test_where_more_came_out_than_went_in_it_was_no_good_yield() -> None:
    assert [o[2] for o in off(problem((step("yield", [300], [301]), PLAIN, 300.0)))] == [1]
    assert [o[2] for o in off(problem((step("yield", [300], [300]), PLAIN, 300.0)))] == [1, -1]
    assert [o[2] for o in off(problem((step("yield", [None], [300]), PLAIN, 300.0)))] == [1, -1]
    assert off(problem((step("join", [300], [301]), PLAIN, 0.0))) == []  # nothing is at hand that could go


def test_a_load_that_nobody_wrote_down_left_a_store_for_a_pass() -> None:
    """From one of two stores, 300 and 200 g at hand, into a pass of 250 g."""
    join, stores = step("join", [100], [250]), [step("harvest", [300], [200]), step("block", [200], [50])]
    of = problem((join, Slack(0.2, 0.02, 9), 250.0), (stores[0], PLAIN, 300.0), (stores[1], PLAIN, 200.0))
    found = [o for o in listed(of)[1] if len(o.slip.streams) == 2]
    assert [(o.slip.kind, o.slip.streams, o.size, o.gain, o.slip.detail, o.slip.along.tolist()) for o in found] == [
        ("missing row", (6, 7), 250, True, "join", [-0.8, 1, 0]), ("missing row", (6, 8), 200, True, "join", [-0.8, 0, 1]),
    ]  # fmt: skip
    assert [exp(o.slip.prior) for o in found] == pytest.approx([0.0015 / 2 / 2] * 2)
    one, two = (o.likelier for o in found)
    assert one is not None
    assert two is not None
    assert one(100.0) - two(100.0) == pytest.approx(log(250 / 200))  # by the usual weight of loads, beside any up to what is at hand
    none = problem((join, PLAIN, 250.0), (step("harvest", [300], [200]), PLAIN, 0.0))
    assert not [o for o in listed(none)[1] if len(o.slip.streams) == 2]


def test_every_weight_may_be_some_other_weight() -> None:
    """A slip in 200, 8 % of them of no known kind: by a twentieth or by half."""
    of = problem((step("wax", [500], [300, 0]), PLAIN, 500.0))
    found = [(o.slip.streams, round(exp(o.slip.prior), 9), o.size, o.normal, o.mass_g) for o in listed(of)[1] if o.slip.kind == "other"]
    assert found == [
        (i, 0.0002, size, True, mass) for i, mass, sizes in (((0,), 500, (25, 250)), ((1,), 300, (15, 150)), ((2,), 0, (0.05, 0.5))) for size in sizes
    ]  # fmt: skip
    counted = Balance("block", "A", (weight(500, "blocks"),), (weight(0, "stocktakes"),), True, (("block",),), None)
    zero = [o.size for o in listed(problem((counted, PLAIN, 500.0)))[1] if o.slip.kind == "other" and o.mass_g == 0]
    assert zero == [25, 250]  # what was counted as gone may be there


def test_what_was_typed_has_what_may_have_been_meant() -> None:
    of = problem((step("wax", [500], [300]), PLAIN, 500.0))
    vessel = {s.streams: (s.likely_g, s.error_g, s.shift.tolist(), s.detail, s.taken_off, round(exp(s.prior), 9)) for s in listed(of)[0] if s.kind == "vessel" and not s.taken_off}
    assert vessel == {(0,): (490, 10, [9], "pot", False, 0.0003), (1,): (290, 10, [-10], "pot", False, 0.0003)}  # .005 x .12 / 2
    usual = [weight(500) for _ in range(8)]
    likelier = {s.likely_g: s.prior for s in listed(of, usual)[0] if s.kind == "vessel" and s.streams == (0,)}
    assert likelier[490] < likelier[510] < log(0.0003)  # loads of 500 g are the rule


@pytest.mark.parametrize(("of_log", "prior"), [("loads", 0.2), ("draws", 0.1), ("blocks", 0.005), ("harvests", None)])
def test_a_row_that_says_what_an_earlier_one_says_may_be_entered_twice(of_log: str, prior: float | None) -> None:
    b = Balance("wax", "S", (weight(500),), (weight(300, of_log, again=True),), True, (("wax",),), None)
    found = [(s.streams, round(exp(s.prior), 6), s.likely_g, s.error_g, s.shift.tolist()) for s in listed(problem((b, PLAIN, 500.0)))[0] if s.kind == "entered twice"]
    assert found == ([((1,), prior, 0, 300, [-300])] if prior else [])


def test_neighbouring_rows_may_have_each_others_weight() -> None:
    rows = [weight(m, "draws", row) for row, m in ((3, 300), (4, 120), (5, 120), (7, 80))]
    b = Balance("block", "A", (weight(700, "blocks", 4),), tuple(rows), True, (("block",),), None)
    known, opens = listed(problem((b, PLAIN, 700.0)), [weight(90, "draws", 8), weight(95, "draws", 2)])
    swapped = [(s.streams, round(exp(s.prior), 9), s.likely_g, s.error_g, s.shift.tolist()) for s in known if s.kind == "rows exchanged"]
    assert swapped == [((1, 2), 0.0001, 120, 180, [0]), ((2, 1), 0.0001, 300, -180, [0])]  # .005 x .04 / 2; in one balance nothing shows
    same = [(o.slip.streams, round(exp(o.slip.prior), 9), o.size) for o in opens if o.slip.kind == "neighbour's weight"]
    assert same == [((i,), 0.000075, size) for i in (2, 3) for size in (6, 60)]  # .005 x .03 / 2


def test_rows_of_two_balances_exchanged_move_both_gaps() -> None:
    one, two = weight(300, "draws", 3), weight(120, "draws", 4)
    stores = [Balance("block", name, (weight(m, "blocks", row),), (w,), True, (("block",),), None) for name, m, row, w in (("A", 120, 10, one), ("B", 300, 20, two))]
    of = problem(*((b, PLAIN, 300.0) for b in stores))
    assert [s.shift.tolist() for s in listed(of)[0] if s.kind == "rows exchanged"] == [[-180, 180], [-180, 180]]


def test_what_nobody_weighed_and_what_nothing_checks_is_no_slip() -> None:
    of = problem((step("wax", [500, None], [300]), PLAIN, 500.0))
    assert {s.streams for s in listed(of)[0]} == {(0,), (2,)}
    unsure = problem((step("wax", [500], [300]), PLAIN, 500.0), sd_g=10_000)
    assert listed(unsure)[0] == []


# --- a right weight under a wrong name


def stored(name: str, mass_g: float, *draws: float, closed: bool = True, kind: str = "block") -> Balance:
    log = {"block": "draws", "harvest": "loads"}[kind]
    return Balance(kind, name, (weight(mass_g, f"{kind}s"),), tuple(weight(d, log) for d in draws), closed, ((kind,),), None)


def gram(log: str, mass_g: float) -> float:
    return 1.0


def renamed(balances: list[Balance], *failing: int) -> list[Slip]:
    """The names proposed in a problem of these balances."""
    found = weighed(balances, gram)
    return list(Names(found, solve(found.network)).ways(taken(found, [int(found.row_of[i]) for i in failing])))


def taken(found: Weighed, rows: list[int]) -> Problem:
    streams, cells = found.network.columns(np.array(rows))
    every = (*found.weights, *((b, s, max(b.in_g, b.out_g)) for b, s in zip(found.balances, found.slacks, strict=True)))
    return Problem(found.network.gap()[rows], cells, found.network.variance[streams], tuple(every[i] for i in streams))


def fit(gap: float, moved: float) -> float:
    """What moving so much gains at a block of 1000 g with one draw: both known to 1 g, a scatter of .2 % of the smaller side."""
    sd = (2 + (0.002 * (1000 - gap)) ** 2) ** 0.5
    return float(norm.logpdf(gap - moved, scale=sd) - norm.logpdf(gap, scale=sd))


def test_a_draw_too_many_is_tried_at_every_other_block() -> None:
    """Block A gave 500 g too much; of B 500 g lack, C lacks 490 and D nothing, F lacks 480; of the open E and G some 490 and 489 g are left."""
    book = [
        stored("A", 1000, 300, 700, 500), stored("B", 1000, 500), stored("C", 1000, 510), stored("D", 1000, 1000), stored("F", 1000, 520),
        stored("E", 1000, 510, closed=False), stored("G", 1000, 511, closed=False), stored("H", 1000, 500, kind="harvest"),
    ]  # fmt: skip
    found = [s for s in renamed(book, 0) if s.error_g == 500]
    assert [s.likely for s in found] == ["B", "C", "F"]  # the three likeliest of five
    assert [s.prior for s in found] == pytest.approx([log(0.005 * 0.04 / 5) + fit(gap, 500) for gap in (500, 490, 480)])
    assert [(s.row, s.detail, s.shift.tolist()) for s in found] == [(1, "block", [-500]), (2, "block", [-500]), (4, "block", [-500])]
    assert {s.error_g for s in renamed(book, 0)} == {500, 300, 700}  # each of them would leave less than 500 g


def test_a_weight_that_fits_where_it_stands_is_not_renamed() -> None:
    assert {s.error_g for s in renamed([stored("A", 1000, 40, 1050), stored("B", 1000, 1000)], 0)} == {40}  # 1050 would leave 960 g lacking
    assert renamed([stored("A", 1000, 500), stored("B", 1000, 500)], 0) == []  # of A nothing is too much


@pytest.mark.parametrize(("left_g", "named"), [(490, True), (489, False)])
def test_a_draw_may_be_of_a_block_of_which_as_much_is_left(left_g: float, named: bool) -> None:
    book = [stored("A", 1000, 1000, 500), stored("E", 1000, 1000 - left_g, closed=False)]
    found = [s for s in renamed(book, 0) if s.error_g == 500]
    assert [(s.likely, s.row, s.shift.tolist(), round(exp(s.prior), 9)) for s in found] == ([("E", None, [-500], 0.0002)] if named else [])
    assert not [s for s in renamed([stored("A", 1000, 1000, 500), stored("A", 1000, 10, closed=False)], 0) if s.error_g == 500]


def test_a_name_within_the_problem_moves_both_gaps() -> None:
    book = [stored("A", 1000, 1000, 500), stored("B", 1000, 500), stored("C", 1000, 1000)]
    found = [s for s in renamed(book, 0, 1, 2) if s.error_g == 500]
    assert [(s.likely, s.row, s.shift.tolist()) for s in found] == [("B", 1, [-500, 500, 0])]  # in C it would be too much
    assert exp(found[0].prior) == pytest.approx(0.005 * 0.04)


def passed(name: str, mass_in: float, *loads: float) -> Balance:
    return Balance("join", name, tuple(map(weight, loads)), (weight(mass_in, "passes", column="mass_in"),), True, (("join",),), name, 1)


@pytest.mark.parametrize(("empty_g", "named"), [(510, True), (490, True), (511, False), (489, False)])
def test_a_load_may_be_all_that_went_into_a_pass_without_any(empty_g: float, named: bool) -> None:
    found = [s for s in renamed([passed("S", 1000, 1000, 500), passed("T", empty_g)], 0) if s.error_g == 500]
    assert [(s.likely, s.row, s.shift.tolist()) for s in found] == ([("T", None, [500])] if named else [])
    assert [s.prior for s in found] == (pytest.approx([log(0.0002) + 6]) if named else [])


def test_a_load_of_another_session_leaves_what_went_in() -> None:
    """S found 500 g less than it was loaded with, T 500 g more."""
    found = [s for s in renamed([passed("S", 1000, 1000, 500), passed("T", 1000, 500)], 0) if s.error_g == 500]
    assert [(s.likely, s.row, s.shift.tolist(), s.detail) for s in found] == [("T", 1, [500], "join")]
    assert found[0].prior > log(0.0002)
    within = [s for s in renamed([passed("S", 1000, 1000, 500), passed("T", 1000, 500)], 0, 1) if s.error_g == 500]
    assert [(s.likely, s.shift.tolist()) for s in within] == [("T", [500, -500])]


def test_only_what_a_name_puts_there_can_be_under_a_wrong_one() -> None:
    cast = [Balance("cast", n, (weight(1000, "passes"),), (weight(800, "blocks"), weight(m, "blocks"), weight(300)), True, (("cast",),), n) for n, m in (("S", 400), ("T", 1e-6))]
    assert {s.error_g for s in renamed(cast, 0)} == {400, 800}  # blocks, not the wax that another session loaded
    counted = [Balance("block", n, (weight(1000, "blocks"),), (weight(800, "draws"), weight(400, "stocktakes")), True, (("block",),), None) for n in "AB"]
    assert {s.error_g for s in renamed(counted, 0)} <= {800}
    assert renamed([step("wax", [1000], [1500]), step("wax", [1000], [500])], 0) == []  # of wax set aside there is only one per session
