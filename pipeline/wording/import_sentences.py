"""Old records in words: what each column is taken for, what is asked, what the rows come to."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from pipeline.book.book_settings import SHEETS
from pipeline.contract.findings import Finding
from pipeline.old_records.column_matching import ColumnMeaning
from pipeline.old_records.prepared_import import Prepared
from pipeline.old_records.proposal_and_questions import LineIs, OpenQuestion
from pipeline.wording.amounts import Units
from pipeline.wording.visible_text import visible

_LINES = {
    LineIs.SESSIONS: "a rendering session", LineIs.PASSES: "one pass of a session", LineIs.BLOCKS: "a block",
    LineIs.HARVESTS: "comb taken off",
}  # fmt: skip
_TAKEN_FOR = {
    "session": "the session's name", "pass": "the pass number", "date": "the date", "comb": "the kind of comb",
    "method": "how it was melted", "in": "comb that went in", "out": "wax that came out", "residue": "residue",
    "peak_temp": "the hottest", "time": "how long it took", "filter": "the filter", "apiary": "the apiary", "hive": "the hive",
    "frames": "how many frames", "block": "the block's name", "block_mass": "what the block weighs", "colour": "its colour",
    "place": "where it lies", "supplier": "who it was bought from", "cost": "what it cost", "notes": "notes",
    "ounces": "ounces, beside the pounds",
}  # fmt: skip
_SHOWN_ROWS = 3
"""So many rows of each log are shown before they are written: enough to see a slip, and still one screen."""
_SHOWN_LINES = 12


def proposal(prepared: Prepared) -> str:
    """What the sheet is taken for, column by column, and what is left out."""
    line, what = prepared.sheet.header_line, _LINES[prepared.proposal.layout]
    parts = [f"{visible(prepared.file.name)}: the headings stand on line {line}, each line under it is {what}."]
    parts += [_column(c) for c in prepared.proposal.columns if c.meaning]
    left = [c for c in prepared.proposal.columns if not c.meaning]
    parts += [f"  left out: {visible(c.heading) or 'a column without heading'} ({c.why})" for c in left]
    if prepared.sheet.above:
        told = "line stands" if len(prepared.sheet.above) == 1 else "lines stand"
        parts.append(f"{len(prepared.sheet.above)} {told} above the headings: not read")
    if prepared.file.suffix.lower() in SHEETS:
        parts.append("Colours and comments of cells are not read.")
    return "\n".join(parts)


def _column(column: ColumnMeaning) -> str:
    number = f" of pass {column.number}" if column.number else ""
    unit = f", in {column.unit}{' as the others' if column.as_others else ''}" if column.unit else ""
    what = "what went in" if column.field == "mass_in" else _TAKEN_FOR.get(str(column.meaning), str(column.meaning))
    return f"  {visible(column.heading):<24} {what}{number}{unit}"


def asked(question: OpenQuestion) -> str:
    """A question in one sentence, with the answers there are."""
    key, _, word = question.key.partition(".")
    about = [visible(a) for a in question.about]
    sentence = {
        "decimal": "What is the comma in weights such as 1,250: thousands (answer dot) or the decimal mark (answer comma)?",
        "dates": "In which order are the dates of {} written, such as {}?",
        "date": "No column holds a date. Which day shall all of them get?",
        "year": "The dates of {} have no year. Which year are they of?",
        "units": "In which unit are the weights of {}?",
        "supplier": "No column says where these blocks are from. Who were they bought from?",
        "blank_dates": "Some lines have weights and no date (line "
        + ", ".join(about[:6])
        + "). Is the date that of the line above?",
        "comb": "Which kind of comb is {}?" if word else "Which kind of comb is it where no column says?",
        "method": "Which way of melting is {}?" if word else "How was it melted where no column says?",
    }[key].format(*about, "", "")
    return sentence + (f" ({', '.join(question.choices)})" if question.choices else "")


def rows(prepared: Prepared, findings: Sequence[Finding], units: Units) -> str:
    """The first rows as they would be written, what they break, and what they would yield."""
    return "\n".join(_rows(prepared, findings, units))


def _rows(prepared: Prepared, findings: Sequence[Finding], units: Units) -> Iterator[str]:
    for log, made in prepared.rows.items():
        yield f"{log}.csv: {units.plural(len(made), 'new row')}, such as"
        for row in made[:_SHOWN_ROWS]:
            yield "  " + ", ".join(f"{k} {visible(v)}" for k, v in row.items())
    yield from _left(prepared, units)
    yield from (f"{f.severity}: {f.sentence()}" for f in findings[:_SHOWN_LINES])
    if len(findings) > _SHOWN_LINES:
        yield f"and {units.plural(len(findings) - _SHOWN_LINES, 'finding')} more"
    if prepared.comb_g:
        yield (
            f"Together: {units.mass(prepared.wax_g)} of wax from {units.mass(prepared.comb_g)} of comb, "
            f"{units.share(prepared.wax_g / prepared.comb_g)}."
        )


def _left(prepared: Prepared, units: Units) -> Iterator[str]:
    skipped = prepared.taken.skipped
    yield from (f"line {s.line} is left out: {visible(s.why)}" for s in skipped[:_SHOWN_LINES])
    if len(skipped) > _SHOWN_LINES:
        yield f"and {units.plural(len(skipped) - _SHOWN_LINES, 'line')} more; --json lists them"
    if prepared.known:
        yield f"{units.plural(prepared.known, 'line')} taken over before: left as they are"
    if "passes" in prepared.rows and "blocks" not in prepared.rows:
        yield "Their wax counts as set aside until you record its blocks, or what became of it."
