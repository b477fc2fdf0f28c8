"""Weights that do not fit: the weighings of a loaded book handed to their analyses."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache, cached_property, partial
from math import sqrt
from typing import Any

from pipeline.analyses.balances_of_book import Records, balances
from pipeline.analyses.possible_slips import Pen
from pipeline.analyses.scale_step_fit import ScaleFit, as_shown, scale_fit
from pipeline.analyses.step_balance import LEAST_SD_G, Balance, Weight
from pipeline.analyses.suspects import Judgement, Suspect, suspects
from pipeline.analyses.usual_losses import Expected, anything
from pipeline.analyses.weighing_network import weighed
from pipeline.answers.checks_and_suspects_agree import Left, Unexplained, beside
from pipeline.answers.weights_as_typed import TypedWeights
from pipeline.book.book_settings import Book, Scale
from pipeline.contract import shipped_files
from pipeline.contract.findings import log_name
from pipeline.contract.log_columns import LOGS
from pipeline.database.connection import Warehouse
from pipeline.database.model_order import in_order
from pipeline.database.shipped_queries import Query, queries, query
from pipeline.flow import Loaded
from pipeline.wording import slip_sentences
from pipeline.wording.amounts import Units
from pipeline.wording.slip_sentences import Untested

_WEIGHED_LOGS = ("harvests", "loads", "passes", "steps", "blocks", "draws", "stocktakes")
_TO_BALANCE = ("sessions_to_balance", "stores_to_balance")

LATEST = 1000
"""A report of a bigger book balances so many of its latest sessions."""


@dataclass(frozen=True, slots=True)
class Balanced:
    """One weighing in a balance: where it stands, as weighed and as reconciled, g.

    ``weighed_g`` is None where nobody weighed it, ``likely_g`` where nothing says what it was.
    """

    name: str
    weighed_g: float | None
    likely_g: float | None


@dataclass(frozen=True, slots=True)
class Placed:
    """A suspect with its place in the file (``line`` and ``column`` None: a row that is missing); masses in g.

    ``kind``: what happened, in a word or two; ``likely``: the name that was meant, where that is the slip. ``balance``:
    the weighings of its session, as weighed and as reconciled.
    """

    log: str
    line: int | None
    column: str | None
    value_g: float | None
    likely_g: float | None
    reason: str
    chance: float
    session: str | None = None
    balance: tuple[Balanced, ...] = ()
    likely: str | None = None
    kind: str = "other"


_IN_JSON = ("log", "line", "column", "value_g", "likely_g", "likely", "reason", "chance", "kind")


@dataclass(frozen=True, slots=True)
class StepBalance:
    """One step of a session, g: what went in and came out as weighed, what is missing, and the same once reconciled.

    None where something on that side was not weighed, or nothing tells its mass.
    """

    step: str
    in_g: float | None
    out_g: float | None
    gap_g: float | None
    reconciled_gap_g: float | None


@dataclass(frozen=True, slots=True)
class SessionBalance:
    """A session's steps, and every weighing in them as weighed and as reconciled."""

    session: str
    steps: tuple[StepBalance, ...]
    weighings: tuple[Balanced, ...]


