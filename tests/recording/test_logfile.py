"""Rows are added and cells changed; every byte that was there stays."""

import csv
import io
from itertools import product
from typing import Literal

import pytest

from pipeline.contract.log_columns import LOGS
from pipeline.recording.log_bytes import LogFile, UnfitForWriting

ROWS = [
    ["harvest", "date", "comb", "mass_kg", "hive no", "notes"],
    ["A1", "2025-06-01", "cappings", "2.5", "7", "the first\nof the year"],
    ["A2", "2025-06-08", "brood comb", "1.25", "", 'said "wet"; left, dried'],
]
NEW = ["A3", "2025-07-01", "cappings", "0.9", "", "Höslwang; all, of it"]


def rows(newline: str) -> list[list[str]]:
    """The log's rows, with the line break inside a cell written as the log writes its own."""
    return [[cell.replace("\n", newline) for cell in row] for row in ROWS]


DIALECTS = list(
    product(
        [",", ";", "\t"],
        ["\n", "\r\n", "\r"],
        ["utf-8", "utf-8-bom", "cp1252", "utf-16-le", "utf-16-be"],
        [True, False],
    )
)


def log_bytes(
    separator: str, newline: str, encoding: str, final_newline: bool, quoting: Literal[0, 1] = csv.QUOTE_MINIMAL
) -> bytes:
    held = io.StringIO(newline="")
    csv.writer(held, delimiter=separator, lineterminator=newline, quoting=quoting).writerows(rows(newline))
    text = held.getvalue() if final_newline else held.getvalue().removesuffix(newline)
    if encoding == "utf-8-bom":
        return text.encode("utf-8-sig")
    mark = {"utf-16-le": b"\xff\xfe", "utf-16-be": b"\xfe\xff"}.get(encoding, b"")
    return mark + text.encode(encoding)


def cells(data: bytes, separator: str, encoding: str) -> list[list[str]]:
    text = data.decode(encoding).removeprefix("\ufeff")
    return list(csv.reader(io.StringIO(text, newline=""), delimiter=separator))


@pytest.mark.parametrize(("separator", "newline", "encoding", "final"), DIALECTS)
def test_an_added_row_leaves_every_byte_before_it(separator: str, newline: str, encoding: str, final: bool) -> None:
    before = log_bytes(separator, newline, encoding, final)
    plain = encoding.removesuffix("-bom")
    after = LogFile.decoded(before, plain, separator).with_rows([NEW]).encoded()
    assert after.startswith(before)
    assert cells(after, separator, plain) == [*rows(newline), NEW]
    added = after[len(before) :].decode(plain)
    assert added.endswith(newline)
    assert added.count(newline) == (1 if final else 2)


@pytest.mark.parametrize(("separator", "newline", "encoding", "final"), DIALECTS)
def test_a_changed_cell_leaves_every_byte_around_it(separator: str, newline: str, encoding: str, final: bool) -> None:
    before = log_bytes(separator, newline, encoding, final)
    plain = encoding.removesuffix("-bom")
    log = LogFile.decoded(before, plain, separator)
    after = log.with_cell(log.records[2], 3, "1.3").encoded()
    assert after == before.replace("1.25".encode(plain), "1.3".encode(plain))
    assert log.records[2].line == 4, "the quoted line break of the first row counts as a line"


HARVEST = LOGS["harvests"]
ODD_CELLS = ("", "B", " B", "B, C", 'B "C"', '"B', "two\nlines", "\n", "\r", "2025-07-01", '9"')


@pytest.mark.parametrize("above", ["harvest,date,notes\n", "harvest,date,notes\r\nA1,2025-06-01", "sep=,\nharvest,date,notes\n\nA1\n"])
def test_a_row_below_lines_without_a_quote_is_written_where_the_whole_log_then_says_what_was_meant(above: str) -> None:
    """The end alone is read again; read as a whole the log must give the same answer."""
    log = LogFile.decoded(above.encode(), "utf-8", ",", HARVEST)
    held = [list(record.cells) for record in log.records]
    for row in map(list, product(ODD_CELLS, repeat=3)):
        written = ",".join(log._cell(cell) for cell in row)
        end = "" if above.endswith("\n") else log.style.newline
        whole = LogFile(log.style, above + end + written + log.style.newline, HARVEST)
        is_meant = [list(r.cells) for r in whole.records] == [*held, [cell.strip(" ") for cell in row]]
        try:
            assert log.with_rows([row]).text == whole.text
            assert is_meant, row
        except UnfitForWriting:
            assert not is_meant, row


