"""The log rows that an old sheet's lines come to, and the lines that are none: totals, titles, what cannot be read."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from pipeline.book.book_settings import Book
from pipeline.contract.comb_and_method_synonyms import COMB_WORDS, METHOD_WORDS, canonical
from pipeline.contract.quantities import Dimension, Refusal
from pipeline.old_records.column_matching import Answers, stands_alone
from pipeline.old_records.date_order_and_units import Order, measure_text, orders, read_day
from pipeline.old_records.lines_left_out import is_no_row, without_sums
from pipeline.old_records.old_sheet import OldSheet, SheetLine
from pipeline.old_records.proposal_and_questions import LineIs, Proposal
from pipeline.old_records.sheet_line_reader import LineReader, Skipped

Row = dict[str, str]


@dataclass(frozen=True, slots=True)
class Session:
    """What one or several lines say of one thing: the rows of each log, and the lines they come from."""

    lines: tuple[SheetLine, ...]
    rows: Mapping[str, tuple[Row, ...]]


@dataclass(frozen=True, slots=True)
class TakenRows:
    """What the sheet comes to: things with their rows, and the lines left out; ``sums`` are those that add others up."""

    things: tuple[Session, ...]
    skipped: tuple[Skipped, ...]
    sums: frozenset[int] = frozenset()


@dataclass(frozen=True, slots=True)
class InTheBook:
    """What the book has already: its settings, names that no new thing may get, and the marks of lines taken over before."""

    book: Book
    names: frozenset[str]
    marks: frozenset[str]


def taken(sheet: OldSheet, proposal: Proposal, answers: Answers, there: InTheBook, known: frozenset[int]) -> TakenRows:
    """The rows of every line that was not taken over before; those are ``known`` by their numbers."""
    book = there.book
    order = _order(sheet, proposal, answers, book.dates)
    reader = LineReader(sheet, proposal, answers, book.more_words(), order, _namer(there.names), known)
    lines = [line for line in sheet.lines if not is_no_row(reader, line)]
    lines = without_sums(reader, lines)
    make = {
        LineIs.SESSIONS: _sessions,
        LineIs.PASSES: _passes,
        LineIs.BLOCKS: _blocks,
        LineIs.HARVESTS: _harvests,
    }
    things = tuple(make[proposal.layout](reader, _dated(reader, lines)))
    return TakenRows(things, tuple(sorted(reader.skipped, key=lambda s: s.line)), frozenset(reader.sums))


def _order(sheet: OldSheet, proposal: Proposal, answers: Answers, book_dates: str) -> Order:
    column = proposal.of("date")
    cells = [line.cell(column.place) for line in sheet.lines if line.cell(column.place)] if column else []
    fits = orders(cells)
    dates = answers.get("dates") or (next(iter(fits)) if len(fits) == 1 else book_dates)
    return Order(
        "day-first" if dates == "iso" else dates, int(answers["year"]) if answers.get("year", "").isdecimal() else None
    )


def _namer(used: frozenset[str]) -> Callable[[str, int], str]:
    """Names that nothing bears yet: the one wished for, or the year and a running number."""
    given = set(used)

    def name(wished: str, year: int) -> str:
        n = 1
        fits = bool(re.fullmatch(r"[\w .\-/]{1,40}", wished)) and wished not in given
        found = wished if fits else f"R{year}-{n}"
        while found in given:
            n += 1
            found = f"R{year}-{n}"
        given.add(found)
        return found

    return name


def _dated(reader: LineReader, lines: Sequence[SheetLine]) -> Iterator[tuple[SheetLine, date]]:
    """Each line with its day: its own, that of the line above where its keeper says so; lines without one are left out."""
    heads: list[int] = []
    for line in lines:
        if stands_alone(line):
            heads.append(line.number)
            reader.order = Order(reader.order.dates, int(next(c for c in line.cells if c)))
            continue
        text = reader.cell(line, "date")
        day = read_day(text, reader.order) if text else _day_without(reader, line)
        if day is None:
            reader.skip(line, f"{text} is no day that can be read" if text else "it has no date")
            continue
        reader.day = day
        yield line, day


def _day_without(reader: LineReader, line: SheetLine) -> date | None:
    if reader.proposal.of("date") is None and reader.answers.get("date"):
        return read_day(reader.answers["date"], reader.order)
    above = reader.proposal.layout is LineIs.PASSES or reader.answers.get("blank_dates") == "as above"
    return reader.day if above and any(line.cells) else None


def _new(reader: LineReader, lines: Iterator[tuple[SheetLine, date]]) -> Iterator[tuple[SheetLine, date]]:
    """The lines that were not taken over before."""
    return ((line, day) for line, day in lines if line.number not in reader.known)


# Rows by layout ------------------------------------------------------------------------------------------------------


def _sessions(reader: LineReader, lines: Iterator[tuple[SheetLine, date]]) -> Iterator[Session]:
    """One line, one session: comb, load, and a pass for each wax that stands beside the other."""
    for line, day in _new(reader, lines):
        passes = _side_by_side(reader, line)
        if isinstance(passes, Refusal):
            reader.skip(line, passes.message)
        elif not passes:
            reader.skip(line, "it has no wax that came out")
        else:
            name = reader.names(reader.cell(line, "session"), day.year)
            common = {"session": name, "date": day.isoformat(), "method": _word(reader, line, "method")}
            rows = [common | {"pass": str(n + 1)} | p for n, p in enumerate(passes)]
            rows[0] |= _measures(reader, line)
            yield _with_comb(reader, line, day, name, rows)


def _side_by_side(reader: LineReader, line: SheetLine) -> list[Row] | Refusal:
    """The passes of one line, in order: wax and residue of each, and what went into the later ones."""
    numbers = sorted({c.number or 1 for c in reader.proposal.columns if c.meaning == "out"})
    passes = []
    for number in numbers:
        cells: Row = {}
        for meaning, column in (
            ("out", "wax_out"),
            ("residue", "residue"),
            *((("in", "mass_in"),) if number > 1 else ()),
        ):
            told = reader.mass(line, reader.proposal.of(meaning, number))
            if isinstance(told, Refusal):
                return told
            if told:
                cells[column] = told
        if "wax_out" in cells:
            passes.append(cells)
    return passes


def _with_comb(reader: LineReader, line: SheetLine, day: date, name: str, passes: list[Row]) -> Session:
    """A session's rows with those of its comb, where the line says how much there was."""
    comb = reader.mass(line, reader.proposal.of("in", 1))
    frames = reader.cell(line, "frames")
    rows: dict[str, tuple[Row, ...]] = {"passes": tuple(passes)}
    if (comb and not isinstance(comb, Refusal)) or frames:
        lot = reader.names(f"{name} comb", day.year)
        harvest = {"harvest": lot, "date": day.isoformat(), "comb": _word(reader, line, "comb")} | _place(reader, line)
        harvest |= {"mass": str(comb)} if comb else {"frames": frames}
        load = {"session": name, "source": lot} | ({"mass": str(comb)} if comb else {})
        rows = {"harvests": (harvest,), "loads": (load,)} | rows
    return Session((line,), rows)