@dataclass(frozen=True)
class Fit:
    """How a book's weighings fit together, in ``sessions`` of its ``of`` sessions; masses in g.

    ``scale``: where the book's own differences are larger than its scale is said to make them.
    """

    loaded: Loaded
    files: TypedWeights
    verdict: Judgement
    scale: ScaleFit | None
    sessions: int
    of: int

    def in_json(self) -> list[dict[str, Any]]:
        """For other programs: the suspects, then what the checks warn of and no slip explains."""
        told = [*self.suspects, *map(self._told, self.unexplained.alone)]
        return [{key: getattr(s, key) for key in _IN_JSON} | {"log": log_name(s.log)} for s in told]

    @cached_property
    def unexplained(self) -> Unexplained:
        """What the checks warn of beside the suspects."""
        return beside(self.loaded.findings, self.verdict, self.line, self.sessions == self.of)

    def _told(self, left: Left) -> Placed:
        f, value_g = left.finding, left.weight.mass_g if left.weight else None
        words = slip_sentences.unexplained("", f.message)
        return Placed(f.log, f.line, f.column, value_g, None, words, left.chance, kind="unexplained")

    @cached_property
    def suspects(self) -> tuple[Placed, ...]:
        """The weights that do not fit, most likely first."""
        return tuple(self._placed(s) for s in self.verdict.suspects)

    def _placed(self, s: Suspect) -> Placed:
        line = None if s.row is None else self.line(s.log, s.row)
        masses, shown = (s.value_g, s.likely_g), (s.session, self.session(s.session))
        place = (self.file(s.log), line, s.column)
        return Placed(*place, *masses, self._reason(s), s.chance, *shown, s.slip.likely, s.kind)

    def _reason(self, s: Suspect) -> str:
        book = self.loaded.book
        typed = ("", "")
        if s.row is not None and s.value_g is not None:
            cell = self.files.typed(Weight(s.log, s.row, str(s.column), s.value_g))
            typed = (cell.text, cell.unit)
        words = slip_sentences.reason(s.slip, s.balance, typed, book.vessels, Units.of(book, s.log))
        words = slip_sentences.TWO + words if s.paired else words
        cells = [self.place(w) for w in s.among]
        return f"one of these ({'; '.join(cells)}): {words}" if cells else words

    @cached_property
    def untested(self) -> list[Untested]:
        """The weights that nothing tests, by column and by what would have told."""
        many = Counter((w.log, w.column, more) for w, more in self.verdict.untested)
        return [Untested(*key, n) for key, n in sorted(many.items())]

    def file(self, log: str) -> str:
        """The name of a log's file."""
        return self.loaded.run.files.get(log, LOGS[log].file)

    def line(self, log: str, row: int) -> int | None:
        """The physical line of a row."""
        return self.files.line(log, row)

    def knows(self, session: str) -> bool:
        """Whether a session has passes that can be used."""
        return bool(self.loaded.warehouse.rows("SELECT 1 FROM passes WHERE session = ? LIMIT 1", [session]))

    def place(self, weight: Weight) -> str:
        """Where a weight stands, for people."""
        return f"{self.file(weight.log)} line {self.line(weight.log, weight.row)}, {weight.column}"

    def steps(self, session: str) -> list[Balance]:
        """The balances that a session is part of, in the order of the work."""
        return self._steps.get(session, [])

    @cached_property
    def _steps(self) -> dict[str, list[Balance]]:
        found: dict[str, list[Balance]] = defaultdict(list)
        for b in self.verdict.weighed.balances:
            if b.session is not None and b.kind != "yield":
                found[b.session].append(b)
        return found

    def gap(self, balance: Balance) -> float | None:
        """What goes missing at a balance once reconciled, g; None where nothing tells one of its masses."""
        masses = self._masses([balance])
        into, out = ([masses[w] for w in side] for side in (balance.into, balance.out))
        return None if None in into or None in out else sum(g or 0.0 for g in into) - sum(g or 0.0 for g in out)

    def session(self, session: str | None) -> tuple[Balanced, ...]:
        """Every weighing of a session, as weighed and as reconciled."""
        steps = [] if session is None else self.steps(session)
        cells = dict.fromkeys(w for b in steps for w in (*b.into, *b.out))
        masses = self._masses(steps)
        return tuple(Balanced(self.place(w), w.mass_g, masses[w]) for w in cells)

    def balance(self, session: str) -> SessionBalance:
        """The balances of a session, one after the other."""
        return SessionBalance(session, tuple(map(self._step, self.steps(session))), self.session(session))

    def _step(self, b: Balance) -> StepBalance:
        """One balance; a side of which something was not weighed has no sum as weighed."""
        sides = ((b.into, b.in_g), (b.out, b.out_g))
        into, out = (None if any(w.mass_g is None for w in side) else g for side, g in sides)
        gap = None if into is None or out is None else into - out
        return StepBalance(slip_sentences.step(b), into, out, gap, self.gap(b))

    def _masses(self, balances: Sequence[Balance]) -> dict[Weight, float | None]:
        """The masses in these balances, reconciled, or what the others leave for them."""
        kept, derived = self.verdict.masses, self.verdict.derived(balances)
        return {w: derived[w] if w in derived else kept[w] for b in balances for w in (*b.into, *b.out)}


