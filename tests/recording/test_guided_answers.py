"""Answers at the keyboard as people type them: yes is yes, and what may be meant otherwise is asked."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path

import pytest

from pipeline.recording import answers_so_far, guided_terminal
from tests.books import write, write_kept

TODAY = date(2025, 9, 1)
LOGS = {
    "harvests": "harvest,date,comb,mass_g\nA1,2025-05-01,cappings,3000\nA2,2025-05-01,brood comb,5000",
    "loads": "session,source,mass_g\n",
    "passes": "session,pass,date,method,wax_out_g,residue_g,peak_temp_c,time_min\n",
    "blocks": "block,date,mass_g,session\n",
}


def a_book(tmp_path: Path) -> Path:
    return write_kept(tmp_path / "book", today=TODAY.isoformat(), **LOGS)


def talk(folder: Path, answer: Callable[[str], str | None]) -> list[str]:
    """A guided session: ``answer`` gives a reply to a prompt, or None for Enter; what was said, prompts included."""
    said: list[str] = []

    def ask(prompt: str) -> str:
        said.append(prompt)
        assert len(said) < 200, "the questions go round in a circle: " + "\n".join(said[-8:])
        return answer(prompt) or ""

    guided_terminal._runs(folder, "session", TODAY, ask, said.append)
    return said


def usual(prompt: str) -> str | None:
    replies = {"What went into": "A2", "Anything else": "", "wax out": "1.4 kg", "residue": "3.4 kg", "method": "steam", "block –": "-", "save?": "yes"}
    return next((reply for words, reply in replies.items() if prompt.startswith(words)), None)


YESES, NOES = ("y", "Y", "yes", "Yes", "YES", "yes."), ("n", "N", "no", "No")


def test_one_place_reads_every_yes_and_no() -> None:
    """The questions below are asked one or two of these each."""
    assert [answers_so_far.yes_or_no(typed) for typed in YESES] == [answers_so_far.YES] * len(YESES)
    assert [answers_so_far.yes_or_no(typed) for typed in NOES] == [answers_so_far.NO] * len(NOES)
    assert answers_so_far.yes_or_no("perhaps") is None


@pytest.mark.parametrize("typed", ["Yes", ""])
def test_the_wax_is_out_however_yes_is_typed(typed: str, tmp_path: Path) -> None:
    book = a_book(tmp_path)
    talk(book, lambda p: typed if p.startswith("Is the wax out yet?") else usual(p))
    assert len((book / "passes.csv").read_text().splitlines()) == 2


@pytest.mark.parametrize("typed", ["N"])
def test_the_wax_is_not_out_however_no_is_typed(typed: str, tmp_path: Path) -> None:
    book = a_book(tmp_path)
    said = talk(book, lambda p: typed if p.startswith("Is the wax out yet?") else usual(p))
    assert any("left open" in line for line in said)


@pytest.mark.parametrize(("typed", "passes"), [("y", 2), ("n", 1), ("", 1)])
def test_a_second_pass_is_there_when_yes_was_typed_and_only_then(typed: str, passes: int, tmp_path: Path) -> None:
    book, seen = a_book(tmp_path), []

    def answer(prompt: str) -> str | None:
        if prompt.startswith("Another pass?"):
            seen.append(prompt)
            return typed if len(seen) == 1 else "no"
        if prompt.startswith("wax out") and seen:
            return "1.3 kg"
        return "0.05 kg" if prompt.startswith("residue") and seen else usual(prompt)

    talk(book, answer)
    assert len((book / "passes.csv").read_text().splitlines()) == 1 + passes


@pytest.mark.parametrize("question", ["Is the wax out yet?", "Another pass?", "Record another session?", "save?"])
def test_nonsense_is_asked_again(question: str, tmp_path: Path) -> None:
    book, asked = a_book(tmp_path), []

    def answer(prompt: str) -> str | None:
        if prompt.startswith(question):
            asked.append(prompt)
            return "perhaps" if len(asked) == 1 else "no" if "Another" in question or "another" in question else "yes"
        return usual(prompt)

    talk(book, answer)
    assert len(asked) >= 2
    assert len((book / "passes.csv").read_text().splitlines()) == 2


@pytest.mark.parametrize("typed", ["Y"])
def test_keep_it_takes_every_yes(typed: str, tmp_path: Path) -> None:
    book = a_book(tmp_path)
    talk(book, lambda p: typed if p.startswith("  keep it?") else "6 kg" if p.startswith("wax out") else usual(p))
    assert ",6000," in (book / "passes.csv").read_text()


@pytest.mark.parametrize(("prompt", "typed", "says"), [
    ("time", "4", "4 minutes, or 4 hours? Write 4 h for hours"),
    ("residue", "1 kg", "2.60 kg of 5.00 kg is in neither wax nor residue: honey in it, or something not weighed?"),
    ("hottest", "97", "97 °C is 12 °C over 85 °C, above which wax darkens for good"),
    ("hottest", "450 F", "232 °C is past the limit for fire (121 °C): is the figure right?"),
    ("hottest", "40", "40 °C would not melt wax"),
])  # fmt: skip
def test_what_may_be_meant_otherwise_is_asked(prompt: str, typed: str, says: str, tmp_path: Path) -> None:
    said = talk(a_book(tmp_path), lambda p: typed if p.startswith(prompt) else "yes" if p.startswith("  keep it?") else usual(p))
    assert any(says in line for line in said), said


@pytest.mark.parametrize(("typed", "says"), [("74", "did you mean 74 °C?"), ("165", None), ("206", "206 °F is 21 °F over 185 °F"), ("450", "450 °F is past the limit for fire (250 °F)")])
def test_a_temperature_in_an_fahrenheit_book(typed: str, says: str | None, tmp_path: Path) -> None:
    book = write(tmp_path, 'name = "t"\n[show]\ntemperature = "F"\n', **LOGS)
    said = talk(book, lambda p: typed if p.startswith("hottest") else "yes" if p.startswith("  keep it?") else usual(p))
    assert any(says in line for line in said) if says else not any("keep it?" in line for line in said)


def test_the_method_offered_is_the_usual_one_for_that_comb(tmp_path: Path) -> None:
    logs = LOGS | {
        "loads": "session,source,mass_g\nS1,A1,500\nS2,A1,500\nS3,A2,500",
        "passes": "session,pass,date,method,wax_out_g\nS1,1,2025-06-01,solar,300\nS2,1,2025-06-02,solar,300\nS3,1,2025-06-03,press,100",
    }
    said = talk(write(tmp_path, **logs), lambda p: "A1" if p.startswith("What went into") else "0.4 kg" if p.startswith("residue") else usual(p))
    assert next(line for line in said if line.startswith("method")).rstrip().endswith("[solar]:")


def test_a_column_left_empty_three_times_is_asked_last(tmp_path: Path) -> None:
    order = [line.split(" ")[0] for line in talk(write(tmp_path / "new", **LOGS), usual)]
    assert order.index("time") < order.index("filter")
    rows = "".join(f"S{n},1,2025-06-0{n},solar,300,,,,felt\n" for n in (1, 2, 3))
    logs = LOGS | {"passes": "session,pass,date,method,wax_out_g,residue_g,peak_temp_c,time_min,filter\n" + rows}
    order = [line.split(" ")[0] for line in talk(write(tmp_path / "old", **logs), usual)]
    assert order.index("filter") < order.index("time")
