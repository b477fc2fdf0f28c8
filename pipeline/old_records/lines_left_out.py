"""The lines of an old sheet that are no rows: titles, years, totals, also those that do not say that they are."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction

from pipeline.contract.quantities import Dimension, Refusal, read_quantity
from pipeline.old_records.column_matching import MASSES, stands_alone
from pipeline.old_records.date_order_and_units import is_year, with_dots
from pipeline.old_records.heading_words import TOTALS
from pipeline.old_records.old_sheet import SheetLine
from pipeline.old_records.sheet_line_reader import LineReader


def is_no_row(reader: LineReader, line: SheetLine) -> bool:
    """Whether a line is a total or a title, left out with the reason. A year alone stays: it dates the lines under it."""
    if any(TOTALS.match(c) for c in line.cells):
        reader.skip(line, "it sums up other lines")
    elif stands_alone(line):
        said = next(c for c in line.cells if c)
        reader.skip(line, f"it holds {said} alone")
        if is_year(said):
            return False
    elif line.cells == reader.sheet.headings:
        reader.skip(line, "it repeats the headings")
    else:
        return False
    return True


def without_sums(reader: LineReader, lines: Sequence[SheetLine]) -> list[SheetLine]:
    """The lines but those whose every weight is the sum, or the mean, of the lines above: a total that does not say so."""
    kept: list[SheetLine] = []
    since: list[dict[int, Fraction]] = []
    for line in lines:
        weights = _weights(reader, line)
        if weights and (word := _sums_up(weights, since)):
            reader.sums.add(line.number)
            reader.skip(line, f"its weights are the {word} of the {len(since)} lines above")
            since = [] if word == "sums" else since
            continue
        kept.append(line)
        if weights:
            since.append(weights)
    return kept


def _weights(reader: LineReader, line: SheetLine) -> dict[int, Fraction]:
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
