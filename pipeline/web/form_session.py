"""What the pages do, without the web: which questions stand on a page, what a filled page comes to, saving once."""

from __future__ import annotations

import threading
from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace
from datetime import date
from itertools import groupby
from pathlib import Path

from pipeline.book.book_settings import ENDINGS, TOML
from pipeline.contract.columns import CellKind
from pipeline.contract.findings import MachineFault
from pipeline.contract.log_columns import LOGS
from pipeline.recording import (
    guided_questions,
    guided_terminal,
    offers,
    question_words,
    record_and_undo,
    running_balance,
)
from pipeline.recording.answers_so_far import Draft, Spot
from pipeline.recording.drafts import Drafts, Kept
from pipeline.recording.guided_questions import Question
from pipeline.recording.offers import Offers
from pipeline.web import weight_boxes
from pipeline.wording.amounts import Units
from pipeline.wording.question_hints import EMPTY

KINDS = ("session", "harvest", "block", "stocktake", "draw", "batch", "burn", "sale")
_MOST_LETTERS = 2000  # of one answer: a long note
_PAUSE_S = 0.5  # without a save before the offers are worked out anew, so that no save waits for them


@dataclass(frozen=True)
class FilledPage:
    """A filled page: the draft after it, or what has to be said first (faults by spot, doubts that may be kept).

    ``of_weights``: the doubts are about weights that do not add up.
    """

    kept: Kept
    faults: dict[Spot, str] = field(default_factory=dict)
    doubts: tuple[str, ...] = ()
    of_weights: bool = False