def _place(reader: LineReader, line: SheetLine) -> Row:
    return {m: cell for m in ("apiary", "hive") if (cell := reader.cell(line, m))}


def _measures(reader: LineReader, line: SheetLine) -> Row:
    """Filter, temperature, time and notes of a line; a measure that cannot be read goes into the notes as it stands."""
    found, notes = {}, [reader.cell(line, "notes")]
    for meaning, dimension in (("peak_temp", Dimension.TEMPERATURE), ("time", Dimension.TIME)):
        column = reader.proposal.of(meaning)
        text = line.cell(column.place) if column else ""
        told = measure_text(text, dimension, column.unit, reader.proposal.marks) if text and column else ""
        if isinstance(told, Refusal):
            notes.append(f"{meaning.replace('_', ' ')} {text}")
        elif told:
            found[meaning] = told
    return found | {
        k: v for k, v in (("filter", reader.cell(line, "filter")), ("notes", "; ".join(filter(None, notes)))) if v
    }


def _word(reader: LineReader, line: SheetLine, meaning: str) -> str:
    """The book's word for a comb or a method: what the cell says, what was answered for it, or for the whole sheet."""
    words, more = {"comb": (COMB_WORDS, "comb_kinds"), "method": (METHOD_WORDS, "methods")}[meaning]
    text = reader.cell(line, meaning)
    known = canonical(text, words, reader.more.get(more, ())) if text else None
    return known or reader.answers.get(f"{meaning}.{text}") or reader.answers.get(meaning, "")


