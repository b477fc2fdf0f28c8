"""The guided run on a terminal: one question at a time, one step back with ``<``, nothing written before it was seen."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import date
from fractions import Fraction
from pathlib import Path
from typing import TypeVar

from pipeline.contract.columns import CellKind
from pipeline.contract.quantities import Refusal
from pipeline.recording import guided_questions, offers, question_words, record_and_undo, running_balance
from pipeline.recording.answers_so_far import NO, YES, Draft, agreed, yes_or_no
from pipeline.recording.drafts import Drafts, Kept, begun
from pipeline.recording.guided_questions import Question
from pipeline.recording.offers import Offers
from pipeline.wording.amounts import Units
from pipeline.wording.cautions import MELTING, cautions
from pipeline.wording.command_lines import command_line
from pipeline.wording.question_hints import EMPTY, for_keys

T = TypeVar("T")
Say = Callable[[str], None]
Ask = Callable[[str], str]
BACK = "<"


def run(folder: Path, kind: str, today: date, ask: Ask, say: Say) -> record_and_undo.Outcome | None:
    """Ask, show, save, and offer another; None where nothing was saved. Ctrl-C leaves the book as it is.

    ``ask`` shows a prompt and gives the line typed, or raises EOFError; ``say`` shows lines.
    """
    try:
        say(
            f"Enter takes what stands in [ ], {BACK} goes one step back, {EMPTY} leaves empty, Ctrl-C stops without writing."
        )
        return _runs(folder, kind, today, ask, say)
    except (KeyboardInterrupt, EOFError):
        say("\nstopped; nothing of this entry was written")
        return None


def _runs(folder: Path, kind: str, today: date, ask: Ask, say: Say) -> record_and_undo.Outcome | None:
    outcome, drafts, known = None, Drafts(folder), offers.of(folder, today)
    if kind == "session":
        say("\n".join(f"  ! {caution}" for caution in cautions(MELTING, Units.of(known.book))))
    if kind == "session" and not known.sources:
        say(offers.NO_COMB)
        if agreed("Record a harvest now?", YES, ask, say):
            outcome, known = _runs(folder, "harvest", today, ask, say), offers.of(folder, today)
    while True:
        kept = _begun(drafts, kind, ask, say)
        draft = answered(kept.draft, known, today, ask, say)
        outcome = _ended(drafts, replace(kept, draft=draft), known, today, ask, say) or outcome
        if outcome is None or not agreed(f"Record another {kind}?", NO, ask, say):
            return outcome
        known = offers.of(folder, today)


def _begun(drafts: Drafts, kind: str, ask: Ask, say: Say) -> Kept:
    """An entry that was begun and not finished, where one is wanted; else a new one, kept nowhere yet."""
    opened = [kept for kept in drafts.open() if kept.draft.kind == kind]
    if not opened:
        return begun(Draft(kind))
    say("begun and not finished:")
    for n, kept in enumerate(opened, 1):
        say(f"  {n}  {described(kept.draft)}")
    while True:
        answer = ask("go on with which? a number, or new [1]: ").strip().lower() or "1"
        if answer in ("new", "n"):
            return begun(Draft(kind))
        if wanted := _numbered(answer, opened):
            return replace(wanted, draft=wanted.draft.reopened())


def described(draft: Draft) -> str:
    """A draft in a few words: its name, and for a session what was loaded and how far it is."""
    first = next(filter(None, draft.answers.values()), "nothing yet")
    if draft.kind != "session":
        return first
    sources = [text for spot, text in draft.answers.items() if spot[0] == "loads" and spot[2] == "source" and text]
    loaded = f", loaded {', '.join(sources)}" if sources else ""
    passes = {0: "not taken off yet", 1: "1 pass"}.get(draft.last_pass, f"{draft.last_pass} passes")
    return f"session {first}{loaded}; {passes}"


def answered(draft: Draft, known: Offers, today: date, ask: Ask, say: Say) -> Draft:
    """The draft with every question answered."""
    while (question := guided_questions.next_question(draft, known, today)) is not None:
        draft = _step(draft, question, known, today, ask, say)
    return draft


def _step(  # noqa: PLR0913, PLR0917 - a question, what is known when it is asked, and how
    draft: Draft, question: Question, known: Offers, today: date, ask: Ask, say: Say
) -> Draft:
    _offered(question, say)
    typed = ask(_prompt(question, known)).strip()
    while (after := _answer(draft, question, typed, known, say)) not in (None, draft.back()):
        doubts = running_balance.doubts(after, known, question.spot, today)
        if not doubts:
            break
        say("\n".join(f"  ? {doubt}" for doubt in doubts))
        typed = ask("  keep it? yes, or what it should be [ask again] ").strip()
        said = yes_or_no(typed) if not typed.isdecimal() else None  # 1 is a weight here
        if said == YES:
            break
        if said == NO or not typed:
            return draft
    if after is None:
        return draft
    if question.spot[2] == "residue":
        say("\n".join(f"  = {line}" for line in running_balance.told(after, known)[-1:]))
    return after


def _answer(draft: Draft, question: Question, typed: str, known: Offers, say: Say) -> Draft | None:
    """The draft with what was typed taken in, or one step back; None, and the reason said, where it cannot be taken."""
    if typed == BACK:
        return draft.back()
    text = _picked(question, "" if typed == EMPTY else typed or question.offer)
    fault = wrong(question, text, known)
    if fault:
        say(f"  {fault}")
        return None
    _shown_back(question, text, known, say)
    return guided_questions.taken(draft, question, text, known)


def _offered(question: Question, say: Say) -> None:
    if question.spot[0] == "loads" and question.spot[1] > 1:
        return  # the lots stand a few lines above
    for n, choice in enumerate(question.choices, 1):
        if question.column is not None:
            say(f"    {n}  {choice}")


def _prompt(question: Question, known: Offers) -> str:
    unit = f" ({question.unit})" if question.unit else ""
    hint = f" – {told}" if (told := for_keys(question.hint, bool(question.offer))) else ""
    offered = question_words.day_as_typed(question.offer, Units.of(known.book))
    offer = f" [{offered}]" if offered else ""
    return f"{question.label}{unit}{hint}{offer}: "


def _picked(question: Question, text: str) -> str:
    """A number typed for a choice as the choice."""
    return (_numbered(text, question.choices) if question.column else None) or text


def _numbered(text: str, things: Sequence[T]) -> T | None:
    """Of several things the one whose number was typed, 1 for the first; None where it is no such number."""
    return things[int(text) - 1] if text in map(str, range(1, len(things) + 1)) else None


def wrong(question: Question, text: str, known: Offers) -> str | None:
    """Why an answer cannot be taken, as a sentence; None where it can."""
    if not text:
        return "this cannot be left empty" if question.required else None
    if question.column is None or guided_questions.is_yes_no(question):
        return None if yes_or_no(text) else "answer yes or no"
    value = guided_questions.value_of(known, question.column, guided_questions.bare(question, text))
    return value.sentence() if isinstance(value, Refusal) else None


def _shown_back(question: Question, text: str, known: Offers, say: Say) -> None:
    """A weight in the book's unit, where it was typed in another."""
    if question.column is not None and question.column.kind is CellKind.MASS and text:
        value = guided_questions.value_of(known, question.column, text)
        told = known.mass(float(value)) if isinstance(value, Fraction) else ""
        if told and not told.startswith(text):
            say(f"  = {told}")


