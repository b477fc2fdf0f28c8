"""The questions of a recording, in order, for a terminal or a page: what is asked next follows from what was answered."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date

from pipeline.contract.columns import CellKind, Column, Log
from pipeline.contract.log_columns import LOGS
from pipeline.contract.quantities import Refusal, shown_unit
from pipeline.reading.cell_reader import Typed
from pipeline.recording import question_words, written_cells
from pipeline.recording.answers_so_far import NO, YES, Draft, Spot, yes_or_no
from pipeline.recording.log_layout import book_unit, words
from pipeline.recording.offers import OfferedLot, Offers, next_name
from pipeline.recording.typed_rows import KINDS
from pipeline.wording.amounts import Units
from pipeline.wording.question_hints import NO_HINT, Hint

_MOST_ROWS = 40
_RECALL = Hint("from which pour? Who must call candles back needs it")
_PARTS = ("slumgum", "wax")
_USUAL = {
    "loads": ("mass",), "passes": ("mass_in", "wax_out", "residue"), "draws": ("mass",), "stocktakes": ("item",),
}  # fmt: skip
"""By log the columns that are asked always, though a row may leave them empty."""
_FROM_THE_FIRST_DAY = {
    "harvests": ("apiary", "hive"), "passes": ("peak_temp", "time", "filter"), "blocks": ("colour", "place"),
    "batches": ("good", "pour_temp", "room_temp", "flaws"), "sales": ("price", "place"), "draws": ("batch", "price"),
    "burns": ("mass_before", "mass_after", "pool_diameter", "flame_height", "soot", "went_out", "signs"),
}  # fmt: skip
"""What teaches something later only if it is written down from the first day; who leaves it out is asked last."""
_ONLY_IF = {
    ("batches", "good"): ("status", "poured"), ("batches", "pour_temp"): ("status", "poured"),
    ("batches", "scent_temp"): ("status", "poured"), ("batches", "room_temp"): ("status", "poured"),
    ("batches", "flaws"): ("status", "poured"), ("draws", "batch"): ("use", "candles"), ("draws", "price"): ("use", "sold"),
}  # fmt: skip
"""By log and column the answer without which the question makes no sense: a planned pour has no flaws yet."""
_FIRST_NAMES = {"harvests": "H1", "passes": "S1", "blocks": "B1", "batches": "P1"}
_LISTS, _NOTHING_ELSE = ("source", "block"), ("n", "no", "none", "nothing")
_LISTED = ("candles", "blends", "wicks")  # logs whose names are few enough to choose from


@dataclass(frozen=True, slots=True)
class Question:
    """One thing asked: where the answer goes, in words, whether it must be given, what is offered and what may be chosen."""

    spot: Spot
    label: str
    column: Column | None
    required: bool
    offer: str = ""
    choices: tuple[str, ...] = ()
    unit: str = ""
    hint: Hint = NO_HINT


def value_of(offers: Offers, column: Column, text: str) -> Typed | Refusal:
    """What an answer says, or why it cannot be read."""
    book = offers.book
    allowed = words(book, column)
    manner = written_cells.ColumnForm(
        book_unit(book, column), ".", allowed, book.dates, currency=book.currency, vessels=book.vessels
    )
    return written_cells.read(column, text.strip(), manner)


def bare(question: Question, text: str) -> str:
    """An answer without what an offered lot's name has behind it."""
    return text.partition(" (")[0] if question.column and question.column.kind is CellKind.ID else text


def taken(draft: Draft, question: Question, text: str, offers: Offers) -> Draft:
    """The draft with one more answer; a lot that was offered says its part too."""
    log, n, name = question.spot
    after = draft.answered(question.spot, _as_kept(question, text, offers))
    lot = next((lot for lot in offers.lots if name == "source" and lot_text(offers, lot) == text), None)
    return after.answered((log, n, "part"), lot.kind) if lot and lot.kind in _PARTS else after


def _as_kept(question: Question, text: str, offers: Offers) -> str:
    """An answer as the draft keeps it: yes and no in one spelling, a date as ISO has it, a lot by its name alone.

    Who is asked for anything else and says no has ended the list.
    """
    if question.spot[2] in _LISTS and not question.required and text.strip().lower() in _NOTHING_ELSE:
        return ""
    if is_yes_no(question):
        return yes_or_no(text) or text
    if text and question.column and question.column.kind is CellKind.DATE:
        return str(value_of(offers, question.column, text))
    return bare(question, text)


def is_yes_no(question: Question) -> bool:
    """Whether the question is answered by yes or no."""
    return question.column is None or question.column.kind is CellKind.YES_NO


def next_question(draft: Draft, offers: Offers, today: date) -> Question | None:
    """The first question without an answer; None where the entry is complete."""
    for question in questions(draft, offers, today):
        if question.spot not in draft.answers:
            kept = draft.kept.get(question.spot)
            return question if kept is None else replace(question, offer=kept)
    return None


