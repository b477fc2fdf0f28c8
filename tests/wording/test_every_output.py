"""What every command writes: nothing that steers a terminal, and each amount in the units of the book."""

from __future__ import annotations

import ast
import json
import re
from pathlib import Path

import pytest

from tests import books
from tests.books import ROOT, write

STEERS = re.compile("[\x00-\x09\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ud800-\udfff]")
"""C0 and C1 controls (ECMA-48) but the line end, and what turns writing round (UAX 9)."""
EVIL = "\x1b]0;owned\x07\x1b[31m\u202egnp.exe\x9b5n"
"""A window title, a colour, a turned-round ending, and a C1 control that asks the terminal for an answer."""
COMMANDS = (
    "check", "check --rules", "yields --by apiary", "yields --by hive", "yields --by session", "losses --by filter", "losses --by method",
    "flow --by method", "flow", "stock", "capacity", "plan", "mix", "trend", "suspects", "suspects --show R1", "backtest", "flaws", "market",
    "pour P1", "wick jar", "trace 'block B1'", "build", "undo",
)  # fmt: skip


def hostile(folder: Path, wrong: bool = False) -> Path:
    """Every free text and every name of a setting tries to steer; where it is wrong a number and a date, too, so that messages quote them."""
    name = EVIL.replace("\x1b", "\\u001B").replace("\x07", "\\u0007").replace("\u202e", "\\u202E").replace("\x9b", "\\u009B")
    return write(
        folder, f'name = "{name}"\n[methods]\nnames = ["{name}"]\n[comb_kinds]\n"{name}" = {{ low = 0.2, high = 0.9 }}\n' + (f'"{name}2" = 3\n' if wrong else ""),
        harvests=f"harvest,date,comb,mass_g,apiary,hive,hold,notes,{EVIL}\nH1,2026-05-01,{EVIL},4000,{EVIL},{EVIL},,{EVIL},1\n"
                 f"H2,2026-05-02,cappings,900,{EVIL},{EVIL},{EVIL},{EVIL},1" + (f"\nH3,2026-05-{EVIL},cappings,9{EVIL},x,y,,,1" if wrong else ""),
        loads=f"session,source,mass_g,notes\nR1,H1,4000,{EVIL}" + (f"\nR1,H9{EVIL},4," if wrong else ""),
        passes=f"session,pass,date,method,mass_in_g,wax_out_g,residue_g,filter,notes\nR1,1,2026-05-03,{EVIL},4000,4200,500,{EVIL},{EVIL}",
        blocks=f"block,date,mass_g,session,place,notes\nB1,2026-05-05,1990,R1,{EVIL},{EVIL}",
        blends=f"blend,wax_pct,oil,oil_pct,scent,scent_pct\nplain,90,{EVIL},10,{EVIL},3",
        candles=f"candle,form,blend,fill_mass_g,notes\njar,container,plain,150,{EVIL}",
        batches=f"batch,date,candle,count,status,notes\nP1,2026-11-20,jar,40,planned,{EVIL}",
        sales=f"date,candle,count,price,place\n2026-06-09,jar,1,9,{EVIL}",
    )  # fmt: skip


