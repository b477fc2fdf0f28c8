"""What happened to a weight, in every form, from slips made to produce it."""

from __future__ import annotations

import numpy as np
import pytest

from pipeline.analyses.scale_step_fit import ScaleFit
from pipeline.analyses.slip import Slip
from pipeline.analyses.step_balance import Balance
from pipeline.wording import slip_sentences
from pipeline.wording.amounts import Units
from pipeline.wording.slip_sentences import Untested

KG = Units()


def at(kind: str, of: str = "S1", number: int | None = 1) -> Balance:
    return Balance(kind, of, (), (), True, ((kind,),), "S1", number)


@pytest.mark.parametrize(
    ("kind", "detail", "said"),
    [
        ("digits swapped", "", "digits swapped"), ("one digit", "", "one digit wrong"), ("unit", "lb", "weighed in lb, entered as kg"),
        ("decimal point", "", "decimal point slipped"), ("pounds and ounces", "3 lb 3 oz", "3 lb 3 oz written as 3.3"),
        ("entered twice", "", "entered twice: an earlier row says the same"), ("rows exchanged", "", "entered in the neighbouring row"),
        ("neighbour's weight", "", "the neighbouring row's weight again"), ("other", "", "no single slip of the pen gives it"),
        ("neighbour's digits", "", "it ends in the neighbouring row's last two digits"),
    ],
)  # fmt: skip
def test_a_slip_and_what_it_mends(kind: str, detail: str, said: str) -> None:
    slip = Slip(kind, (0,), 0.0, np.zeros(1), detail=detail)
    assert slip_sentences.reason(slip, at("cast"), ("3.3", "kg"), {}, KG) == f"{said}; so that the wax of session S1 closes"
    assert slip_sentences.reason(slip, at("yield"), ("3.3", "kg"), {}, KG) == f"{said}; so that pass 1 of session S1 gives what such a pass can give"


@pytest.mark.parametrize(
    ("kind", "said"),
    [
        ("harvest", "it fits harvest X, not H"), ("block", "it fits block X, not H"), ("join", "it fits session X, not H"),
        ("slumgum", "it fits the slumgum of session X, not H"), ("cast", "it fits the wax of session X, not H"),
    ],
)  # fmt: skip
def test_a_wrong_name(kind: str, said: str) -> None:
    slip = Slip("wrong name", (0, 1), 0.0, np.zeros(1), detail=kind, likely="X")
    assert slip_sentences.reason(slip, at(kind, "H"), ("1", "kg"), {}, KG) == said


def test_a_row_that_is_missing() -> None:
    slip = Slip("missing row", (0,), 0.0, np.zeros(1))
    told = {kind: slip_sentences.reason(slip, at(kind), ("", ""), {}, KG) for kind in ("cast", "join")}
    assert told == {
        "cast": "the wax of session S1 lacks this much; a row may be missing in blocks.csv",
        "join": "what went into pass 1 of session S1 is this much more than was loaded; a row may be missing in loads.csv",
    }


def test_what_stands_beside_the_suspects() -> None:
    assert slip_sentences.odd(at("melt"), 250, KG) == "pass 1 of session S1: 250 g more went missing than usual, by no single slip"
    assert slip_sentences.usual(1) == "1 difference that check warns of is no larger than this book's usual ones"
    assert slip_sentences.unexplained("loads.csv line 3, mass", "too much") == "loads.csv line 3, mass: too much; no slip that is known explains it"
    assert slip_sentences.scale(ScaleFit(40, 14.4, 1.7, 50)) == (
        "weighings that should agree differ more than the scale in book.toml explains: by 14 g each where it says 1.7 g "
        "(40 steps); [scale] step_g = 50 would fit, and every limit would follow it"
    )
    assert slip_sentences.scale(ScaleFit(40, 1.4, 0.289, 5, read=True)) == (
        "the weights stand on steps of 5 g, and the scale in book.toml is said to read finer (1 g): "
        "[scale] step_g = 5 would fit, and every limit would follow it"
    )
    assert slip_sentences.untested([]) == ""
    assert slip_sentences.untested([Untested("draws", "mass", False, 3), Untested("passes", "residue", True, 1)]) == (
        "not enough weighings to test these: 3 weights in draws.csv (count the block at a stocktake); 1 residue in "
        "passes.csv (a few more passes alike, weighed in and out, would show what they usually lose)"
    )
