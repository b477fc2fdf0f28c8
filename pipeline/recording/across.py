"""The rules of ``checks/`` that a new row can break, asked of that row and the few rows it leads to.

Each bears its check's name. ``tests/recording/test_one_row_against_checks.py`` holds both to one another on random books.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Set
from dataclasses import dataclass
from fractions import Fraction

from pipeline.contract.columns import Column, Log
from pipeline.contract.findings import Severity
from pipeline.contract.log_columns import LOGS
from pipeline.contract.quantities import Refusal
from pipeline.reading.reading_rules import required_told
from pipeline.recording import links
from pipeline.recording.names import Names, Row, number

_SUM_SLACK = Fraction(1, 20)  # per cent, as in checks/recipe-sum.sql


@dataclass(frozen=True, slots=True)
class Doubt:
    """What is wrong with a row: the column, why, and how much it matters."""

    column: str
    why: Refusal
    severity: Severity = Severity.ERROR


Rule = Callable[[Names, Row], Iterator[Doubt]]


def broken(names: Names, log: Log, row: Row, whole: bool = True) -> list[Doubt]:
    """What one row, as it would stand in the log among all the others, breaks.

    Of a row whose cells could not all be read (``whole`` False) only its names are looked at.
    """
    rules = _RULES.get(log.name, ()) if whole else ()
    return [
        *_doubled(names, log, row),
        *_led_nowhere(names, log, row),
        *(d for rule in rules for d in rule(names, row)),
    ]


def gaps(log: Log, filled: Set[str]) -> Iterator[Doubt]:
    """Required columns left empty, and groups of columns of which the wrong number is filled."""
    yield from (Doubt(c.name, required_told(log, c)) for c in log.columns if c.required and c.name not in filled)
    for group, most in [*((g, 1) for g in log.one_of), *((g, len(g)) for g in log.any_of)]:
        count = len(filled & set(group))
        if not 1 <= count <= most:
            words = "exactly one" if most == 1 else "at least one"
            rule = "one-of-several" if most == 1 else "any-of-several"
            told = f"{count} of {', '.join(group)} are filled, and {words} must be"
            yield Doubt(group[0], Refusal(rule, told, f"fill {words} of them"))


def left_behind(names: Names, log: Log, name: str) -> Iterator[Doubt]:
    """The logs that go on naming a row by a key that it no longer has."""
    if not log.key or names.named(log.name, name):
        return
    places = [(o.name, c.name, name) for o in LOGS.values() for c in o.columns if c.refers == log.name]
    for kinds, where, column, _ in links.BARE:
        places += [(where, column, n) for kind, o in kinds.items() if o == log.name for n in (name, f"{kind} {name}")]
    for where, column, told in places:
        if names.rows(where, column, told):
            why = Refusal("unknown-reference", f"{LOGS[where].file} goes on naming {told}", f"change its {column} too")
            yield Doubt(log.key[0], why, Severity.WARNING)


def _doubled(names: Names, log: Log, row: Row) -> Iterator[Doubt]:
    if log.key and all(row.get(part) for part in log.key) and len(names.same_key(log, row)) > 1:
        key = "/".join(row[part] for part in log.key)
        told = f"{log.key[0]} {key} is in the log already"
        yield Doubt(log.key[0], Refusal("double-key", told, "give this one a name of its own"))


def _led_nowhere(names: Names, log: Log, row: Row) -> Iterator[Doubt]:
    for column in log.columns:
        value = row.get(column.name, "")
        if column.refers and value and not names.named(column.refers, value) and not names.is_empty(column.refers):
            if (log.name, column.name) == ("loads", "session"):
                yield _open(column, value)
            else:
                yield Doubt(column.name, unknown(names, "unknown-reference", value, (column.refers,)))


def _open(column: Column, session: str) -> Doubt:
    """Comb is loaded before wax comes off; a session between the two is no slip, but no build knows it yet."""
    told = f"session {session} has no pass yet, and the book is not built until it has one"
    fix = "record its pass when the wax comes off (combtally record BOOK session)"
    return Doubt(column.name, Refusal("unknown-reference", told, fix), Severity.WARNING)


def unknown(names: Names, rule: str, value: str, logs: tuple[str, ...]) -> Refusal:
    """A name that leads nowhere, with those that look like it."""
    places, near = " or ".join(LOGS[log].file for log in logs), names.near(value, logs)
    hint = f"did you mean {' or '.join(near)}?" if near else f"record it in {places} first"
    return Refusal(rule, f"no row of {places} is named {value}", hint)


def _source(names: Names, row: Row) -> Iterator[Doubt]:
    value, session, part = row.get("source", ""), row.get("session", ""), row.get("part", "")
    link = links.source(names, value)
    if isinstance(link, tuple):
        listed = ", ".join(link)
        told = f"{value} stands in several logs"
        yield Doubt("source", Refusal("ambiguous-source", told, f"write one of: {listed}"))
    elif link is None:
        if value and not any(names.is_empty(log) for log in links.SOURCES.values()):
            yield Doubt("source", unknown(names, "unknown-source", value, tuple(links.SOURCES.values())))
    elif link.kind == "session":
        yield from _from_a_session(names, row, link.name)
    else:
        yield from _from_no_session(names, part, link)
    yield from _into_a_pass(names, session, row.get("pass") or "1")


def _from_a_session(names: Names, row: Row, source: str) -> Iterator[Doubt]:
    session, part = row.get("session"), row.get("part")
    if source == session:
        told = f"session {source} cannot load what comes out of it"
        yield Doubt("source", Refusal("own-source", told, "name the source it came from; a further pass needs no load"))
    if not part:
        told = f"{source} is a session; its slumgum or its wax may have been loaded"
        yield Doubt("part", Refusal("part-missing", told, "say which with part=slumgum or part=wax"))
    unweighed = part == "slumgum" and not row.get("mass")
    if unweighed and not all(p.get("residue") for p in names.named("passes", source)):
        told = f"all slumgum of {source} was loaded, but not every residue of it was weighed"
        yield Doubt("mass", Refusal("slumgum-unweighed", told, "weigh what is loaded, or the missing residues"))


def _from_no_session(names: Names, part: str, link: links.Link) -> Iterator[Doubt]:
    if part:
        told = f"{link.name} is a {link.kind}, which has no parts"
        yield Doubt("part", Refusal("part-not-needed", told, "leave part empty"), Severity.WARNING)
    if link.kind == "block" and any(block.get("blend") for block in names.named("blocks", link.name)):
        told = f"block {link.name} is a mix, not pure wax"
        yield Doubt("source", Refusal("blended-loaded", told, "load blocks of pure wax only"))


def _into_a_pass(names: Names, session: str, wanted: str) -> Iterator[Doubt]:
    passes = names.named("passes", session)
    if passes and number(wanted) not in {number(p.get("pass", "")) for p in passes}:
        told = f"session {session} has no pass {wanted} yet, and the book is not built until it has"
        yield Doubt("pass", Refusal("unknown-pass", told, "record that pass, or correct the number"), Severity.WARNING)


def _no_loop(names: Names, row: Row) -> Iterator[Doubt]:
    """Nothing that a session loads may come out of that session, however long the way round."""
    goal, ahead, seen = row.get("session", ""), links.givers(names, row), set[str]()
    while ahead:
        giver = ahead.pop()
        if giver == goal and links.source(names, row.get("source", "")) != links.Link("session", goal):
            told = f"{row.get('source')} itself came out of {goal}"
            yield Doubt("source", Refusal("source-loop", told, "correct the source"))
            return
        if giver not in seen:
            seen.add(giver)
            ahead.extend(g for load in names.rows("loads", "session", giver) for g in links.givers(names, load))


def _wax_weighed(names: Names, row: Row) -> Iterator[Doubt]:
    """The last pass tells what the session gave; until it does, the session is open."""
    session, last = row.get("session", ""), row.get("pass", "")
    numbers = [n for p in names.named("passes", session) if isinstance(n := number(p.get("pass", "")), int)]
    if not row.get("wax_out") and numbers and number(last) == max(numbers):
        told = f"the wax of pass {last}, the last of session {session}, is not weighed, and the book is not built until it is"
        fix = f"write it later with combtally change BOOK pass {session}/{last} wax_out=…, or record the next pass"
        yield Doubt("wax_out", Refusal("wax-out-missing", told, fix), Severity.WARNING)


def _slumgum_taken(names: Names, row: Row) -> Iterator[Doubt]:
    """A residue not weighed of a session whose slumgum was loaded whole, so that nobody knows how much that was."""
    session = row.get("session", "")
    loads = [load for value in (session, f"session {session}") for load in names.rows("loads", "source", value)]
    whole = [load for load in loads if load.get("part") == "slumgum" and not load.get("mass")]
    meant = links.Link("session", session)
    if not row.get("residue") and any(links.source(names, load["source"]) == meant for load in whole):
        told = f"all slumgum of session {session} was loaded, so each of its residues has to be weighed"
        yield Doubt("residue", Refusal("slumgum-unweighed", told, "weigh it, or write what was loaded into that load"))


def _recipe_sum(_names: Names, row: Row) -> Iterator[Doubt]:
    wax, oil = (Fraction((row.get(name) or "0").replace(",", ".")) for name in ("wax_pct", "oil_pct"))
    off = wax + oil - 100
    if row.get("wax_pct") and abs(off) > _SUM_SLACK:
        told = f"wax and oil make {float(wax + oil):g} %, {float(abs(off)):g} % {'over' if off > 0 else 'under'} 100"
        yield Doubt("wax_pct", Refusal("recipe-sum", told, "let them sum to 100; scent is counted on top"))


def _candle_height(_names: Names, row: Row) -> Iterator[Doubt]:
    if row.get("diameter") and not any(row.get(name) for name in ("height", "fill_mass", "fill_volume")):
        yield Doubt("height", Refusal("candle-height", "a diameter needs a height", "fill it in"))


def _item(names: Names, row: Row) -> Iterator[Doubt]:
    value, logs = row.get("item", ""), tuple(links.ITEMS.values())
    link = links.item(names, value)
    if isinstance(link, tuple):
        told = f"{value} stands in several logs"
        yield Doubt("item", Refusal("unknown-item", told, f"write one of: {', '.join(link)}"))
    elif value and link is None and not any(map(names.is_empty, logs)):
        yield Doubt("item", unknown(names, "unknown-item", value, logs))
    candle = bool(names.named("candles", value) or names.named("candles", value.removeprefix("candle ")))
    mass, count = row.get("mass"), row.get("count")
    if candle and mass and not count:
        told = "candles are counted, but a mass is given"
        yield Doubt("count", Refusal("stocktake-measure", told, "write how many there are"))
    if not candle and count and not mass and not (value and names.is_empty("candles")):
        told = "wax and comb are weighed, but a count is given"
        yield Doubt("mass", Refusal("stocktake-measure", told, "write what it weighed"))


def _now_ambiguous(log: str) -> Rule:
    """A new name that older rows use bare for something else."""

    def rule(names: Names, row: Row) -> Iterator[Doubt]:
        key = LOGS[log].key[0]
        name = row.get(key, "")
        for kinds, where, column, found in links.BARE:
            kin = {kind for kind, other in kinds.items() if names.named(other, name)}
            if log in kinds.values() and len(kin) > 1 and names.is_new(log, name) and names.rows(where, column, name):
                told = f"{LOGS[where].file} names {name} already, which could then be {' or '.join(sorted(kin))}"
                yield Doubt(key, Refusal(found, told, "give this one a name that no other log has"))

    return rule


_RULES: dict[str, tuple[Rule, ...]] = {
    "harvests": (_now_ambiguous("harvests"),),
    "loads": (_source, _no_loop),
    "passes": (_wax_weighed, _slumgum_taken, _now_ambiguous("passes")),
    "blocks": (_now_ambiguous("blocks"),),
    "blends": (_recipe_sum,),
    "candles": (_candle_height, _now_ambiguous("candles")),
    "stocktakes": (_item,),
}
