"""The command that takes old records over: import."""

from __future__ import annotations

import sys
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from pipeline.cli import exit_codes, running, terminal_output
from pipeline.cli.options import BookFolder, Json, Today

if TYPE_CHECKING:
    from pipeline.book.book_settings import Book
    from pipeline.contract.findings import Finding
    from pipeline.old_records.prepared_import import Prepared
    from pipeline.old_records.proposal_and_questions import OpenQuestion
    from pipeline.recording.record_and_undo import Judged, Outcome

File = Annotated[Path, typer.Argument(metavar="FILE", help="Your own records: CSV, XLSX or ODS.")]
Map = Annotated[Path | None, typer.Option("--map", metavar="FILE", help="Saved answers (TOML) to go by.")]
Yes = Annotated[bool, typer.Option("--yes", help="Write what is proposed; what is open is still asked.")]


def add_to(app: typer.Typer) -> None:
    """Register this family's commands."""
    app.command("import")(import_)


def import_(
    book: BookFolder, file: File, map_file: Map = None, yes: Yes = False, as_json: Json = False, today: Today = None
) -> None:
    """Take over records kept in your own columns. Proposes, asks, shows, then writes them as one entry."""
    dialogue = _Dialogue(book, file, today or date.today())
    prepared = dialogue.prepared(map_file)
    judged = dialogue.judged(prepared)
    findings = list(judged.outcome.findings) if judged else []
    terminal_output.say(dialogue.shown(prepared, findings), err=True)
    if prepared.proposal.questions:
        _end(prepared, findings, None, as_json, exit_codes.WRONG_USE)
    if not (yes or map_file or dialogue.agreed()):
        _end(prepared, findings, None, as_json, exit_codes.WRONG_USE)
    outcome = dialogue.write(prepared, judged) if judged else None
    refused = outcome.refused if outcome else False
    _end(prepared, findings, outcome, as_json, exit_codes.BOOK_HAS_ERRORS if refused else exit_codes.DONE)


class _Dialogue:
    """One sheet taken over, its questions asked where somebody sits at the terminal."""

    def __init__(self, folder: Path, file: Path, today: date) -> None:
        from pipeline import flow
        from pipeline.answers.names_in_use import names_in_use
        from pipeline.wording.amounts import Units

        loaded = flow.opened(running.folder(folder), today)
        self.book: Book = loaded.book
        self.units, self.file, self.used = Units.of(loaded.book), file, names_in_use(loaded)
        self.today, self.asks = today, sys.stdin.isatty()

    def prepared(self, map_file: Path | None) -> Prepared:
        """The sheet, with every question answered that can be."""
        from pipeline.old_records import prepared_import, saved_answers
        from pipeline.old_records.proposed_rows import InTheBook
        from pipeline.recording import written_import

        answers = saved_answers.load(map_file) if map_file else written_import.saved(self.book, self.file)
        answers = dict(_usable(answers))
        there = InTheBook(self.book, self.used, frozenset(written_import.marks_known(self.book.folder)))
        while True:
            prepared: Prepared = _usable(prepared_import.prepare(self.file, answers, there))
            if not (self.asks and prepared.proposal.questions):
                return prepared
            question = prepared.proposal.questions[0]
            answers[question.key] = _answer(question, prepared)

    def judged(self, prepared: Prepared) -> Judged | None:
        """What the rows would break; None where there is nothing new, or questions are open and not all rows there yet."""
        from pipeline.recording import written_import

        if prepared.proposal.questions or not prepared.rows:
            return None
        return written_import.foreseen(self.book, prepared, self.today)

    def shown(self, prepared: Prepared, findings: list[Finding]) -> str:
        """What the terminal shows before anything is written."""
        from pipeline.wording import import_sentences as say

        parts = [say.proposal(prepared), *map(say.asked, prepared.proposal.questions)]
        return "\n".join(parts if prepared.proposal.questions else [*parts, say.rows(prepared, findings, self.units)])

    def agreed(self) -> bool:
        """Whether somebody at the terminal says yes."""
        from pipeline.cli import guided_prompts

        return self.asks and guided_prompts.agreed("Write these rows?", "yes")

    def write(self, prepared: Prepared, judged: Judged) -> Outcome:
        """Write them as they were shown."""
        from pipeline.recording import written_import

        return written_import.write(self.book, prepared, judged, self.today)


def _usable(value: Any) -> Any:
    """What was read; wrong use, in a sentence, where it could not be."""
    from pipeline.contract.quantities import Refusal

    if isinstance(value, Refusal):
        running.stop(value.sentence(), exit_codes.WRONG_USE)
    return value


def _answer(question: OpenQuestion, prepared: Prepared) -> str:
    """An answer that fits, asked for until it comes."""
    from pipeline.cli import guided_prompts
    from pipeline.wording import import_sentences as say

    guided_prompts.say(say.proposal(prepared))
    while True:
        said = guided_prompts.ask(f"{say.asked(question)} ").strip()
        fits = [c for c in question.choices if said and c.lower().startswith(said.lower())]
        if said and (not question.choices or len(fits) == 1 or said in fits):
            return said if not fits or said in fits else fits[0]


def _mapping(prepared: Prepared) -> list[dict[str, str | None]]:
    placed = ((c, *prepared.proposal.place(c)) for c in prepared.proposal.columns)
    return [{"column": c.heading, "log": log, "field": field, "unit": c.unit} for c, log, field in placed]


def _end(prepared: Prepared, findings: list[Finding], outcome: Outcome | None, as_json: bool, code: int) -> None:
    """The document, or a sentence; then the exit code."""
    written = outcome.written if outcome else ()
    data = {
        "mapping": _mapping(prepared),
        "rows": {log: len(rows) for log, rows in prepared.rows.items()},
        "written": written,
        "skipped": prepared.taken.skipped,
        "problems": [f.as_dict() for f in (outcome.findings if outcome and outcome.refused else findings)],
        "questions": [{"key": q.key, "about": q.about, "choices": q.choices} for q in prepared.proposal.questions],
    }
    running.emit(data, as_json, lambda: f"{len(written)} rows written" if written else "nothing written")
    if code:
        sys.exit(code)