def test_a_fully_quoted_log_stays_fully_quoted() -> None:
    before = log_bytes(",", "\n", "utf-8", True, csv.QUOTE_ALL)
    after = LogFile.decoded(before, "utf-8", ",").with_rows([NEW]).encoded()
    assert after[len(before) :].decode().startswith('"A3","2025-07-01","cappings"')


def test_bytes_that_the_code_page_has_no_letter_for_survive() -> None:
    before = b"harvest,date,notes\nA1,2025-06-01,odd \x81\x8d bytes\n"
    after = LogFile.decoded(before, "cp1252", ",").with_rows([["A2", "2025-06-02", "Größe"]]).encoded()
    assert after == before + "A2,2025-06-02,Größe\n".encode("cp1252")


def test_a_letter_that_the_code_page_lacks_is_refused_by_name() -> None:
    log = LogFile.decoded(b"harvest,notes\n", "cp1252", ",").with_rows([["A2", "łąka"]])
    with pytest.raises(UnfitForWriting, match="no letter 'ł'"):
        log.encoded()


def test_a_row_is_never_lost_in_a_quote_left_open() -> None:
    log = LogFile.decoded(b'harvest,notes\nA1,"left open\n', "utf-8", ",").with_rows([["A2", ""]])
    assert [r.cells for r in log.records] == [("harvest", "notes"), ("A1", "left open"), ("A2", "")]
    assert [bool(r.fault) for r in log.records] == [False, True, False]


def test_an_inch_mark_inside_a_cell_is_no_open_quote() -> None:
    before = b'harvest,notes\nA1,frames of 9" depth\n'
    assert LogFile.decoded(before, "utf-8", ",").with_rows([["A2", ""]]).encoded() == before + b"A2,\n"


def test_a_new_column_is_added_to_the_header_and_every_row_stays_as_long_as_it() -> None:
    before = b"harvest,date\r\nA1,2025-06-01\r\n\r\nA2\r\n"
    after = LogFile.decoded(before, "utf-8", ",").with_columns(["hive", "notes"]).encoded()
    assert after == b"harvest,date,hive,notes\r\nA1,2025-06-01,,\r\n\r\nA2,,,\r\n"


def test_a_cell_beyond_a_short_row_fills_it_up() -> None:
    log = LogFile.decoded(b"a,b,c,d\n1,2\n", "utf-8", ",")
    assert log.with_cell(log.records[1], 3, "x,y").encoded() == b'a,b,c,d\n1,2,,"x,y"\n'


def test_a_space_before_a_quote_moves_no_cell() -> None:
    """A row that a person typed with a space behind each comma; residue was once written over wax_out."""
    before = b'session,pass,date,method,filter,wax_out_g,residue_g,notes\nS1,1,2026-05-02,solar, "felt, double",1000,200,\n'
    log = LogFile.decoded(before, "utf-8", ",")
    assert log.records[1].cells == ("S1", "1", "2026-05-02", "solar", "felt, double", "1000", "200", "")
    assert log.with_cell(log.records[1], 6, "150").encoded() == before.replace(b",200,", b",150,")


def test_a_text_that_would_be_read_as_something_else_is_not_written() -> None:
    log = LogFile.decoded(b'harvest,notes,hive no\nA1,"left open\nB"\n', "utf-8", ",")
    with pytest.raises(UnfitForWriting, match="line 2"):
        log.with_cell(log.records[1], 1, "x\n,,")


def test_a_row_below_a_quote_left_open_stays_a_row() -> None:
    log = LogFile.decoded(b'harvest,notes,hive no\nA1,"left open\n', "utf-8", ",").with_rows([[", x", "y", "z"]])
    assert [record.cells for record in log.records[1:]] == [("A1", "left open"), (", x", "y", "z")]
