"""Who may come in: this machine, phones that were shown the one-time link, and forms that this page gave out."""

from __future__ import annotations

import hashlib
import hmac
import secrets
import time
from collections import deque
from collections.abc import Mapping
from dataclasses import dataclass, field
from http.cookies import CookieError, SimpleCookie

COOKIE = "combtally"
MOST_BYTES = 64 * 1024
"""A form of all fields, each as long as it may be said in practice, is a few kB."""
_A_MINUTE_S = 60.0
_MOST_POSTS = 240  # a minute: four a second, far more than thumbs can do
_MOST_WRONG_LINKS = 10  # a minute: a link is typed wrong once or twice, guessed only over and over

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


@dataclass
class Guard:
    """Secrets and counters of one run of the server. ``hosts`` are the names it answers to, with port."""

    hosts: frozenset[str]
    link: str = field(default_factory=lambda: secrets.token_urlsafe(16))
    last_seen: float = field(default_factory=time.monotonic)
    _pass: str = field(default_factory=lambda: secrets.token_urlsafe(32))
    _secret: bytes = field(default_factory=lambda: secrets.token_bytes(32))
    _posts: deque[float] = field(default_factory=deque)
    _wrong: deque[float] = field(default_factory=deque)

    def enter(self, link: str) -> str | None:
        """The cookie's value for the right link, which then is used up; None for a wrong one."""
        if self._too_many(self._wrong, _MOST_WRONG_LINKS) or not hmac.compare_digest(link.encode(), self.link.encode()):
            self._wrong.append(time.monotonic())
            return None
        self.link = secrets.token_urlsafe(16)
        return self._pass

    def knows(self, cookie_header: str) -> bool:
        """Whether the cookie is one that this run gave out."""
        try:
            morsel = SimpleCookie(cookie_header).get(COOKIE)
        except CookieError:
            return False
        return morsel is not None and hmac.compare_digest(morsel.value.encode(), self._pass.encode())

    def host_known(self, host: str) -> bool:
        """Whether the request names this server, not a name that somebody pointed at it."""
        return host.lower() in self.hosts

    def own_origin(self, headers: Mapping[str, str]) -> bool:
        """Whether a form was sent from a page of this server."""
        origin = headers.get("origin")
        if origin is not None:
            return origin.lower().removeprefix("http://") in self.hosts and origin.lower().startswith("http://")
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
