"""Running the server: address, one-time link, idle stop."""

from __future__ import annotations

import socket
import threading
import time

import uvicorn

from pipeline.contract.findings import MachineFault
from pipeline.web import Wish
from pipeline.web.form_session import Desk
from pipeline.web.guard import Guard
from pipeline.web.idle_connections import Connection
from pipeline.web.qr_code import qr_code
from pipeline.web.routes import App

_LOOK_S = 0.5
_NETWORK = (
    "everybody in this network who sees the code can record. Pages travel unencrypted: whoever listens in this network "
    "can read them, so use --lan at home, not at a market or a cafe; Ctrl-C stops"
)


def run(wish: Wish) -> None:
    """Serve until stopped or idle; Ctrl-C ends it. Raises MachineFault where the port is taken."""
    listener = listening("0.0.0.0" if wish.lan else "127.0.0.1", wish.port)
    port = listener.getsockname()[1]
    address = _home_address() if wish.lan else "127.0.0.1"
    watch = Guard(frozenset({address, "127.0.0.1", "localhost"}), port)

    def announce() -> None:
        link, on = f"http://{address}:{port}/enter/{watch.link}", "phone" if wish.lan else "computer"
        wish.say(f"open this once on the {on} (the next link follows when it was used): {link}")
        if wish.lan:
            wish.say(qr_code(link))

    server = serving(App(Desk(wish.folder, wish.today, wish.reports, ahead=True), watch, announce))
    threading.Thread(target=_stop_when_idle, args=(server, watch, wish.idle_min), daemon=True).start()
    if wish.lan:
        wish.say(_NETWORK)
    announce()
    server.run(sockets=[listener])


def serving(app: App) -> uvicorn.Server:
    """The server of these pages, not yet running."""
    config = uvicorn.Config(
        app.asgi(), http=Connection, ws="none", log_level="critical", access_log=False, lifespan="off",
        server_header=False, timeout_keep_alive=5, h11_max_incomplete_event_size=16 * 1024,
    )  # fmt: skip
    return uvicorn.Server(config)


def _stop_when_idle(server: uvicorn.Server, watch: Guard, idle_min: float) -> None:
    while time.monotonic() - watch.last_seen < idle_min * 60:
        time.sleep(_LOOK_S)
    server.should_exit = True


def listening(host: str, port: int) -> socket.socket:
    """A socket to serve from. Raises MachineFault where the port is taken.

    Its protocol is named because only then asyncio sends a small answer at once; else each page waits 40 ms.
    """
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((host, port))
        listener.listen(128)
    except OSError as fault:
        listener.close()
        raise MachineFault(f"port {port} cannot be used ({fault.strerror}); give another with --port") from fault
    return listener


def _home_address() -> str:
    """The address of this machine in the home network: the one that a packet outwards would leave by."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # an address kept for documentation (RFC 5737); nothing is sent
        except OSError:
            return "127.0.0.1"
        return str(probe.getsockname()[0])