def _passes(reader: LineReader, lines: Iterator[tuple[SheetLine, date]]) -> Iterator[Session]:
    """One line, one pass: lines of one session stand together, an empty name is that of the line above."""
    groups: dict[str, list[tuple[SheetLine, date]]] = {}
    last = ""
    for line, day in lines:
        last = reader.cell(line, "session") or last
        groups.setdefault(last, []).append((line, day))
    for wished, members in groups.items():
        yield from _one_of_passes(reader, wished, members)


def _one_of_passes(reader: LineReader, wished: str, members: list[tuple[SheetLine, date]]) -> Iterator[Session]:
    first, day = members[0]
    begun = any(line.number in reader.known for line, _ in members)  # its first passes were taken over before
    name, rows = (wished if begun else reader.names(wished, day.year)), []
    for n, (line, when) in enumerate(members, 1):
        if line.number in reader.known:
            continue
        wax, residue = reader.mass(line, reader.proposal.of("out")), reader.mass(line, reader.proposal.of("residue"))
        into = reader.mass(line, reader.proposal.of("in"))
        wrong = next((x for x in (wax, residue, into) if isinstance(x, Refusal)), None)
        if wrong:
            reader.skip(line, wrong.message)
            continue
        row = {"session": name, "pass": reader.cell(line, "pass") or str(n), "date": when.isoformat()}
        row |= {"method": _word(reader, line, "method"), "wax_out": str(wax), "residue": str(residue)}
        row |= {"mass_in": str(into)} if n > 1 else {}
        rows.append({k: v for k, v in (row | _measures(reader, line)).items() if v})
    if rows:
        made = Session((), {"passes": tuple(rows)}) if begun else _with_comb(reader, first, day, name, rows)
        yield Session(tuple(line for line, _ in members if line.number not in reader.known), made.rows)


def _blocks(reader: LineReader, lines: Iterator[tuple[SheetLine, date]]) -> Iterator[Session]:
    for line, day in _new(reader, lines):
        mass = reader.mass(line, reader.proposal.of("block_mass"))
        if isinstance(mass, Refusal) or not mass:
            reader.skip(line, mass.message if isinstance(mass, Refusal) else "it has no weight")
            continue
        row = {"block": reader.names(reader.cell(line, "block"), day.year), "date": day.isoformat(), "mass": mass}
        origin = reader.cell(line, "session")
        row |= (
            {"session": origin}
            if origin
            else {"supplier": reader.cell(line, "supplier") or reader.answers.get("supplier", "")}
        )
        row |= {m: c for m in ("colour", "place", "cost", "notes") if (c := reader.cell(line, m))}
        yield Session((line,), {"blocks": (row,)})


def _harvests(reader: LineReader, lines: Iterator[tuple[SheetLine, date]]) -> Iterator[Session]:
    for line, day in _new(reader, lines):
        mass, frames = reader.mass(line, reader.proposal.of("in")), reader.cell(line, "frames")
        if isinstance(mass, Refusal) or not (mass or frames):
            reader.skip(line, mass.message if isinstance(mass, Refusal) else "it has neither a weight nor frames")
            continue
        row = {"harvest": reader.names(reader.cell(line, "session"), day.year), "date": day.isoformat()}
        row |= (
            {"comb": _word(reader, line, "comb")}
            | ({"mass": mass} if mass else {"frames": frames})
            | _place(reader, line)
        )
        row |= {"notes": n} if (n := reader.cell(line, "notes")) else {}
        yield Session((line,), {"harvests": (row,)})
