"""Each command stands in the family that says so, so that one can be made without the others."""

from __future__ import annotations

from importlib import import_module

import pytest
import typer

from pipeline import cli
from tests.books import ROOT, run


@pytest.mark.parametrize("family", cli.FAMILIES)
def test_a_family_adds_just_the_commands_that_it_is_listed_with(family: str) -> None:
    made = typer.Typer()
    import_module(f"pipeline.cli.{family}").add_to(made)
    names = [c.name or c.callback.__name__ for c in made.registered_commands if c.callback]
    assert tuple(names) == cli.FAMILIES[family]


def test_one_command_is_made_alone_and_all_where_none_is_named() -> None:
    alone = typer.main.get_command(cli.app(["yields", "book"]))
    assert list(alone.commands) == ["yields"]
    every = [name for names in cli.FAMILIES.values() for name in names]
    for words in ((), ("--help",), ("yield", "book"), ("--version",)):
        assert list(typer.main.get_command(cli.app(words)).commands) == every


@pytest.mark.parametrize("words", [("--by", "\u202e"), ("--today", "\u202e"), ("--\u202e",)])
def test_what_was_typed_wrongly_steers_no_terminal(words: tuple[str, ...]) -> None:
    ran = run("yields", ROOT / "data" / "demo", *words, today=None)
    assert (ran.code, "\u202e" in ran.err) == (2, False)
