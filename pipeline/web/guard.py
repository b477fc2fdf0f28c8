"""Who may come in: this machine, phones that were shown the one-time link, and forms that this page gave out."""

from __future__ import annotations

import hashlib
import hmac
import secrets
import time
from collections import deque
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from http.cookies import CookieError, SimpleCookie

MOST_BYTES = 64 * 1024
"""A form of all fields, each as long as it may be said in practice, is a few kB."""
_A_MINUTE_S = 60.0
_MOST_POSTS = 240  # a minute: four a second, far more than thumbs can do
_MOST_WRONG_LINKS = 10  # a minute from one address: a link is typed wrong once or twice, guessed only over and over
_MOST_ADDRESSES = 1000  # whose wrong links are counted: more than a home network has

HEADERS = {
    "Content-Security-Policy": (
        "default-src 'none'; style-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
    ),
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cache-Control": "no-store",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
}
"""Sent with every page: nothing from elsewhere, nothing that runs."""

REPORT_POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; frame-ancestors 'none'"
"""The report carries its own styles inside and runs nothing here."""


class Entered(StrEnum):
    """What came of a link: why somebody is not let in, told as it is."""

    IN = "in"
    USED = "This link was used already. The terminal shows the next one."
    WRONG = "This is not the link that the terminal shows. Scan the code there, or copy the whole line."
    TOO_MANY = (
        "Too many wrong links came from this address within a minute. The link that the terminal shows still works."
    )


@dataclass
class Guard:
    """Secrets and counters of one run of the server, which answers to ``names`` at ``port``."""

    names: frozenset[str]
    port: int
    link: str = field(default_factory=lambda: secrets.token_urlsafe(16))
    last_seen: float = field(default_factory=time.monotonic)
    _pass: str = field(default_factory=lambda: secrets.token_urlsafe(32))
    _secret: bytes = field(default_factory=lambda: secrets.token_bytes(32))
    _posts: deque[float] = field(default_factory=deque)
    _wrong: dict[str, deque[float]] = field(default_factory=dict)
    _used: list[str] = field(default_factory=list)

    @property
    def cookie(self) -> str:
        """The cookie's name: browsers share cookies between the ports of a computer, and each may serve a book."""
        return f"combtally_{self.port}"

    @property
    def passed(self) -> str:
        """The cookie's value."""
        return self._pass

    def enter(self, link: str, address: str) -> Entered:
        """Let in who has the right link, which then is used up, whatever others tried; wrong ones count by address."""
        if hmac.compare_digest(link.encode(), self.link.encode()):
            self._used.append(link)
            self.link = secrets.token_urlsafe(16)
            self.seen()
            return Entered.IN
        if link in self._used:
            return Entered.USED
        return Entered.TOO_MANY if self._guesses(address) else Entered.WRONG

    def _guesses(self, address: str) -> bool:
        """Note a wrong link; whether more of them came from the address than somebody mistypes."""
        if address not in self._wrong and len(self._wrong) >= _MOST_ADDRESSES:
            self._wrong.pop(next(iter(self._wrong)))
        times = self._wrong.setdefault(address, deque(maxlen=_MOST_WRONG_LINKS))
        too_many = self._too_many(times, _MOST_WRONG_LINKS)
        times.append(time.monotonic())
        return too_many

    def seen(self) -> None:
        """Somebody who was let in is at work: the quiet minutes begin anew."""
        self.last_seen = time.monotonic()

    def knows(self, cookie_header: str) -> bool:
        """Whether the cookie is one that this run gave out."""
        try:
            morsel = SimpleCookie(cookie_header).get(self.cookie)
        except CookieError:
            return False
        return morsel is not None and hmac.compare_digest(morsel.value.encode(), self._pass.encode())

    def host_known(self, host: str) -> bool:
        """Whether the request names this server, not a name that somebody pointed at it."""
        name, _, port = host.lower().partition(":")
        return name in self.names and port == str(self.port)

    def own_origin(self, headers: Mapping[str, str]) -> bool:
        """Whether a form was sent from a page of this server."""
        origin = headers.get("origin")
        if origin is not None:
            return origin.lower().startswith("http://") and self.host_known(origin.lower().removeprefix("http://"))
        return headers.get("sec-fetch-site") == "same-origin"

    def token(self, form: str) -> str:
        """What a form must carry to be taken: bound to this run and to the form's name."""
        return hmac.new(self._secret, form.encode(), hashlib.sha256).hexdigest()

    def fits(self, form: str, token: str) -> bool:
        """Whether a form carries its own token."""
        return hmac.compare_digest(self.token(form).encode(), token.encode())

    def busy(self) -> bool:
        """Whether more forms came within a minute than hands can send."""
        if self._too_many(self._posts, _MOST_POSTS):
            return True
        self._posts.append(time.monotonic())
        return False

    def _too_many(self, times: deque[float], most: int) -> bool:
        while times and times[0] < time.monotonic() - _A_MINUTE_S:
            times.popleft()
        return len(times) >= most