class Desk:
    """One book at one running server. Offers are worked out anew only after a log changed."""

    def __init__(self, folder: Path, today: date | None, reports: Path, ahead: bool = False) -> None:
        """``today`` None: the day that it is when a page is asked for; ``ahead``: new offers follow a save unasked."""
        self.folder, self.reports = folder, reports
        self.drafts = Drafts(folder)
        self._today = today
        self._saving, self._offering = threading.Lock(), threading.Lock()
        self._ahead = threading.Timer(0, self._look_ahead) if ahead else None
        self._known: tuple[object, Offers] | None = None
        self._judged: record_and_undo.Judged | None = None

    @property
    def today(self) -> date:
        """The date that a form offers."""
        return self._today or date.today()

    def offers(self) -> Offers:
        """What the forms offer, by the logs as they stand."""
        with self._offering:
            mark = (self.today, *self._marks())
            if self._known is None or self._known[0] != mark:
                self._known = (mark, offers.of(self.folder, self.today))
            return self._known[1]

    def _latest(self) -> Offers:
        """The offers that a form was filled in by: what it is saved by, without waiting for newer ones."""
        return self._known[1] if self._known else self.offers()

    def _marks(self) -> list[tuple[str, int, int]]:
        """Name, time and size of book.toml and of each file that may hold a log; an editor's lock file is none."""
        marks = []
        for name in (TOML, *(f"{log}{ending}" for log in LOGS for ending in ENDINGS)):
            with suppress(FileNotFoundError):
                told = (self.folder / name).stat()
                marks.append((name, told.st_mtime_ns, told.st_size))
        return marks

    def is_complete(self, kept: Kept) -> bool:
        """Whether nothing is left to be asked and the session, if it is one, is not open."""
        known = self._latest()
        asked = guided_questions.questions(kept.draft, known, self.today)
        return not kept.draft.is_open(known) and all(q.spot in kept.draft.answers for q in asked)

    def page(self, kept: Kept) -> list[Question]:
        """The questions that stand together on the next page: those of one row; none: there are no more."""
        known = self.offers()
        asked = guided_questions.questions(kept.draft, known, self.today)
        opened = (q for q in asked if q.spot not in kept.draft.answers)
        for _, together in groupby(opened, key=lambda q: q.spot[:2]):
            return [replace(q, offer=kept.draft.kept.get(q.spot, q.offer)) for q in together]
        return []

    def take(self, kept: Kept, posted: Mapping[str, str], keep: bool) -> FilledPage:
        """The page's answers; nothing of a faulty page enters the draft, but what was typed is kept beside it."""
        known, page = self.offers(), self.page(kept)
        texts = {q.spot: _text(q, posted, known) for q in page}
        filled = kept.draft
        for spot, text in texts.items():
            filled = filled.answered(spot, text) if text else filled
        asked = {q.spot: q for q in guided_questions.questions(filled, known, self.today)}
        faults = {
            q.spot: fault
            for q in page
            if (text := texts[q.spot]) or q.spot in asked
            if (fault := guided_terminal.wrong(asked.get(q.spot, q), text, known))
        }
        typed = typed_on(page, posted)
        if faults:
            return FilledPage(replace(kept, typed=typed), faults)
        after = kept.with_page(self._answers(kept, page, texts))
        doubts = {
            spot: found for spot in texts if (found := running_balance.doubts(after.draft, known, spot, self.today))
        }
        if doubts and not keep:
            told = tuple(dict.fromkeys(doubt for found in doubts.values() for doubt in found))
            of_weights = all(LOGS[log].column(name).kind is CellKind.MASS for log, _, name in doubts)
            return FilledPage(replace(kept, typed=typed), doubts=told, of_weights=of_weights)
        self.drafts.keep(after)
        return FilledPage(after)

    def _answers(self, kept: Kept, page: list[Question], texts: Mapping[Spot, str]) -> dict[Spot, str]:
        """The page's answers as the draft keeps them: a lot by its name, and its part."""
        draft = kept.draft
        for question in page:
            draft = guided_questions.taken(draft, question, texts[question.spot], self.offers())
        return {spot: text for spot, text in draft.answers.items() if spot not in kept.draft.answers}

    def foreseen(self, kept: Kept) -> record_and_undo.Outcome:
        """What saving a complete draft would find and do."""
        self._judged = record_and_undo.foreseen(self.folder, kept.draft.rows(self._latest()), self.today)
        return self._judged.outcome

    def holds_something(self, kept: Kept, posted: Mapping[str, str]) -> bool:
        """Whether anything was typed into an entry, on earlier pages or on the one that was sent."""
        if kept.draft.answers:
            return True
        page = self.page(kept)
        return any(_text(q, posted, self.offers()) not in ("", q.offer) for q in page)

    def save(self, name: str, yes: bool = False) -> tuple[Kept | None, record_and_undo.Outcome | None]:
        """Write a complete draft into the logs, once: sent again, it only says again where the rows are."""
        with self._saving:
            kept = self.drafts.find(name)
            if kept is None or kept.saved:
                return kept, None
            rows = kept.draft.rows(self._latest())
            what = f"{kept.draft.kind} from the form: {_in_words(kept.draft, Units.of(self._latest().book))}"
            outcome = record_and_undo.record(
                self.folder, rows, what, self.today, token=kept.name, yes=yes, judged=self._judged
            )
            if not (outcome.refused or outcome.asks):
                places = ", ".join(f"{LOGS[w.log].file} line {w.line}" for w in outcome.written)
                kept = replace(kept, saved=places or "before, in an earlier try")
                self.drafts.keep(kept)
                self._soon()
            return kept, outcome

    def _soon(self) -> None:
        """After a pause without another save, work out the next offers."""
        if self._ahead:
            self._ahead.cancel()
            self._ahead = threading.Timer(_PAUSE_S, self._look_ahead)
            self._ahead.daemon = True
            self._ahead.start()

    def _look_ahead(self) -> None:
        """The next page's offers, worked out while the hand is still at the scale."""
        with suppress(MachineFault):  # the page that asks for them will say so
            self.offers()

    def report(self) -> Path | None:
        """The latest report of this book; None where none was made."""
        path = self.reports / f"{self.folder.resolve().name}.html"
        return path if path.is_file() else None


def field_name(spot: Spot) -> str:
    """The name of a question's field in a form."""
    return f"{spot[0]}.{spot[1]}.{spot[2]}"


def typed_on(page: Sequence[Question], posted: Mapping[str, str]) -> dict[str, str]:
    """What was sent for the fields of a page."""
    names = tuple(field_name(q.spot) for q in page)
    return {k: text[:_MOST_LETTERS] for k, text in posted.items() if k in names or k.rpartition(".")[0] in names}


def _text(question: Question, posted: Mapping[str, str], offers: Offers) -> str:
    """What was typed, else what was chosen; a dash alone leaves a field empty, as at the keyboard."""
    name, column = field_name(question.spot), question.column
    if column is not None and column.kind is CellKind.MASS:
        text = weight_boxes.as_answer(weight_boxes.as_typed(name, posted), column, offers)
    else:
        text = posted.get(f"{name}.typed", "").strip() or posted.get(name, "").strip()
    return "" if text == EMPTY else text[:_MOST_LETTERS]


def _in_words(draft: Draft, units: Units) -> str:
    """An entry in a few words, by which it is known again before it is taken back."""
    if draft.kind == "session":
        return guided_terminal.described(draft).removeprefix("session ")
    return question_words.in_words(draft.answers.values(), units)
