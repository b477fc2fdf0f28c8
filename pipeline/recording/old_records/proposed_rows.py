"""The log rows that an old sheet's lines come to, and the lines that are none: totals, titles, what cannot be read."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction

from pipeline.book.book_folder import Book
from pipeline.contract.quantities import Dimension, Refusal, read_quantity
from pipeline.recording.old_records.meanings import COMB_WORDS, METHOD_WORDS, TOTALS, canonical
from pipeline.recording.old_records.old_sheet import Line, OldSheet
from pipeline.recording.old_records.proposal import MASSES, Answers, ColumnMeaning, Layout, Proposal, stands_alone
from pipeline.recording.old_records.typed_values import Order, is_year, measure_text, orders, read_day, with_dots

Row = dict[str, str]


@dataclass(frozen=True, slots=True)
class Skipped:
    """A line that is taken over as no row, and why."""

    line: int
    why: str


@dataclass(frozen=True, slots=True)
class Session:
    """What one or several lines say of one thing: the rows of each log, and the lines they come from."""

    lines: tuple[Line, ...]
    rows: Mapping[str, tuple[Row, ...]]


@dataclass(frozen=True, slots=True)
class Taken:
    """What the sheet comes to: things with their rows, and the lines left out."""

    things: tuple[Session, ...]
    skipped: tuple[Skipped, ...]


@dataclass(slots=True)
class _Reader:
    """One sheet's lines read one after another, with what lines above still say to those below."""

    sheet: OldSheet
    proposal: Proposal
    answers: Answers
    more: Mapping[str, tuple[str, ...]]
    order: Order
    names: Callable[[str, int], str]
    known: frozenset[int]
    skipped: list[Skipped] = field(default_factory=list)
    day: date | None = None

    def cell(self, line: Line, meaning: str, number: int | None = None) -> str:
        column = self.proposal.of(meaning, number)
        return line.cell(column.place) if column else ""

    def mass(self, line: Line, column: ColumnMeaning | None) -> str | Refusal:
        """A weight with its unit, the ounces right of it added; empty where nothing was weighed."""
        text = line.cell(column.place) if column else ""
        if column is None or text in ("", "-", "–", "?", "n/a"):
            return ""
        told = measure_text(text, Dimension.MASS, column.unit, self.proposal.marks)
        after = next((c for c in self.proposal.columns if c.place == column.place + 1 and c.meaning == "ounces"), None)
        ounces = line.cell(after.place) if after else ""
        return f"{told} {ounces} oz" if ounces and not isinstance(told, Refusal) else told

    def skip(self, line: Line, why: str) -> None:
        self.skipped.append(Skipped(line.number, why))


@dataclass(frozen=True, slots=True)
class InTheBook:
    """What the book has already: its settings, names that no new thing may get, and the lines taken over before."""

    book: Book
    names: frozenset[str]
    lines: frozenset[int]


def taken(sheet: OldSheet, proposal: Proposal, answers: Answers, there: InTheBook) -> Taken:
    """The rows of every line that was not taken over before."""
    book = there.book
    order = _order(sheet, proposal, answers, book.dates)
    reader = _Reader(sheet, proposal, answers, book.more_words(), order, _namer(there.names), there.lines)
    lines = [line for line in sheet.lines if not _is_none(reader, line)]
    lines = _without_sums(reader, lines)
    make = {Layout.SESSIONS: _sessions, Layout.PASSES: _passes, Layout.BLOCKS: _blocks, Layout.HARVESTS: _harvests}
    things = tuple(make[proposal.layout](reader, _dated(reader, lines)))
    return Taken(things, tuple(sorted(reader.skipped, key=lambda s: s.line)))


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


# Lines that are no rows ----------------------------------------------------------------------------------------------


def _is_none(reader: _Reader, line: Line) -> bool:
    if any(TOTALS.match(c) for c in line.cells):
        reader.skip(line, "it sums up other lines")
    elif stands_alone(line):
        said = next(c for c in line.cells if c)
        reader.skip(line, f"it holds {said} alone")
        if is_year(said):
            return False  # kept in the walk: it dates the lines under it
    elif line.cells == reader.sheet.headings:
        reader.skip(line, "it repeats the headings")
    else:
        return False
    return True


