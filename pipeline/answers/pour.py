"""What to lay beside the scale for one batch: what the book knows of its recipe, vessel, wick, and earlier pours."""

from __future__ import annotations

from dataclasses import dataclass
from difflib import get_close_matches

from pipeline.analyses import pour_sheet
from pipeline.analyses.candle_ingredients import Candle
from pipeline.analyses.flaw_evidence import NO_FAULT, words
from pipeline.analyses.pour_sheet import Block, Done, Pour, PourSheet, UsualPour, Workshop, usual
from pipeline.answers import wick
from pipeline.answers.candle_kinds import candle_kinds
from pipeline.answers.flaws import cures, known_flaws
from pipeline.flow import Loaded


@dataclass(frozen=True, slots=True)
class PourAnswer:
    """The sheet of one batch and what the book knows beside it; lengths in mm, masses in g.

    ``wick_chance``: how sure burn tests are of the wick, None where none says. ``last``: the last pour of the kind;
    ``cures``: what to change for each of its flaws. ``vats``: what each vessel that must stay full holds.
    """

    sheet: PourSheet
    candle: Candle
    diameter_mm: float | None
    height_mm: float | None
    wick: str | None
    wick_chance: float | None
    pour: UsualPour | None
    scent: UsualPour | None
    room: UsualPour | None
    last: Done | None
    cures: tuple[str, ...]
    vats: dict[str, float]
    small_step_g: float


def pour(loaded: Loaded, batch: str, light: bool = False) -> PourAnswer | None:
    """The sheet for a batch; None where there is no such batch. ``light``: the lightest blocks first."""
    known = {c.candle: c for c in candle_kinds(loaded)}
    rows = loaded.warehouse.rows("SELECT * FROM batches ORDER BY row")
    pours = [
        Pour(r["batch"], r["date"], r["count"], r["status"], known[r["candle"]]) for r in rows if r["candle"] in known
    ]
    this = next((p for p in pours if p.batch == batch), None)
    if this is None:
        return None
    planned = sorted((p for p in pours if p.status == "planned"), key=lambda p: p.date)
    blocks = loaded.warehouse.ask("blocks_to_pour")
    shelf = [Block(r["block"], r["date"], float(r["mass_g"]), r["colour"]) for r in blocks]
    small_step_g = min(s.step_g for s in (loaded.book.scale(""), *loaded.book.scales.values()))
    at = Workshop(loaded.book.densities, loaded.book.scale("draws").step_g, small_step_g, light)
    return _answer(loaded, pour_sheet.sheet(this, planned, shelf, at), this.candle, small_step_g)


def _answer(loaded: Loaded, sheet: PourSheet, candle: Candle, small_step_g: float) -> PourAnswer:
    tested = wick.wick(loaded, candle.candle)
    assert tested is not None, "a batch's candle is one of the book's"
    chosen = tested.spoken_for
    done = _done(loaded, candle.candle)
    return PourAnswer(
        sheet=sheet,
        candle=candle,
        diameter_mm=tested.kind.diameter_mm,
        height_mm=tested.kind.height_mm,
        wick=chosen or candle.wick,
        wick_chance=next((c.chance for c in tested.choice.chances if c.wick == chosen), None),
        pour=usual(done, "pour"),
        scent=usual(done, "scent"),
        room=usual(done, "room"),
        last=done[-1] if done else None,
        cures=cures(done[-1].flaws) if done else (),
        vats=loaded.book.vats,
        small_step_g=small_step_g,
    )


def _done(loaded: Loaded, candle: str) -> list[Done]:
    """The poured batches of a kind, oldest first; a natural bloom is no flaw."""
    return [
        Done(**r, flawless=words(r["flaws"], known_flaws())[0] <= {NO_FAULT})
        for r in loaded.warehouse.ask("poured_batches", [candle])
    ]


def names_like(loaded: Loaded, batch: str) -> list[str]:
    """Batches of which one may be meant: names alike, else the last three."""
    known = [r["batch"] for r in loaded.warehouse.rows("SELECT batch FROM batches ORDER BY row")]
    return get_close_matches(batch, known, n=3) or known[-3:]
