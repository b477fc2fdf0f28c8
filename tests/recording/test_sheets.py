"""Paper and spreadsheet: one page to print, a workbook that reads back, each row once."""

import shutil
import subprocess
import zipfile
from datetime import date, datetime
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest

from pipeline.contract.findings import MachineFault
from pipeline.recording import fill_in_workbook, paper_sheet, record_and_undo
from tests.web.test_recording_browser import CHROMIUM_FLAGS, chromium

openpyxl = pytest.importorskip("openpyxl", reason="the xlsx extra is not installed")

TODAY = date(2025, 9, 1)


@pytest.fixture(autouse=True)
def _few_rows(monkeypatch: pytest.MonkeyPatch) -> None:
    """To read a workbook of 400 rows a sheet takes longer than what is asked of it."""
    monkeypatch.setattr(fill_in_workbook, "_ROWS", 20)


@pytest.fixture
def book(tmp_path: Path) -> Path:
    folder = tmp_path / "Larkmoor"
    folder.mkdir()
    (folder / "book.toml").write_text(
        'name = "Larkmoor"\n[show]\nmass = "lb"\n[methods]\nnames = ["infrared lamp"]\n', encoding="utf-8"
    )
    (folder / "blocks.csv").write_text("block,date,mass_kg,supplier\nB1,2025-01-01,3,Ann\n")
    (folder / "draws.csv").write_text("date,block,mass_kg,use\n")
    return folder


@cache
def _made(files: tuple[tuple[str, bytes], ...]) -> bytes:
    """The workbook of a book of these files: made once, as making it takes longer than most of what is asked of it."""
    with TemporaryDirectory() as folder:
        book = Path(folder) / "Larkmoor"
        book.mkdir()
        for name, content in files:
            (book / name).write_bytes(content)
        (path,) = fill_in_workbook.make(book, book / "out", TODAY)
        return path.read_bytes()


def made(book: Path) -> Path:
    """The book's own workbook, empty."""
    path = book / "out" / "Larkmoor.xlsx"
    path.parent.mkdir(exist_ok=True)
    path.write_bytes(_made(tuple(sorted((file.name, file.read_bytes()) for file in book.iterdir() if file.is_file()))))
    return path


def fill(path: Path, **rows: list[list[object]]) -> Path:
    filled = openpyxl.load_workbook(path)
    for log, cells in rows.items():
        for n, row in enumerate(cells, 2):
            for m, value in enumerate(row, 1):
                filled[log].cell(n, m, value)
    filled.save(path)
    return path


def test_the_workbook_reads_back_in_the_books_units(book: Path) -> None:
    path = made(book)
    draws: list[list[object]] = [[TODAY, "B1", 0.5, "candles"], ["2025-09-02", "B1", "5 oz", "sold", None, 12.5]]
    outcome = fill_in_workbook.take_in(book, fill(path, draws=draws), TODAY, yes=True)
    assert isinstance(outcome, record_and_undo.Outcome)
    assert [w.line for w in outcome.written] == [2, 3]
    assert (book / "draws.csv").read_text() == (
        "date,block,mass_kg,use,price\n2025-09-01,B1,0.226796185,candles,\n2025-09-02,B1,0.141747616,sold,12.5\n"
    )


def test_the_same_file_twice_is_noticed_row_by_row_and_two_equal_weighings_both_count(book: Path) -> None:
    path = made(book)
    same: list[object] = [TODAY, "B1", 0.5, "candles"]
    fill_in_workbook.take_in(book, fill(path, draws=[same, same]), TODAY)
    assert (book / "draws.csv").read_text().count("2025-09-01") == 2
    again = fill_in_workbook.take_in(book, fill(path, draws=[same, same, same, [TODAY, "B1", 0.25, "given"]]), TODAY)
    assert isinstance(again, record_and_undo.Outcome)
    assert again.said == (
        "draws row 2 was taken in before and is left out",
        "draws row 3 was taken in before and is left out",
    )
    assert len(again.written) == 2
    third = fill_in_workbook.take_in(book, path, TODAY)
    assert isinstance(third, record_and_undo.Outcome)
    assert third.written == ()
    assert len(third.said) == 4


