"""Starting a book: what is asked, that every question has a way back, and that the answers are read as they were meant."""

from collections.abc import Iterable
from pathlib import Path

import pytest

from pipeline.book.book_toml import read_book
from pipeline.recording import new_book
from pipeline.recording.new_book import NewBookAnswers


def started(folder: Path, typed: Iterable[str]) -> dict[str, str]:
    """The answers of somebody who types these, Enter being empty."""
    answers = NewBookAnswers()
    for text in typed:
        question = new_book.next_question(answers, {}, folder.name)
        assert question is not None
        answer = text or question.usual
        assert new_book.wrong(question.key, answer) is None, question.key
        answers = answers.answered(question.key, answer)
    assert new_book.next_question(answers, {}, folder.name) is None
    new_book.book(folder, answers.given)
    return dict(answers.given)


def test_a_book_in_pounds_and_ounces_with_its_pots(tmp_path: Path) -> None:
    typed = ["Ridge", "lb oz", "", "f", "usd", "", "", "", "crock = 2 lb 2 oz", "enamel pot=1.84 kg", ""]
    answers = started(tmp_path / "ridge", typed)
    book, complaints = read_book(tmp_path / "ridge")
    assert complaints == []
    assert answers["dates"] == book.dates == "month-first"
    assert (book.show.mass, book.show.length, book.show.temperature, book.currency) == ("lb oz", "in", "F", "USD")
    assert book.scale("blocks").step_g == pytest.approx(45.359237 / 16)  # 0.1 oz, 1 lb = 453.59237 g exactly
    assert book.vessels == {"crock": pytest.approx(453.59237 * 2.125), "enamel pot": 1840}
    assert "mass_lb" in (tmp_path / "ridge" / "blocks.csv").read_text()


def test_enter_alone_gives_the_usual_book(tmp_path: Path) -> None:
    started(tmp_path / "fen", [""] * 9)
    book, complaints = read_book(tmp_path / "fen")
    assert (complaints, book.name, book.show.mass, book.dates, book.vessels) == ([], "fen", "kg", "iso", {})
    assert book.scale("passes").step_g == 5


def test_every_question_has_a_way_back_and_offers_what_was_answered(tmp_path: Path) -> None:
    forward = ["Ridge", "kg", "mm", "C", "EUR", "day-first", "01-01", "2 g", "pot = 1 kg"]
    answers, asked = NewBookAnswers(), []
    for text in forward:
        question = new_book.next_question(answers, {}, "ridge")
        assert question is not None
        asked.append(question.key)
        answers = answers.answered(question.key, text)
    for key, text in zip(reversed(asked), reversed(forward), strict=True):
        answers = answers.answered("anything", "<")
        question = new_book.next_question(answers, {}, "ridge")
        assert question is not None
        assert (question.key, question.usual) == (key, text)
    assert answers.answered("name", "<").given == {}


@pytest.mark.parametrize(
    ("key", "answer", "said"),
    [
        ("step", "5", "the step with its unit"),
        ("step", "0 g", "the step with its unit"),
        ("dates", "american", "iso, day-first, month-first"),
        ("mass", "stone", "lb oz"),
        ("vessel 1", "crock", "its empty weight"),
        ("vessel 1", "crock = heavy", "an empty weight with its unit"),
        ("currency", "$", "three capital letters"),
    ],
)
def test_what_cannot_be_is_said(key: str, answer: str, said: str) -> None:
    assert said in (new_book.wrong(key, answer) or "")


def test_a_step_that_is_said_twice_is_told(tmp_path: Path) -> None:
    (tmp_path / "book.toml").write_text('name = "a"\n[scale]\nstep = "0.1 oz"\n[scale.blocks]\nstep_g = 1\nstep = "2 g"\n')
    _, complaints = read_book(tmp_path)
    assert [(c.line, c.column) for c in complaints] == [(6, "scale.blocks.step")]


@pytest.mark.parametrize(("key", "answer", "setting"), [
    ("mass", "pounds", "lb"), ("mass", "Pounds and ounces", "lb oz"), ("mass", "lb/oz", "lb oz"), ("mass", "kilos", "kg"),
    ("length", "inches", "in"), ("length", '"', "in"), ("temperature", "°F", "F"), ("temperature", "celsius", "C"),
    ("currency", "usd", "USD"),
])  # fmt: skip
def test_an_answer_is_understood_as_it_is_said(key: str, answer: str, setting: str) -> None:
    assert new_book.tidied(key, answer) == setting
    assert new_book.wrong(key, answer) is None


def test_a_book_in_inches_has_its_vessels_in_fluid_ounces(tmp_path: Path) -> None:
    started(tmp_path / "creek", ["Creek", "pounds and ounces", "inches", *[""] * 6])
    assert "fill_volume_floz,diameter_in" in (tmp_path / "creek" / "candles.csv").read_text("utf-8")
