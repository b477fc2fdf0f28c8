"""What holds for every book, whatever it says."""

from random import Random
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from tests.models.test_against_oracle import FLOWS, LOSSES, YIELDS, agree, by_key, differences, program
from tests.oracle.book import Book
from tests.strategies import LAST_DAY, beside, books, looking, scaled, shuffled

WENT = ("blocks_g", "passed_on_g", "set_aside_g", "residue_g", "unaccounted_g", "handling_g", "casting_g")

Figures = dict[str, Any]


def assert_waterfall_closes(figures: Figures) -> None:
    for by in FLOWS:
        for row in figures[f"flow {by}"]:
            if row["loaded_g"] is not None:
                assert sum(row[part] for part in WENT) == row["loaded_g"], (by, row)


def assert_groups_sum_to_the_whole(figures: Figures) -> None:
    """Comb and wax by season, kind, apiary and hive are the book's; by method once slumgum's own rows are set apart."""
    whole = figures["yields book"][0] if figures["yields book"] else {"loaded_g": 0, "wax_g": 0}
    for by in ("season", "comb", "apiary", "hive"):
        for column in ("loaded_g", "wax_g"):
            assert agree(sum(row[column] or 0 for row in figures[f"yields {by}"]), whole[column] or 0), (by, column)
    comb = [row["loaded_g"] for row in figures["yields method"] if "(slumgum)" not in str(row["method"])]
    assert agree(sum(comb), whole["loaded_g"] or 0)
    for by in ("season", "method", "filter", "comb", "session"):
        for column in ("in_g", "wax_g", "residue_g"):
            ours, all_of_it = (sum(row[column] or 0 for row in figures[f"losses {k}"]) for k in (by, "book"))
            assert agree(ours, all_of_it), (by, column)


@looking(3)
@given(books())
def test_what_was_loaded_is_accounted_for(book: Book) -> None:
    figures = program(book, LAST_DAY)
    assert_waterfall_closes(figures)
    assert_groups_sum_to_the_whole(figures)


@looking(3)
@given(books(), st.randoms(use_true_random=False))
def test_order_of_rows_never_matters(book: Book, rng: Random) -> None:
    assert not differences(program(book, LAST_DAY), program(shuffled(book, rng), LAST_DAY))


@looking(3)
@given(books())
def test_scaling_all_masses_leaves_shares_unchanged(book: Book) -> None:
    small, big = program(book, LAST_DAY), program(scaled(book, 4), LAST_DAY)
    for table in [*(f"yields {by}" for by in YIELDS), *(f"losses {by}" for by in LOSSES)]:
        ones, fours = by_key(small[table]), by_key(big[table])
        assert ones.keys() == fours.keys()
        for key, row in ones.items():
            for share in {"yield", "u", "loss"} & row.keys():
                assert agree(row[share], fours[key][share], share=True), (table, key, share)


@looking(3)
@given(books())
def test_one_session_says_nothing_of_the_others(book: Book) -> None:
    """An unrelated session adds rows of its own and changes no other."""
    alone, with_more = program(book, LAST_DAY), program(beside(book), LAST_DAY)
    for table in ("yields session", "losses session", "flow session", "stock set_aside"):
        others = [row for row in with_more[table] if row["session"] != "zz"]
        assert others == alone[table]
    assert len(with_more["flow session"]) == len(alone["flow session"]) + 1