def questions(draft: Draft, offers: Offers, today: date) -> Iterator[Question]:
    """All questions that the answers so far lead to."""
    if draft.kind == "session":
        yield from _session(draft, offers, today)
    else:
        yield from _row(draft, offers, today, (LOGS[KINDS[draft.kind]], 1))


def _row(
    draft: Draft, offers: Offers, today: date, row: tuple[Log, int], skip: tuple[str, ...] = ()
) -> Iterator[Question]:
    """The questions of one row: what every row needs, and what this book's rows usually hold."""
    log, n = row
    skipped = offers.skipped.get(log.name, frozenset())
    last = [c for c in log.columns if c.name in _FROM_THE_FIRST_DAY.get(log.name, ()) and c.name in skipped]
    for column in (*(c for c in log.columns if c not in last), *last):
        if column.name in skip or not _asked(draft, offers, log, column, n):
            continue
        question = _question(offers, today, (log, n), column)
        offer = _from_this_entry(draft, offers, log, column, n)
        question = replace(question, offer=offer) if offer else question
        if (log.name, column.name) == ("sales", "batch"):
            question = replace(question, choices=_batches_of_candle(draft, offers, n), hint=_RECALL)
        yield question


def _from_this_entry(draft: Draft, offers: Offers, log: Log, column: Column, n: int) -> str:
    """What the answers so far make likely: the day of the pass before, the way in which this comb is usually melted."""
    if column.kind is CellKind.DATE and column.required:
        return _date_before(draft, log, n)
    if (log.name, column.name, n) == ("passes", "method", 1):
        return offers.usual_methods.get(comb_loaded(draft, offers), "")
    return draft.answers.get(("passes", n - 1, "method"), "") if (log.name, column.name) == ("passes", "method") else ""


def comb_loaded(draft: Draft, offers: Offers) -> str:
    """The kind of comb of the first harvest in the pot; empty where there is none."""
    names = [text for (log, _, name), text in draft.answers.items() if (log, name) == ("loads", "source")]
    return next((lot.about for lot in offers.lots if lot.kind == "harvest" and lot.name in names), "")


def _batches_of_candle(draft: Draft, offers: Offers, n: int) -> tuple[str, ...]:
    """The batches that the candles sold may be from, with what is left of each."""
    candle = draft.answers.get(("sales", n, "candle"), "")
    return tuple(f"{lot.name} ({lot.about})" for lot in offers.batches.get(candle, ()))


def _date_before(draft: Draft, log: Log, n: int) -> str:
    """In a session, the day of the pass before: the next one, and the blocks, are mostly of that day."""
    if draft.kind != "session" or (log.name == "passes" and n == 1):
        return ""
    return draft.answers.get(("passes", n - 1 if log.name == "passes" else draft.last_pass, "date"), "")


def _asked(draft: Draft, offers: Offers, log: Log, column: Column, n: int) -> bool:
    group = next((g for g in (*log.one_of, *log.any_of) if column.name in g), None)
    if group:
        earlier = group[: group.index(column.name)]
        return not any(draft.answers.get((log.name, n, name)) for name in earlier)
    if log.name == "candles" and column.name == "height":
        return bool(draft.answers.get((log.name, n, "diameter")))
    if (log.name, column.name) == ("sales", "batch"):
        return _batch_is_asked(draft, offers, n)
    answer, needed = _ONLY_IF.get((log.name, column.name), ("", ""))
    if answer and draft.answers.get((log.name, n, answer)) != needed:
        return False
    first = _FROM_THE_FIRST_DAY.get(log.name, ())
    return column.required or column.name in (*_USUAL.get(log.name, ()), *first, *offers.used.get(log.name, ()))


def _batch_is_asked(draft: Draft, offers: Offers, n: int) -> bool:
    """A sale says its batch where it may be from several, and in a book that says it always, once its candle is known."""
    if not draft.answers.get(("sales", n, "candle")):
        return False
    return len(_batches_of_candle(draft, offers, n)) > 1 or "batch" in offers.used.get("sales", ())


def _question(
    offers: Offers, today: date, row: tuple[Log, int], column: Column, hint: Hint | None = None, **more: str
) -> Question:
    log, n = row
    offer = more.get("offer", _offer(offers, today, log, column, n))
    last_of_group = any(column.name == g[-1] for g in (*log.one_of, *log.any_of))
    return Question(
        (log.name, n, column.name),
        more.get("label", question_words.label(column, Units.of(offers.book))),
        column,
        column.required or last_of_group,
        offer,
        _choices(offers, log, column),
        shown_unit(book_unit(offers.book, column)),
        hint or Hint(column.what, column.if_empty),
    )