def _ended(  # noqa: PLR0913, PLR0917 - everything that answering needs, and where to keep
    drafts: Drafts, kept: Kept, known: Offers, today: date, ask: Ask, say: Say
) -> record_and_undo.Outcome | None:
    """Show the whole entry and save it when told to; faults are said, and the last step is asked again."""
    draft, units = kept.draft, Units.of(known.book)
    while True:
        rows = draft.rows(known)
        say(
            "\n".join(
                [
                    "",
                    *question_words.summary(rows, units),
                    *(f"  = {line}" for line in running_balance.told(draft, known)),
                ]
            )
        )
        if draft.is_open(known):
            _left_open(drafts, begun(draft, kept.name), say)
            return None
        judged = record_and_undo.foreseen(drafts.book, rows, today)
        would = judged.outcome
        for sentence in would.said:
            say(f"  = {sentence}")
        for fault in would.findings:
            say(f"  {fault.severity}: {fault.sentence()}")
        usual = "later" if would.refused else "yes"
        answer = ask(f"save? yes, no, later, or {BACK} to go back [{usual}] ").strip().lower() or usual
        if answer == BACK:
            draft = answered(draft.back(), known, today, ask, say)
        elif answer == "later":
            _left_open(drafts, begun(draft, kept.name), say)
            return None
        elif yes_or_no(answer) == YES:
            named = (
                described(draft) if draft.kind == "session" else question_words.in_words(draft.answers.values(), units)
            )
            what = f"{draft.kind} {named}".removeprefix("session ")
            outcome = record_and_undo.record(drafts.book, rows, what, today, token=kept.name, yes=True, judged=judged)
            return _kept(drafts, kept.name, outcome, say)
        elif yes_or_no(answer) == NO:
            drafts.drop(kept.name)
            say("dropped; nothing was written")
            return None


def _left_open(drafts: Drafts, kept: Kept, say: Say) -> None:
    drafts.keep(kept)
    say(f"{described(kept.draft)}: left open. The logs hold nothing of it yet; record asks for the rest next time.")


def _kept(drafts: Drafts, name: str, outcome: record_and_undo.Outcome, say: Say) -> record_and_undo.Outcome | None:
    if outcome.refused:
        say("not saved: " + "; ".join(f.sentence() for f in outcome.findings))
        return None
    drafts.drop(name)
    say(f"saved; {command_line(drafts.book, 'undo')} takes it back")
    return outcome