def asked() -> list[Query]:
    """All that is asked of a book's tables to balance its weighings."""
    names = (*(f"weighed_{log}" for log in _WEIGHED_LOGS), "unweighed_pours", *_TO_BALANCE)
    return [query("answers/queries", name) for name in names]


def fit(loaded: Loaded, latest: int | None = None) -> Fit:
    """Balance every weighing of the book, or of its ``latest`` sessions, and look for slips."""
    book, warehouse = loaded.book, loaded.warehouse
    looked_at = _look(warehouse, latest)
    steps = balances(_records(warehouse))
    reads = partial(uncertainty, cache(book.scale))
    scale = scale_fit(steps, reads)
    found = weighed(steps, as_shown(reads, scale), _expected(book))
    files = TypedWeights(loaded, found.weights)
    verdict = suspects(found, Pen(cache(files.typed), book.vessels, lambda log: book.scale(log).step_g))
    return Fit(loaded, files, verdict, scale, *looked_at)


def _expected(book: Book) -> Expected:
    """The shares of wax that kinds of comb give: the shipped ranges, the book's own kinds in their place."""
    ranges: dict[tuple[str, str], tuple[float, float]] = {
        (r["comb"], r["method"]): (float(r["low"]), float(r["high"])) for r in shipped_files.reference("yield_priors")
    }

    def expected(comb: str | None, method: str | None) -> tuple[float, float]:
        if comb in book.comb_kinds:
            return book.comb_kinds[comb]
        mine = [v for (kind, way), v in ranges.items() if kind == comb and way in (method, "")]
        return mine[0] if mine else anything(comb, method)

    return expected


def _look(warehouse: Warehouse, latest: int | None) -> tuple[int, int]:
    """Choose the sessions to look at, all or so many of the latest; how many that are, and of how many."""
    for name in _TO_BALANCE:
        warehouse.set_aside(name, [latest])
    (found,) = warehouse.rows(
        "SELECT (SELECT count(*) FROM sessions_to_balance) AS n, (SELECT count(*) FROM sessions) AS of"
    )
    return found["n"], found["of"]


def _records(warehouse: Warehouse) -> Records:
    """The rows that hold weighings of what is looked at."""
    rows = {log: warehouse.ask(f"weighed_{log}") for log in _WEIGHED_LOGS}
    return Records(**rows, unweighed_pours=[r["date"] for r in warehouse.ask("unweighed_pours")])


def uncertainty(scale: Callable[[str], Scale], log: str, mass_g: float) -> float:
    """Standard uncertainty of one weighing, g, by the log's scale; a milligram at least, so that no balance is exact."""
    return max(sqrt(scale(log).variance_g2(mass_g)), LEAST_SD_G)


def reconcile(loaded: Loaded) -> Fit:
    """Put reconciled masses in place of the weighed ones and work out every model again; returns what was found.

    The logs themselves are never touched; a weight that is most likely a slip counts as not weighed.
    """
    found = fit(loaded)
    warehouse = loaded.warehouse
    cells = found.verdict.masses
    columns = [[w.log for w in cells], [w.row for w in cells], [w.column for w in cells], list(cells.values())]
    warehouse.set_aside("reconciled_masses", columns)
    for log, column in sorted({(w.log, w.column) for w in cells}):
        warehouse.execute(
            f'UPDATE "{log}" SET "{column}_g" = mass::DECIMAL(18, 6) FROM reconciled_masses '
            f"WHERE log = '{log}' AND column_name = '{column}' AND cell = \"{log}\".row"
        )
    warehouse.run(in_order(queries("models")))
    return found