def _choices(offers: Offers, log: Log, column: Column) -> tuple[str, ...]:
    """What may be chosen: the words of the column, or names that the book has."""
    if column.kind is CellKind.CHOICE:
        return words(offers.book, column)
    if (log.name, column.name) == ("draws", "block"):
        return tuple(lot_text(offers, lot) for lot in offers.shelf)
    return offers.known[column.refers] if column.refers in _LISTED else ()


def _offer(offers: Offers, today: date, log: Log, column: Column, n: int) -> str:
    """What is offered to be taken with one key: today, the next name, or what stood there last time."""
    if column.kind is CellKind.DATE and column.required:
        return today.isoformat()
    if column.key and column.kind is CellKind.ID and n == 1:
        return offers.next_names.get(log.name, "") or first_name(offers, log)
    repeated = (CellKind.CHOICE,) if column.required else ()
    usual = column.name in ("apiary", "filter", "place") or column.kind in repeated
    return offers.last.get(log.name, {}).get(column.name, "") if usual else ""


def first_name(offers: Offers, log: Log) -> str:
    """A name for the first thing of its kind in a book, where names are given; nothing where other names stand already."""
    return _FIRST_NAMES.get(log.name, "") if not offers.known.get(log.name) else ""


def _session(draft: Draft, offers: Offers, today: date) -> Iterator[Question]:
    """Session, its loads, its passes, its blocks; an empty name ends a list."""
    going_on = f", or one that goes on: {', '.join(offers.open_sessions[:6])}" if offers.open_sessions else ""
    name, hint = LOGS["passes"].column("session"), Hint(f"a new name{going_on}")
    yield _question(offers, today, (LOGS["passes"], 1), name, label="session", hint=hint)
    session = draft.answers.get(("passes", 1, "session"), "")
    done = offers.passes_done.get(session)
    if done is None and session not in offers.open_sessions:
        yield from _loads(draft, offers, today)
    yield _more(1, "Is the wax out yet?" if done is None else f"Another pass (number {done + 1})?", NO if done else YES)
    if draft.answers.get(("passes", 1, "more")) == YES:
        yield from _passes(draft, offers, today)
    elif done is None:
        return
    yield from _blocks(draft, offers, today)


def _loads(draft: Draft, offers: Offers, today: date) -> Iterator[Question]:
    log = LOGS["loads"]
    for n in range(1, _MOST_ROWS):
        listed = tuple(lot_text(offers, lot) for lot in offers.lots)
        label = "What went into the pot?" if n == 1 else "Anything else in the pot?"
        source = _question(offers, today, (log, n), log.column("source"), label=label, offer="")
        hint = Hint("a harvest, a block or an earlier session", empty_if="" if n == 1 else "not")
        yield replace(source, required=n == 1, choices=listed, hint=hint)
        name = draft.answers.get(("loads", n, "source"), "")
        if not name:
            return
        if name in offers.passes_done:
            yield replace(_question(offers, today, (log, n), log.column("part")), required=True)
        yield _question(
            offers, today, (log, n), log.column("mass"), label=f"weight of {name}", hint=_left(offers, name)
        )


def _left(offers: Offers, name: str) -> Hint:
    lots = [lot for lot in offers.lots if lot.name == name]
    left = ", ".join(f"{offers.mass(lot.mass_g)} {lot.about}" for lot in lots)
    return Hint(if_empty=f"all that is left ({left})" if left else "all that is left")


def lot_text(offers: Offers, lot: OfferedLot) -> str:
    """A lot as it is offered: name, what it is and what is left."""
    return f"{lot.name} ({lot.about}, {offers.mass(lot.mass_g)} left)"


def _passes(draft: Draft, offers: Offers, today: date) -> Iterator[Question]:
    log = LOGS["passes"]
    for n in range(1, _MOST_ROWS):
        yield from _row(draft, offers, today, (log, n), skip=("session", "pass", "notes"))
        yield _more(n + 1, "Another pass?")
        if draft.answers.get(("passes", n + 1, "more")) != YES:
            return


def _blocks(draft: Draft, offers: Offers, today: date) -> Iterator[Question]:
    log = LOGS["blocks"]
    bought = ("session", "supplier", "batch", "blend", "cost", "notes")
    for n in range(1, _MOST_ROWS):
        last = draft.answers.get(("blocks", n - 1, "block"), "")
        hint = Hint(empty_if="none", free=next_name([last]) if last else "")
        label = "block" if n == 1 else "next block"
        block = _question(offers, today, (log, n), log.column("block"), label=label, hint=hint)
        yield replace(block, required=False, offer=block.offer)
        if not draft.answers.get(("blocks", n, "block")):
            return
        yield from _row(draft, offers, today, (log, n), skip=("block", *bought))


def _more(n: int, label: str, offer: str = NO) -> Question:
    return Question(("passes", n, "more"), label, None, False, offer, (YES, NO))