def _without_sums(reader: _Reader, lines: Sequence[Line]) -> list[Line]:
    """The lines but those whose every weight is the sum, or the mean, of the lines above: a total that does not say so."""
    kept: list[Line] = []
    since: list[dict[int, Fraction]] = []
    for line in lines:
        weights = _weights(reader, line)
        if weights and (word := _sums_up(weights, since)):
            reader.skip(line, f"its weights are the {word} of the {len(since)} lines above")
            since = [] if word == "sums" else since
            continue
        kept.append(line)
        if weights:
            since.append(weights)
    return kept


def _weights(reader: _Reader, line: Line) -> dict[int, Fraction]:
    found = {}
    for column in reader.proposal.columns:
        if column.meaning in MASSES:
            text = with_dots(line.cell(column.place), reader.proposal.marks)
            value = read_quantity(text, Dimension.MASS, column.unit or "g")
            if not isinstance(value, Refusal):
                found[column.place] = value
    return found


def _sums_up(weights: Mapping[int, Fraction], since: Sequence[Mapping[int, Fraction]]) -> str | None:
    """``sums`` or ``means`` where every weight of a line is that of two or more lines above it, to the rounding of a sheet."""
    if len(since) < 2:
        return None
    for word, part in (("sums", Fraction(1)), ("means", Fraction(1, len(since)))):
        due = {p: part * sum((s.get(p, Fraction(0)) for s in since), Fraction(0)) for p in weights}
        if all(due[p] and abs(weights[p] - due[p]) <= due[p] / 500 for p in weights):
            return word
    return None


def _dated(reader: _Reader, lines: Sequence[Line]) -> Iterator[tuple[Line, date]]:
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


def _day_without(reader: _Reader, line: Line) -> date | None:
    if reader.proposal.of("date") is None and reader.answers.get("date"):
        return read_day(reader.answers["date"], reader.order)
    above = reader.proposal.layout is Layout.PASSES or reader.answers.get("blank_dates") == "as above"
    return reader.day if above and any(line.cells) else None


def _new(reader: _Reader, lines: Iterator[tuple[Line, date]]) -> Iterator[tuple[Line, date]]:
    """The lines that were not taken over before."""
    return ((line, day) for line, day in lines if line.number not in reader.known)


# Rows by layout ------------------------------------------------------------------------------------------------------


def _sessions(reader: _Reader, lines: Iterator[tuple[Line, date]]) -> Iterator[Session]:
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


def _side_by_side(reader: _Reader, line: Line) -> list[Row] | Refusal:
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


def _with_comb(reader: _Reader, line: Line, day: date, name: str, passes: list[Row]) -> Session:
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


def _place(reader: _Reader, line: Line) -> Row:
    return {m: cell for m in ("apiary", "hive") if (cell := reader.cell(line, m))}


def _measures(reader: _Reader, line: Line) -> Row:
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


def _word(reader: _Reader, line: Line, meaning: str) -> str:
    """The book's word for a comb or a method: what the cell says, what was answered for it, or for the whole sheet."""
    words, more = {"comb": (COMB_WORDS, "comb_kinds"), "method": (METHOD_WORDS, "methods")}[meaning]
    text = reader.cell(line, meaning)
    known = canonical(text, words, reader.more.get(more, ())) if text else None
    return known or reader.answers.get(f"{meaning}.{text}") or reader.answers.get(meaning, "")


def _passes(reader: _Reader, lines: Iterator[tuple[Line, date]]) -> Iterator[Session]:
    """One line, one pass: lines of one session stand together, an empty name is that of the line above."""
    groups: dict[str, list[tuple[Line, date]]] = {}
    last = ""
    for line, day in lines:
        last = reader.cell(line, "session") or last
        groups.setdefault(last, []).append((line, day))
    for wished, members in groups.items():
        yield from _one_of_passes(reader, wished, members)


def _one_of_passes(reader: _Reader, wished: str, members: list[tuple[Line, date]]) -> Iterator[Session]:
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


def _blocks(reader: _Reader, lines: Iterator[tuple[Line, date]]) -> Iterator[Session]:
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


def _harvests(reader: _Reader, lines: Iterator[tuple[Line, date]]) -> Iterator[Session]:
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
