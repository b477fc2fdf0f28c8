"""A session in the melter: kept aside for weeks, offered first, finished at the keyboard or on the phone."""

import json
import os
import subprocess
import sys
from datetime import date
from pathlib import Path

from pipeline.recording import guided_terminal, offers
from pipeline.recording.answers_so_far import Draft
from pipeline.recording.drafts import Drafts, begun
from tests.books import write
from tests.web.test_recording_form import LOGS, Phone, book, logs, phone  # noqa: F401 - fixtures of the phone page

TODAY = date(2025, 9, 1)


def talk(folder: Path, *answers: str) -> list[str]:
    """A session at the keyboard with these answers, in order; what was said."""
    said, left = list[str](), iter(answers)

    def ask(prompt: str) -> str:
        said.append(prompt)
        return next(left)

    guided_terminal._runs(folder, "session", TODAY, ask, said.append)
    assert next(left, None) is None, "answers were left over"
    return said


def test_a_session_in_the_melter_is_kept_and_offered_first(book: Path) -> None:  # noqa: F811
    before = logs(book)
    said = talk(book, "S7", "A2", "2 kg", "", "no")
    assert any("session S7, loaded A2; not taken off yet: left open" in line for line in said)
    assert logs(book) == before, "the logs hold whole sessions only"
    said = talk(
        book, "", "yes", "2025-09-20", "steam", "", "1.5", "0.4", "", "", "", "no", "B7", "2025-09-20", "1.45", "", "", "-", "yes", "no"
    )
    assert "  1  session S7, loaded A2; not taken off yet" in said
    assert logs(book)["passes"] == LOGS["passes"] + "S7,1,2025-09-20,steam,,1.5,0.4\n"
    assert logs(book)["loads"] == LOGS["loads"] + "S7,A2,,2\n"
    assert Drafts(book).open() == []


def test_a_pass_without_its_wax_leaves_the_session_open_at_that_pass(book: Path) -> None:  # noqa: F811
    before = logs(book)
    talk(book, "S7", "A2", "2 kg", "", "yes", "", "steam", "", "-", "-", "", "", "", "no", "-")
    assert logs(book) == before
    said = talk(book, "1", "2025-09-08", "steam", "", "1.5", "-", "", "", "", "no", "-", "yes", "no")
    assert any("date" in line and "[2025-09-01]" in line for line in said), "what was typed is offered again"
    assert logs(book)["passes"] == LOGS["passes"] + "S7,1,2025-09-08,steam,,1.5,\n"


def test_what_was_begun_on_the_phone_is_finished_at_the_keyboard(phone: Phone) -> None:  # noqa: F811
    before = logs(phone.book)
    path = phone.start("session")
    phone.fill(passes__1__session="S7").fill(loads__1__source="A2").fill(loads__1__mass="2 kg")
    phone.fill(loads__2__source="").fill(passes__1__more="no")
    assert "waits here until its wax is weighed" in phone.text
    phone.act(path, "save")
    assert logs(phone.book) == before
    phone.page = phone.client.get("/")
    assert "session S7, loaded A2; not taken off yet" in phone.text
    talk(phone.book, "1", "yes", "", "steam", "", "1.5", "-", "", "", "", "no", "-", "yes", "no")
    assert logs(phone.book)["passes"].count("S7,") == 1


def test_an_open_session_goes_on_on_the_phone(phone: Phone) -> None:  # noqa: F811
    path = phone.start("session")
    phone.fill(passes__1__session="S7").fill(loads__1__source="A2").fill(loads__1__mass="2 kg")
    phone.fill(loads__2__source="").fill(passes__1__more="no")
    phone.act(path, "on")
    phone.fill(passes__1__more="yes").fill(passes__1__method="steam", passes__1__wax_out="1.5")
    phone.fill(passes__2__more="no").fill(blocks__1__block="")
    phone.act(path, "save")
    assert logs(phone.book)["passes"] == LOGS["passes"] + "S7,1,2025-09-01,steam,,1.5,\n"


def test_loads_written_row_by_row_wait_for_their_pass_too(book: Path) -> None:  # noqa: F811
    with (book / "loads.csv").open("a", encoding="utf-8") as log:
        log.write("S7,A2,,2\n")
    assert offers.of(book, TODAY).open_sessions[0] == "S7"
    talk(book, "S7", "yes", "", "steam", "", "1.5", "-", "", "", "", "no", "-", "yes", "no")
    checked = subprocess.run(
        [sys.executable, "-m", "pipeline", "check", str(book), "--json"], capture_output=True, text=True, check=True
    )
    assert [p for p in json.loads(checked.stdout)["problems"] if p["severity"] == "error"] == []


def test_open_sessions_never_make_room_for_others(book: Path) -> None:  # noqa: F811
    drafts = Drafts(book)
    drafts.keep(begun(Draft("session", {("passes", 1, "session"): "S7"})))
    for _ in range(60):
        drafts.new("draw")
    assert [k.draft.answers for k in drafts.open()] == [{("passes", 1, "session"): "S7"}]
    assert len(list((book / ".combtally" / "drafts").glob("*.json"))) <= 50


def test_an_entry_sent_again_after_a_crash_is_not_written_twice(phone: Phone) -> None:  # noqa: F811
    """The rows are in the log, and the machine stopped before the draft was marked as saved."""
    path = phone.start("draw")
    phone.fill(draws__1__block="B1", draws__1__use="given", draws__1__mass="0.1")
    name = path.rsplit("/", 1)[1]
    file = phone.book / ".combtally" / "drafts" / f"{name}.json"
    unmarked = file.read_bytes()
    phone.act(path, "save")
    once = logs(phone.book)
    file.write_bytes(unmarked)
    phone.page = phone.client.get(path)
    phone.act(path, "save")
    assert logs(phone.book) == once
    assert "in an earlier try" in phone.text


def test_wax_taken_out_is_chosen_from_what_lies_on_the_shelf(phone: Phone) -> None:  # noqa: F811
    path = phone.start("draw")
    assert "B1 (wax, 700 g left)" in phone.text
    phone.fill(draws__1__block="B1 (wax, 700 g left)", draws__1__use="given", draws__1__mass="0.9")
    assert "900 g is 200 g more than is left of B1 (700 g)" in phone.text
    phone.fill(draws__1__block="B1 (wax, 700 g left)", draws__1__use="given", draws__1__mass="0.2")
    phone.act(path, "save")
    assert (phone.book / "draws.csv").read_text().splitlines()[1].startswith("2025-09-01,B1,0.2,given")


def test_a_draft_that_was_half_written_when_the_program_died_is_swept(tmp_path: Path) -> None:
    folder = tmp_path / ".combtally" / "drafts"
    folder.mkdir(parents=True)
    old, young = folder / "0123456789abcdef.new", folder / "fedcba9876543210.new"
    for left in (old, young):
        left.write_text("{")
    os.utime(old, (0, 0))
    Drafts(tmp_path).new("harvest")
    assert not old.exists()
    assert young.exists()


def test_the_comb_that_waits_longest_is_offered_first(tmp_path: Path) -> None:
    """By the day it was taken off, whenever its wax is expected; of one day as they stand in the log."""
    waiting = write(
        tmp_path, harvests="harvest,date,comb,mass_g,wax_expected\n"
        "H9,2025-06-01,cappings,1000,2026-10-01\nH10,2025-06-01,cappings,1000,\nH2,2025-05-01,cappings,1000,\nH1,2025-07-01,cappings,1000,2025-08-01",
    )  # fmt: skip
    assert [lot.name for lot in offers.of(waiting, TODAY).lots] == ["H2", "H9", "H10", "H1"]
