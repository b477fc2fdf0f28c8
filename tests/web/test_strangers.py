"""The phone page on a network with a stranger in it: the phone that was let in works on, and nothing is told to others."""

import re
import socket
import threading
import time
from collections.abc import Iterator
from contextlib import ExitStack
from pathlib import Path

import pytest

pytest.importorskip("starlette", reason="the form extra is not installed")
pytest.importorskip("httpx", reason="the test extra is not installed")

import httpx

from pipeline.web import Wish, idle_connections, server
from tests.web.test_recording_form import TODAY, Phone, a_book


@pytest.fixture
def phone(tmp_path: Path) -> Iterator[Phone]:
    opened = Phone(a_book(tmp_path / "Larkmoor"))
    yield opened
    opened.close()


def held_open(stack: ExitStack, phone: Phone, count: int, first_bytes: bytes = b"") -> list[socket.socket]:
    host, _, port = phone.host.partition(":")
    found = [stack.enter_context(socket.create_connection((host, int(port)), timeout=10)) for _ in range(count)]
    for each in found:
        each.sendall(first_bytes)
    return found


def records_a_block(phone: Phone) -> tuple[float, float]:
    """Seconds on the clock of a whole recording, form by form, and seconds of work of its last step, the saving."""
    started = time.perf_counter()
    path = phone.start("block")
    phone.fill(blocks__1__mass="1", blocks__1__supplier="Ann")
    worked = time.process_time()
    phone.act(path, "save")
    assert "blocks.csv line" in phone.text
    return time.perf_counter() - started, time.process_time() - worked


@pytest.mark.parametrize("first_bytes", [b"GET / HTTP/1.1\r\nHost: "])
def test_64_idle_connections_do_not_shut_the_phone_out(phone: Phone, first_bytes: bytes) -> None:
    """Saved within 2 s of work; the whole walk waits no 2 s longer than the same one without them on this machine."""
    records_a_block(phone)  # the rules are read once in a running server
    alone_s, _ = records_a_block(phone)
    with ExitStack() as stack:
        held_open(stack, phone, 64, first_bytes)
        clock_s, worked_s = records_a_block(phone)
    assert worked_s < 2
    assert clock_s < 2 + alone_s


def test_more_connections_than_the_house_holds_make_room_for_the_next(phone: Phone) -> None:
    with ExitStack() as stack:
        held_open(stack, phone, 300)
        assert phone.browser().get(f"/enter/{phone.guard.link}").status_code == 200


def sent_letter_by_letter(to: socket.socket, for_s: float) -> None:
    until = time.monotonic() + for_s
    while time.monotonic() < until:
        to.sendall(b"a")
        time.sleep(0.05)


def test_a_header_that_never_ends_is_not_waited_for(phone: Phone, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(idle_connections, "ASK_WITHIN_S", 0.3)
    with ExitStack() as stack:
        (slow,) = held_open(stack, phone, 1, b"GET / HTTP/1.1\r\nX-Slow: ")
        with pytest.raises(ConnectionError):
            sent_letter_by_letter(slow, for_s=10)


def test_a_guesser_does_not_shut_the_right_link_out_and_each_hears_the_true_reason(phone: Phone) -> None:
    used = phone.guard.link
    assert phone.browser().get(f"/enter/{used}").status_code == 200
    stranger = phone.browser()
    told = [stranger.get(f"/enter/{n:022d}") for n in range(12)]
    assert [t.status_code for t in told] == [403] * 10 + [429] * 2
    assert "not the link that the terminal shows" in told[0].text
    assert "Too many wrong links" in told[-1].text
    assert "used already" in stranger.get(f"/enter/{used}").text
    assert stranger.get(f"/enter/{phone.guard.link}").status_code == 200


def test_wrong_links_count_for_the_address_that_they_came_from(phone: Phone) -> None:
    for n in range(30):
        phone.guard.enter(str(n), "10.0.0.66")
    assert phone.browser().get("/enter/wrong").status_code == 403


def test_a_look_at_the_link_does_not_use_it_up(phone: Phone) -> None:
    link = phone.guard.link
    assert phone.browser().head(f"/enter/{link}").status_code == 200
    assert phone.browser().get(f"/enter/{link}").status_code == 200


def test_a_look_at_a_page_is_answered_like_the_page(phone: Phone) -> None:
    assert phone.client.head("/").status_code == phone.client.get("/").status_code == 200


@pytest.mark.parametrize("where", ["/", "/enter/wrong", "/nowhere", "/style.css", "/entry/0123456789abcdef"])
def test_who_was_not_let_in_does_not_learn_whose_book_it_is(phone: Phone, where: str) -> None:
    stranger = phone.browser()
    for answer in (stranger.get(where), stranger.get(where, headers={"host": "wax.example"}), stranger.post(where)):
        assert "Larkmoor" not in answer.text


def test_two_books_served_from_one_computer_do_not_log_each_other_out(phone: Phone, tmp_path: Path) -> None:
    other = Phone(a_book(tmp_path / "Fenside"))
    try:
        phone.client.get(f"http://{other.host}/enter/{other.guard.link}")  # browsers share cookies between ports
        assert "Fenside" in phone.client.get(f"http://{other.host}/").text
        assert phone.client.get("/").status_code == 200
    finally:
        other.close()


def test_a_lock_file_of_an_editor_is_no_log(phone: Phone) -> None:
    (phone.book / ".#loads.csv").symlink_to("somebody@larkmoor.4711:1756713600")  # as Emacs marks a file being edited
    assert phone.client.get("/").status_code == 200
    phone.start("harvest")
    assert phone.page.status_code == 200
    records_a_block(phone)


def test_a_strangers_polling_does_not_keep_it_running_and_the_network_is_told_of(tmp_path: Path) -> None:
    said: list[str] = []
    wish = Wish(a_book(tmp_path / "Larkmoor"), TODAY, True, 0, 0.015, tmp_path / "reports", said.append)
    running = threading.Thread(target=server.run, args=(wish,), daemon=True)
    running.start()
    deadline = time.monotonic() + 20
    while not (found := re.search(r"http://[^/]+:(\d+)/enter/", "\n".join(said))):
        assert time.monotonic() < deadline
        time.sleep(0.05)
    with httpx.Client(verify=False, base_url=f"http://127.0.0.1:{found[1]}", timeout=5) as stranger:
        while running.is_alive() and time.monotonic() < deadline:
            try:
                assert stranger.get("/").status_code == 403
            except httpx.TransportError:
                break
            time.sleep(0.1)
    running.join(10)
    assert not running.is_alive()
    assert "unencrypted" in "\n".join(said)
