"""A hint says itself for its place: at a prompt by the key that leaves a question open, on a page by its field."""

from __future__ import annotations

from pipeline.wording.question_hints import NO_HINT, Hint, for_field, for_keys


def test_a_hint_by_keys_names_the_key_that_leaves_it_open() -> None:
    rest = Hint("what was taken", if_empty="all that is left of it")
    assert for_keys(rest, offered=False) == "what was taken; Enter: all that is left of it"
    assert for_keys(rest, offered=True) == "what was taken; -: all that is left of it"  # Enter would take what is offered
    block = Hint(empty_if="none", free="B4")
    assert for_keys(block, offered=True) == "type - if none; B4 is free"
    assert for_keys(block, offered=False) == "Enter if none; B4 is free"
    assert not for_keys(NO_HINT, offered=True)


def test_a_hint_on_a_page_knows_no_keys() -> None:
    assert for_field(Hint("what was taken", if_empty="all that is left of it")) == "what was taken; empty: all that is left of it"
    assert for_field(Hint(empty_if="none", free="B4")) == "leave empty if none; B4 is free"