@pytest.fixture(scope="module")
def sound(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return hostile(tmp_path_factory.mktemp("hostile"))


@pytest.fixture(scope="module")
def faulty(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return hostile(tmp_path_factory.mktemp("hostile"), wrong=True)


def held_back(book: Path, command: str, *more: str) -> None:
    """What the command writes steers nothing; JSON is JSON."""
    name, *rest = re.findall(r"'[^']*'|\S+", command)
    done = books.run(name, book, *(r.strip("'") for r in rest), *more)
    assert done.out + done.err
    assert not STEERS.search((done.out + done.err).replace("\n", ""))
    assert done.code in (0, 1, 2), done.err
    if "--json" in more and done.code != 2 and done.out:
        json.loads(done.out)


@pytest.mark.parametrize("form", [(), ("--json",)], ids=["people", "json"])
def test_no_cell_or_name_steers_a_terminal(sound: Path, form: tuple[str, ...]) -> None:
    for command in COMMANDS:
        held_back(sound, command, *form)


@pytest.mark.parametrize("command", ["check --rules", "suspects", "yields --by hive --leave-out", "build --leave-out"])
def test_no_message_steers_a_terminal(faulty: Path, command: str) -> None:
    held_back(faulty, command)


def test_json_keeps_the_bytes(faulty: Path) -> None:
    """What steers is written as an escape (RFC 8259, 7), so that a program reads back what the cell holds."""
    told = books.run("check", faulty, "--json")
    assert f"9{EVIL}" in {problem["value"] for problem in told.json["problems"]}
    assert "\\u001b" in told.out


POUNDS = '[show]\nmass = "lb oz"\nlength = "in"\ntemperature = "F"\n'
ASKED = (
    "check", "yields --by season", "losses --by season", "flow", "flow --by season", "stock", "capacity", "plan", "mix", "suspects",
    "pour P26-5", "market", "wick 'jar large'", "flaws", "suspects --show R25-2", "trace 'block B26-03'", "sheet", "sheet --xlsx",
)  # fmt: skip


@pytest.fixture(scope="module")
def american(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo as an American keeper sees it: pounds and ounces, inches, °F, month first."""
    folder = tmp_path_factory.mktemp("american")
    for file in (ROOT / "data" / "demo").glob("*.csv"):
        (folder / file.name).write_bytes(file.read_bytes())
    settings = (ROOT / "data" / "demo" / "book.toml").read_text("utf-8")
    settings = re.sub(r"\[show\].*?\n(?=\n)", POUNDS, settings, flags=re.S).replace('dates = "iso"', 'dates = "month-first"')
    (folder / "book.toml").write_text(settings, "utf-8")
    return folder


OTHER_WAYS = re.compile(
    r"\b(in|out of) (five|ten)\b|\b(times|days|cases) (in|of|out of) (10|ten|five)\b|of (all |ten )?cases\b|%[ -]interval|\d%( [a-z]|$)|10 (to|and|-) 90\b"
)
"""Ways to say a chance or how much a range holds that are not ``80 % range`` and ``with a chance of 90 %``."""


@pytest.mark.parametrize("page", sorted((ROOT / "tests" / "golden").glob("*.txt")), ids=lambda p: p.stem)
def test_a_page_says_chances_in_one_way(page: Path) -> None:
    assert not [line for line in page.read_text("utf-8").splitlines() if OTHER_WAYS.search(line)]


def test_no_text_for_people_says_chances_otherwise() -> None:
    """Every text in the code that shows something to people, and the README: what no output of the demo happens to say, too."""
    rooms = ("wording", "report", "web", "cli", "recording", "old_records", "export")
    texts = [(f, node.value) for room in rooms for f in (ROOT / "pipeline" / room).rglob("*.py")
             for node in ast.walk(ast.parse(f.read_text("utf-8"))) if isinstance(node, ast.Constant) and isinstance(node.value, str)]  # fmt: skip
    texts += [(f, f.read_text("utf-8")) for f in (ROOT / "README.md", ROOT / "data" / "demo" / "README.md", *(ROOT / "pipeline" / "web").glob("*.html"))]
    assert not [(f.name, found.group()) for f, text in texts if (found := OTHER_WAYS.search(text))]


@pytest.mark.parametrize("command", ASKED)
def test_a_book_in_pounds_and_ounces_is_told_nothing_else(american: Path, command: str) -> None:
    name, *rest = re.findall(r"'[^']*'|\S+", command)
    out = ("--out", american / "out") if name == "sheet" else ()
    done = books.run(name, american, *(r.strip("'") for r in rest), *out)
    assert done.code == 0, done.err
    other = r"\d ?(?:kg|g|mm|°C)\b(?! \()"  # a published limit stands in both: 10 mm (3/8 in)
    assert not re.search(other, done.out), re.findall(f".*{other}.*", done.out)
    assert not re.search(r"(?<![.\d])1[6-9](\.\d)? oz|lb -|--\d", done.out)
    assert not OTHER_WAYS.search(done.out)


def test_a_date_on_the_command_line_comes_in_the_order_of_the_book(american: Path) -> None:
    iso, typed = (books.run("stock", american, "--on", day, "--json").json for day in ("2025-12-01", "12/1/2025"))
    assert typed == iso
    assert books.run("stock", "--on", "12/1/2025", american, "--json").json == iso  # before BOOK, too
    told = books.run("stock", american, "--on", "12/1/2025").out
    assert "Dec 1, 2025" in told
    wrong = books.run("stock", american, "--on", "31/12/2025")
    assert (wrong.code, "was 12/31/2025 meant?" in " ".join(wrong.err.split())) == (2, True)
    unsure = books.run("stock", "data/demo", "--on", "12/1/2025")
    assert unsure.code == 2
    assert "does not say which is the day" in " ".join(unsure.err.split())
