"""The routes: who is let in, which page a request gets, what a sent form does."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from urllib.parse import parse_qsl

from starlette.applications import Starlette
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.routing import Route

from pipeline.book.book_toml import read_book
from pipeline.contract.findings import MachineFault, Severity
from pipeline.recording import drafts, guided_terminal, history, question_words, record_and_undo, running_balance
from pipeline.recording.drafts import Kept
from pipeline.recording.offers import NO_COMB
from pipeline.web import guard, pages
from pipeline.web.form_session import KINDS, Desk, FilledPage, typed_on
from pipeline.web.guard import Entered, Guard
from pipeline.wording.amounts import Units
from pipeline.wording.cautions import MELTING, cautions

Posted = dict[str, str]
_MOST_FIELDS = 400  # a form has some twenty fields; a body of more is none of ours
_OTHER_NAME = "This page is not served under that name."


class App:
    """The pages of one desk behind one guard. ``entered`` is told when the one-time link was used."""

    def __init__(self, desk: Desk, watch: Guard, entered: Callable[[], None]) -> None:
        """Nothing is read or written before the first request."""
        self._desk, self._guard, self._entered = desk, watch, entered

    def asgi(self) -> Starlette:
        """The application to serve."""
        return Starlette(
            routes=[
                Route("/style.css", self._style),
                Route("/enter/{link}", self._enter),
                Route("/{path:path}", self._any, methods=["GET", "POST"]),
            ]
        )

    async def _style(self, _request: Request) -> Response:
        return Response(pages.style(), media_type="text/css", headers=guard.HEADERS)

    async def _enter(self, request: Request) -> Response:
        watch = self._guard
        if not watch.host_known(request.headers.get("host", "")):
            return _turned_away(421, _OTHER_NAME)
        if request.method == "HEAD":  # a look at whether the page is there, as programs take; the link stays good
            return Response(headers=guard.HEADERS)
        came = watch.enter(request.path_params["link"], request.client.host if request.client else "")
        if came is not Entered.IN:
            return _turned_away(429 if came is Entered.TOO_MANY else 403, str(came))
        self._entered()
        answer = RedirectResponse("/", 303, headers=guard.HEADERS)
        answer.set_cookie(watch.cookie, watch.passed, httponly=True, samesite="lax")
        return answer

    async def _any(self, request: Request) -> Response:
        refused = self._stopped(request)
        if refused is not None:
            return refused
        parts = request.path_params["path"].split("/")
        try:
            if request.method in ("GET", "HEAD"):
                return await run_in_threadpool(self._shown, parts)
            posted = await _form(request)
            if isinstance(posted, str):
                return self._refused(413, posted)
            return await run_in_threadpool(self._sent, parts, posted)
        except MachineFault as fault:
            return self._refused(507, str(fault))

    def _stopped(self, request: Request) -> Response | None:
        """Why a request gets no further than the door; None where it may."""
        watch = self._guard
        if not watch.host_known(request.headers.get("host", "")):
            return _turned_away(421, _OTHER_NAME)
        if not watch.knows(request.headers.get("cookie", "")):
            return _turned_away(403, "Open the link that the terminal shows first.")
        watch.seen()
        if request.method == "POST":
            if not watch.own_origin(request.headers):
                return self._refused(403, "That form was not sent from here.")
            if watch.busy():
                return self._refused(429, "Too many forms in one minute; wait a little.")
        return None

    def _shown(self, parts: list[str]) -> Response:
        if parts == [""]:
            return self._home("")
        if parts == ["report"]:
            return self._report()
        if parts == ["undo"]:
            return self._undo_asked()
        if len(parts) == 2 and parts[0] == "entry":
            kept = self._desk.drafts.find(parts[1])
            return self._missing() if kept is None else self._entry(FilledPage(kept))
        return self._missing()

    def _sent(self, parts: list[str], posted: Posted) -> Response:
        name = parts[1] if len(parts) > 1 and parts[0] == "entry" else "start"
        if not self._guard.fits(name, posted.get("token", "")):
            return self._refused(403, "That form is from an earlier run of this page; go back to all forms.")
        if parts == ["undo"]:
            return self._undo(posted.get("entry", ""))
        if parts == ["start"]:
            return self._start(posted.get("kind", ""))
        kept = self._desk.drafts.find(name)
        if kept is None or len(parts) not in (2, 3):
            return self._missing()
        act = {"": self._take, "back": self._back, "on": self._on, "save": self._save, "drop": self._drop}
        step = act.get(parts[2] if len(parts) == 3 else "")
        return self._missing() if step is None else step(kept, posted)

    def _start(self, kind: str) -> Response:
        if kind not in KINDS:
            return self._refused(404, "There is no such form.")
        if kind == "session" and not self._desk.offers().sources:
            return self._home(NO_COMB)
        return RedirectResponse(f"/entry/{self._desk.drafts.new(kind).name}", 303, headers=guard.HEADERS)

    def _take(self, kept: Kept, posted: Posted) -> Response:
        if posted.get("page") != str(len(kept.pages)):
            return self._entry(FilledPage(kept), "That form was sent before; this is where the entry stands.", 409)
        taken = self._desk.take(kept, posted, posted.get("keep") == "yes")
        if taken.faults or taken.doubts:
            return self._entry(taken, status=422)
        return self._to(kept)

    def _back(self, kept: Kept, _posted: Posted) -> Response:
        if not kept.saved:
            self._desk.drafts.keep(kept.back())
        return self._to(kept)

    def _on(self, kept: Kept, _posted: Posted) -> Response:
        """Go on with a session that was left open."""
        if not kept.saved:
            self._desk.drafts.keep(drafts.begun(kept.draft.reopened(), kept.name))
        return self._to(kept)

    def _drop(self, kept: Kept, posted: Posted) -> Response:
        """Forget an entry; one in which anything was typed only when that is what is meant."""
        desk = self._desk
        if not kept.saved and posted.get("sure") != "yes" and desk.holds_something(kept, posted):
            kept = replace(kept, typed=typed_on(desk.page(kept), posted) or kept.typed)
            desk.drafts.keep(kept)
            known = desk.offers()
            units = Units.of(known.book)
            typed = [question_words.day_as_typed(text, units) for text in kept.typed.values() if text]
            lines = [
                *question_words.summary(kept.draft.rows(known), units),
                *([", ".join(typed)] if typed else []),
            ]
            return self._page(
                "discard", "Discard this?", lines=lines, name=kept.name, token=self._guard.token(kept.name)
            )
        self._desk.drafts.drop(kept.name)
        return RedirectResponse("/", 303, headers=guard.HEADERS)

    def _save(self, kept: Kept, posted: Posted) -> Response:
        if not kept.saved and not self._desk.is_complete(kept):
            return self._to(kept)
        _, outcome = self._desk.save(kept.name, posted.get("anyway") == "yes")
        if outcome is not None and (outcome.refused or outcome.asks):
            return self._review(kept, 422, outcome)
        return self._to(kept)

    def _undo_asked(self) -> Response:
        """The entry that would be taken back, by name and time, and whether that is meant."""
        last = history.last(self._desk.folder)
        units = Units.of(read_book(self._desk.folder)[0])
        when = question_words.moment(last.when, units) if last else ""
        return self._page("undo", "Take back?", last=last, when=when, token=self._guard.token("start"))

    def _undo(self, mark: str) -> Response:
        """Take back the entry that was asked about and no other: a page sent twice takes nothing more back."""
        undone = record_and_undo.undo(self._desk.folder, mark) if mark else None
        if undone is None:
            return self._home("Nothing was taken back: that entry is not the last one any more.")
        if isinstance(undone, list):
            return self._home(f"{' and '.join(undone)} changed since; nothing was taken back.")
        return self._home(f"Taken back: {undone}.")

    def _home(self, notice: str) -> Response:
        desk = self._desk
        begun = [(k.name, pages.NAMES[k.draft.kind], guided_terminal.described(k.draft)) for k in desk.drafts.open()]
        token = self._guard.token("start")
        return self._page("home", "Record", notice=notice, kinds=KINDS, begun=begun, report=desk.report(), token=token)

    def _entry(self, taken: FilledPage, notice: str = "", status: int = 200) -> Response:
        kept, desk = taken.kept, self._desk
        if kept.saved:
            return self._saved(kept)
        page = desk.page(kept)
        if not page:
            return self._review(kept, status)
        faults = [(pages.field_id(q), f"{q.label}: {taken.faults[q.spot]}") for q in page if q.spot in taken.faults]
        return self._page(
            "entry",
            pages.NAMES[kept.draft.kind],
            status,
            notice=notice,
            faults=faults,
            doubts=taken.doubts,
            of_weights=taken.of_weights,
            fields=[pages.field(q, kept.typed, taken.faults, desk.offers().book) for q in page],
            cautions=cautions(MELTING, Units.of(desk.offers().book))
            if kept.draft.kind == "session" and len(kept.pages) < 2
            else (),
            balance=running_balance.told(kept.draft, desk.offers()),
            number=len(kept.pages),
            name=kept.name,
            token=self._guard.token(kept.name),
        )

    def _review(self, kept: Kept, status: int = 200, outcome: record_and_undo.Outcome | None = None) -> Response:
        """The whole entry before it is saved, with what saving it would do (``outcome``: what a try to save it found)."""
        known = self._desk.offers()
        is_open = kept.draft.is_open(known)
        would = outcome or (record_and_undo.Outcome() if is_open else self._desk.foreseen(kept))
        notes = [f.sentence() for f in would.findings if f.severity is Severity.NOTE]
        return self._page(
            "open" if is_open else "review",
            "Left open" if is_open else "Is this right?",
            status,
            faults=[("", f.sentence()) for f in would.findings if f.severity is not Severity.NOTE],
            effects=[*would.said, *notes],
            may_save=not would.refused,
            anyway=would.asks,
            lines=question_words.summary(kept.draft.rows(known), Units.of(known.book)),
            balance=running_balance.told(kept.draft, known),
            number=len(kept.pages),
            name=kept.name,
            token=self._guard.token(kept.name),
        )

    def _saved(self, kept: Kept) -> Response:
        token, report = self._guard.token("start"), self._desk.report()
        return self._page("saved", "Saved", start_token=token, saved=kept.saved, kind=kept.draft.kind, report=report)

    def _report(self) -> Response:
        path = self._desk.report()
        if path is None:
            return self._refused(404, "No report was made yet; a build at the computer makes one.")
        headers = guard.HEADERS | {"Content-Security-Policy": guard.REPORT_POLICY}
        return Response(path.read_bytes(), media_type="text/html", headers=headers)

    def _to(self, kept: Kept) -> Response:
        return RedirectResponse(f"/entry/{kept.name}", 303, headers=guard.HEADERS)

    def _missing(self) -> Response:
        return self._refused(404, "There is no such page here.")

    def _refused(self, status: int, sentence: str) -> Response:
        return self._page("refused", "Not done", status, notice=sentence)

    def _page(self, view: str, title: str, status: int = 200, **more: object) -> Response:
        text = pages.page(view, title, self._desk.folder.resolve().name, **more)
        return HTMLResponse(text, status, headers=guard.HEADERS)


def _turned_away(status: int, sentence: str) -> Response:
    """A page for somebody who was not let in: it does not say whose book this is."""
    return HTMLResponse(pages.page("refused", "Not done", "", notice=sentence), status, headers=guard.HEADERS)


async def _form(request: Request) -> Posted | str:
    """The sent fields, or why they are not taken; never more than a form can hold is read."""
    body = b""
    async for chunk in request.stream():
        body += chunk
        if len(body) > guard.MOST_BYTES:
            return "That is more than a form can hold."
    if body and not request.headers.get("content-type", "").startswith("application/x-www-form-urlencoded"):
        return "Only forms are taken here."
    try:
        fields = parse_qsl(body.decode("utf-8", "replace"), keep_blank_values=True, max_num_fields=_MOST_FIELDS)
    except ValueError:
        return "That form has too many fields."
    return {name: text.replace("\0", "") for name, text in fields}