def test_undo_lets_a_workbook_be_taken_in_again(book: Path) -> None:
    before = (book / "draws.csv").read_bytes()
    path = made(book)
    fill_in_workbook.take_in(book, fill(path, draws=[[TODAY, "B1", 0.5, "candles"]]), TODAY)
    record_and_undo.undo(book)
    assert (book / "draws.csv").read_bytes() == before
    outcome = fill_in_workbook.take_in(book, path, TODAY)
    assert isinstance(outcome, record_and_undo.Outcome)
    assert len(outcome.written) == 1


def test_one_bad_row_stops_the_whole_workbook(book: Path) -> None:
    path = made(book)
    outcome = fill_in_workbook.take_in(book, fill(path, draws=[[TODAY, "B1", 0.5, "candles"], [TODAY, "B7", 0.5, "lost"]]), TODAY)
    assert isinstance(outcome, record_and_undo.Outcome)
    assert {f.rule for f in outcome.findings} == {"unknown-word"}
    assert (book / "draws.csv").read_text() == "date,block,mass_kg,use\n"


def test_the_header_is_locked_the_cells_are_open_and_words_drop_down(book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.undo()
    (path,) = fill_in_workbook.make(book, book / "out", TODAY)
    passes = openpyxl.load_workbook(path)["passes"]
    assert passes.max_row == 400
    assert not passes["A400"].protection.locked
    assert passes.protection.sheet
    assert passes["A1"].protection.locked
    assert not passes["A2"].protection.locked
    assert any("infrared lamp" in str(rule.formula1) for rule in passes.data_validations.dataValidation)
    assert "mass_in_lb" in [cell.value for cell in passes[1]]


def test_the_instructions_come_first_and_their_examples_are_no_rows(book: Path) -> None:
    path = made(book)
    filled = openpyxl.load_workbook(path)
    first = filled.worksheets[0]
    assert (first.title, first.sheet_state, filled.active.title) == ("instructions", "visible", "instructions")
    grey = [cell.value for row in first for cell in row if cell.font.color and cell.font.color.rgb == "00757575"]
    assert {"cappings", "5 lb 4 oz"} <= set(grey)
    outcome = fill_in_workbook.take_in(book, path, TODAY)
    assert isinstance(outcome, record_and_undo.Outcome)
    assert outcome.said == ("the workbook has no filled rows",)


def test_names_are_text_and_a_name_that_became_a_date_is_refused(book: Path) -> None:
    path = made(book)
    passes = openpyxl.load_workbook(path)["passes"]
    assert (passes["A1"].value, passes["A2"].number_format) == ("session", "@")
    said = fill_in_workbook.take_in(book, fill(path, passes=[[datetime(2026, 1, 1), 1, TODAY, "solar", None, 1]]), TODAY)
    assert isinstance(said, str)
    assert "passes row 2, session: the spreadsheet made the date 2026-01-01 of what was typed" in said
    assert "format the cell as text" in said
    assert not (book / "passes.csv").exists()


@pytest.mark.parametrize(
    ("typed", "written_kg"),
    [
        # 1 lb = 453.59237 g, 16 oz to the pound (exact)
        ("1 lb 4 oz", 1.25 * 0.45359237),
        ("3 lb - crock", 0.875 * 0.45359237),
        ("8 oz + 4 oz", 0.75 * 0.45359237),
    ],
)
def test_a_weight_cell_takes_words_sums_and_pots(book: Path, typed: str, written_kg: float) -> None:
    (book / "book.toml").write_text((book / "book.toml").read_text() + '[vessels]\ncrock = "2 lb 2 oz"\n')
    path = made(book)
    outcome = fill_in_workbook.take_in(book, fill(path, draws=[[TODAY, "B1", typed, "candles"]]), TODAY, yes=True)
    assert isinstance(outcome, record_and_undo.Outcome)
    assert outcome.written, outcome.findings
    row = (book / "draws.csv").read_text().splitlines()[1].split(",")
    assert float(row[2]) == pytest.approx(written_kg, abs=1e-5)


def test_the_checks_of_cells_let_through_what_is_read(book: Path) -> None:
    """A rule of a spreadsheet that is a formula over the cell: text passes, a negative number does not."""
    path = made(book)
    rules = openpyxl.load_workbook(path)["passes"].data_validations.dataValidation
    weights = [rule for rule in rules if str(rule.sqref).startswith("F2")]
    assert [(rule.type, rule.formula1) for rule in weights] == [("custom", "OR(ISTEXT(F2),F2>=0)")]
    assert all(rule.errorStyle == "warning" for rule in rules if rule.type == "list")


@pytest.mark.parametrize("content", [b"", b"no workbook", b"PK\x03\x04 broken"])
def test_what_is_no_workbook_is_a_sentence(book: Path, content: bytes) -> None:
    path = book / "odd.xlsx"
    path.write_bytes(content)
    told = fill_in_workbook.take_in(book, path, TODAY)
    assert isinstance(told, str)
    assert told.startswith("odd.xlsx cannot be opened as a workbook")


def test_a_formula_without_its_value_is_refused(book: Path) -> None:
    path = made(book)
    told = fill_in_workbook.take_in(book, fill(path, draws=[[TODAY, "B1", "=1+1", "candles"]]), TODAY)
    assert isinstance(told, str)
    assert "draws row 2, column 3" in told


def test_an_archive_that_unpacks_to_more_than_a_log_is_refused(book: Path) -> None:
    path = book / "bomb.xlsx"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as parts:
        parts.writestr("xl/sharedStrings.xml", b" " * 201_000_000)
    told = fill_in_workbook.take_in(book, path, TODAY)
    assert isinstance(told, str)
    assert "201 MB when unpacked" in told


@pytest.mark.parametrize("marks", [b"[" * 50_000, b"[3]"])
def test_a_damaged_list_of_what_was_taken_in_is_a_sentence(book: Path, marks: bytes) -> None:
    path = made(book)
    (book / ".combtally").mkdir()
    (book / ".combtally" / "taken").write_bytes(marks)
    with pytest.raises(MachineFault, match="damaged"):
        fill_in_workbook.take_in(book, fill(path, draws=[[TODAY, "B1", 0.5, "candles"]]), TODAY)


@pytest.mark.parametrize("name", ["=HYPERLINK('x')", "a\\u0001\\u001B[2J"])
def test_a_books_name_is_no_formula_and_breaks_no_workbook(book: Path, name: str) -> None:
    word = '\n[comb_kinds]\n"odd, \\u0001" = { low = 0.1, high = 0.2 }\n'
    (book / "book.toml").write_text(f'name = "{name}"{word}')
    path = made(book)
    cells = [cell for sheet in openpyxl.load_workbook(path) for row in sheet for cell in row]
    assert not [cell for cell in cells if cell.data_type == "f"]


def test_the_paper_sheet_holds_the_books_units_methods_and_cautions(book: Path) -> None:
    a4, letter = paper_sheet.make(book, book / "out")
    page = a4.read_text(encoding="utf-8")
    assert "Weights in <b>lb</b>" in page
    assert page.count("☐ infrared lamp") == 3, "each pass has its own row of methods to tick"
    assert page.count(">net<") == 7  # comb, loads, three of a pass, blocks, wax taken for a pour
    assert "Dates as <b>2025-08-14</b>" in page
    assert "Test burns" in page
    assert "infrared lamp" in page
    assert "never water" in page
    assert "size: A4" in page
    assert "size: Letter" in letter.read_text(encoding="utf-8")


@pytest.mark.browser
@pytest.mark.parametrize("paper", [0, 1])
def test_the_sheet_prints_on_two_pages(book: Path, paper: int, tmp_path: Path) -> None:
    pypdf = pytest.importorskip("pypdf")
    more = '\n[comb_kinds]\n"heather comb" = { low = 0.3, high = 0.7 }\n'
    (book / "book.toml").write_text((book / "book.toml").read_text() + more, encoding="utf-8")
    printed = tmp_path / "sheet.pdf"
    path = paper_sheet.make(book, book / "out")[paper]
    command = [chromium(), *CHROMIUM_FLAGS, f"--user-data-dir={tmp_path / 'profile'}", "--no-pdf-header-footer"]
    subprocess.run([*command, f"--print-to-pdf={printed}", path.as_uri()], check=True, capture_output=True, timeout=120)
    assert len(pypdf.PdfReader(printed).pages) == 2
    shutil.rmtree(tmp_path / "profile", ignore_errors=True)
