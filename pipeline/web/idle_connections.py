"""Connections that ask for nothing make room: nobody in the network can hold the door shut by standing in it."""

from __future__ import annotations

from asyncio import Transport
from collections import Counter

from uvicorn.protocols.http.h11_impl import H11Protocol

ASK_WITHIN_S = 5.0
"""A browser sends its request at once; common practice for a header's time, no source."""
_MOST_OF_ONE_ADDRESS = 16  # a browser opens some six at a time (RFC 9112, 9.4 names no number)
_MOST = 256


class Connection(H11Protocol):
    """A connection that is closed when it asks for nothing in time, and the first to go when others want in."""

    _opened_s = 0.0
    _seen: object = None

    def connection_made(self, transport: Transport) -> None:  # type: ignore[override]
        """Somebody stands at the door; those who stood there longest without asking make room."""
        super().connection_made(transport)
        self._opened_s = self.loop.time()
        self._make_room()
        self.loop.call_later(ASK_WITHIN_S, self._close_if_still_idle)

    @property
    def _address(self) -> str:
        return self.client[0] if self.client else ""

    @property
    def _is_idle(self) -> bool:
        """Whether no request is being answered: none came, or the answer to the last is complete."""
        return self.cycle is None or self.cycle.response_complete

    def _make_room(self) -> None:
        held = [c for c in self.connections if isinstance(c, Connection) and not c.transport.is_closing()]
        counts = Counter(c._address for c in held)
        crowded = self._address if counts[self._address] > _MOST_OF_ONE_ADDRESS else ""
        if len(held) > _MOST:
            crowded = crowded or counts.most_common(1)[0][0]
        if not crowded:
            return
        idle = [c for c in held if c is not self and c._is_idle and c._address == crowded]
        first_to_go = min(idle, key=lambda c: (c.cycle is not None, c._opened_s), default=self)
        first_to_go.transport.close()

    def _close_if_still_idle(self) -> None:
        """Close it where nothing was asked since the last look; a header sent letter by letter is no request."""
        if self.transport.is_closing():
            return
        if self._is_idle and self.cycle is self._seen:
            self.transport.close()
            return
        self._seen = self.cycle
        self.loop.call_later(ASK_WITHIN_S, self._close_if_still_idle)
