"""The running balance of a session being recorded, and what does not fit, while the pot is still warm."""

from __future__ import annotations

from datetime import date, timedelta
from fractions import Fraction

from pipeline.contract.log_columns import LOGS
from pipeline.contract.quantities import read_number
from pipeline.contract.several_in_one_cell import hives_meant, joined
from pipeline.recording.answers_so_far import Draft, Spot
from pipeline.recording.guided_questions import value_of
from pipeline.recording.offers import Offers
from pipeline.wording.amounts import Units
from pipeline.wording.cautions import limit

_SOURCES = ("harvest", "block", "session")  # the words that may stand before a name that several logs have
_MELTS_C = 61.0  # the lowest that is published (Krell 1996, ch. 4, as read)
_HOURS_AT_MOST = 24  # a time of so little is more likely told in hours
_MUCH = 0.3  # of what went in: more than the water and honey of comb that drained (a judgement)
_YEAR, _LATELY = (
    timedelta(days=365),
    timedelta(days=60),
)  # a day so much over a year ago is more likely this year's (a judgement)
_KEPT = 6  # decimals of a gram that a log keeps: what differs behind them is the arithmetic
_STEPS = 2  # scale steps inside which two weights count as equal


_Weights = tuple[float, float, float | None]


def told(draft: Draft, offers: Offers) -> list[str]:
    """One sentence for each pass weighed so far: in, out, slumgum, the rest, and what the rest usually is."""
    lines = []
    for n in range(1, draft.last_pass + 1):
        weights = _pass(draft, offers, n)
        if weights:
            lines.append(_sentence(draft, offers, n, weights))
    return lines


def _sentence(draft: Draft, offers: Offers, n: int, weights: _Weights) -> str:
    mass_in, out, residue = weights
    rest = round(mass_in - out - (residue or 0), _KEPT)
    parts = [f"in {offers.mass(mass_in)}", f"out {offers.mass(out)}"]
    parts += [f"residue {offers.mass(residue)}"] if residue is not None else ["residue not weighed"]
    usual = offers.usual_rest.get((_stage(draft, offers, n), draft.answers.get(("passes", n, "method"), "")))
    known = ""
    if usual:
        low, high = (offers.mass(share * mass_in) for share in usual)
        known = f", you usually have {low} to {high}"
    if rest < 0:
        return f"pass {n}: {', '.join(parts)}: {offers.mass(-rest)} more came out than went in"
    return f"pass {n}: {', '.join(parts)}: {offers.mass(rest)} unaccounted{known}"


def doubts(draft: Draft, offers: Offers, spot: Spot, today: date) -> list[str]:
    """What about the answer just given does not fit the others; it may still be kept."""
    log, _, name = spot
    if name == "date":
        return _year_before(draft, offers, spot, today)
    asked = _DOUBTS.get((log, name))
    return asked(draft, offers, spot) if asked else []


def _year_before(draft: Draft, offers: Offers, spot: Spot, today: date) -> list[str]:
    """A day that is a year and little more ago: in January the old year is typed on."""
    text = draft.answers.get(spot, "")
    if not text or not _YEAR <= today - (told := date.fromisoformat(text)) <= _YEAR + _LATELY:
        return []
    meant = told.replace(year=told.year + 1, day=min(told.day, 28) if told.month == 2 else told.day)
    units = Units.of(offers.book)
    return [f"{units.typed_day(told)} is more than a year ago: did you mean {units.typed_day(meant)}?"]


def _nowhere(draft: Draft, offers: Offers, spot: Spot) -> list[str]:
    source = draft.answers.get(spot, "")
    kind, _, name = source.partition(" ")
    if not source or source in offers.sources or (kind in _SOURCES and name in offers.sources):
        return []
    return [f"no harvest, block or session in this book is named {source}"]


def _hot(draft: Draft, offers: Offers, spot: Spot) -> list[str]:
    """Too hot, or a number that makes sense in the other unit alone."""
    temp, text = _number(draft, offers, spot), draft.answers.get(spot, "")
    units = Units.of(offers.book)
    if temp is None:
        return []
    if temp > (fire := limit("fire limit")):
        return [
            f"{units.temperature(temp)} is past the limit for fire ({units.temperature(fire)}): is the figure right?"
        ]
    if temp > (darkens := limit("darkening")):
        over = f"{units.degrees(temp - darkens)} over {units.temperature(darkens)}"
        return [f"{units.temperature(temp)} is {over}, above which wax darkens for good"]
    if temp >= _MELTS_C or not isinstance(bare := read_number(text), Fraction):
        return []
    mine, other = ("°F", "°C") if offers.book.show.temperature == "F" else ("°C", "°F")
    as_other = float(bare) if other == "°C" else (float(bare) - 32) / 1.8
    likely = f": did you mean {text} {other}?" if _MELTS_C <= as_other <= limit("fire limit") else ""
    return [f"{text} {mine} would not melt wax (it melts near {units.temperature(_MELTS_C + 2)}){likely}"]


def _minutes_or_hours(draft: Draft, _offers: Offers, spot: Spot) -> list[str]:
    """A small bare number for a time: it may be hours."""
    text = draft.answers.get(spot, "")
    bare = read_number(text)
    if not isinstance(bare, Fraction) or bare > _HOURS_AT_MOST:
        return []
    return [f"{text} minutes, or {text} hours? Write {text} h for hours"]


def _several_hives(draft: Draft, _offers: Offers, spot: Spot) -> list[str]:
    """Hives that a person parts by commas or `and`, which a log parts by plus signs."""
    names = hives_meant(draft.answers.get(spot, ""))
    if len(names) < 2:
        return []
    return [f"is that {len(names)} hives? Write {joined(names)}, so that each gets its part"]


def _much_missing(draft: Draft, offers: Offers, n: int) -> list[str]:
    """Of a first melt, more in neither wax nor residue than this book usually has, and than honey and water explain."""
    weights = _pass(draft, offers, n)
    if not weights or weights[2] is None or _stage(draft, offers, n) != "first":
        return []
    mass_in, out, residue = weights
    rest = mass_in - out - (residue or 0)
    usual = offers.usual_rest.get(("first", draft.answers.get(("passes", n, "method"), "")), (0.0, 0.0))[1]
    if rest <= max(_MUCH, usual) * mass_in:
        return []
    missing = f"{offers.mass(rest)} of {offers.mass(mass_in)} is in neither wax nor residue"
    return [f"{missing}: honey in it, or something not weighed?"]


def _off_before(draft: Draft, offers: Offers, n: int) -> list[str]:
    """What went into a pass against what was loaded, or the wax of the pass before."""
    mass_in, before = _number(draft, offers, ("passes", n, "mass_in")), _before(draft, offers, n)
    later = any(k[0] == "loads" and k[2] == "pass" and text not in ("", "1") for k, text in draft.answers.items())
    if mass_in is None or before is None or later or abs(mass_in - before) <= _slack(offers, "passes"):
        return []
    off = f"{offers.mass(abs(mass_in - before))} {'more' if mass_in > before else 'less'} than"
    what = "was loaded" if n == 1 else "the wax of the pass before"
    return [f"{offers.mass(mass_in)} is {off} {what} ({offers.mass(before)})"]


def _over_left(draft: Draft, offers: Offers, spot: Spot) -> list[str]:
    log, n, _ = spot
    source = draft.answers.get((log, n, "source" if log == "loads" else "block"), "")
    left = _left(draft, offers, n, source) if log == "loads" else _on_the_shelf(offers, source)
    mass = _number(draft, offers, (log, n, "mass"))
    if left is None or mass is None or mass <= left + _slack(offers, log):
        return []
    return [f"{offers.mass(mass)} is {offers.mass(mass - left)} more than is left of {source} ({offers.mass(left)})"]


def _left(draft: Draft, offers: Offers, n: int, source: str) -> float | None:
    """What is left of the n-th source that is loaded, g."""
    part = draft.answers.get(("loads", n, "part"), "harvest")
    return next((lot.mass_g for lot in offers.lots if lot.name == source and lot.kind == part), None)


def _on_the_shelf(offers: Offers, block: str) -> float | None:
    return next((lot.mass_g for lot in offers.shelf if lot.name == block), None)


def _over_in(draft: Draft, offers: Offers, n: int) -> list[str]:
    weights = _pass(draft, offers, n)
    if not weights:
        return []
    mass_in, out, residue = weights
    over = out - mass_in
    if over > _slack(offers, "passes"):
        return [f"{offers.mass(out)} of wax is {offers.mass(over)} more than went in ({offers.mass(mass_in)})"]
    over += residue or 0
    if over > _slack(offers, "passes"):
        why = "is the residue wet, or a pot weighed with it?" if offers.book.vessels else "is the residue wet?"
        return [f"wax and residue are {offers.mass(over)} more than went in ({offers.mass(mass_in)}); {why}"]
    return []


def _over_wax(draft: Draft, offers: Offers, _spot: Spot) -> list[str]:
    blocks = [_number(draft, offers, s) or 0 for s in draft.answers if s[0] == "blocks" and s[2] == "mass"]
    last = _number(draft, offers, ("passes", draft.last_pass, "wax_out"))
    wax = last if last is not None else offers.waiting_g.get(draft.answers.get(("passes", 1, "session"), ""))
    over = 0 if wax is None else sum(blocks) - wax
    return [f"the blocks are {offers.mass(over)} more than the last wax"] if over > _slack(offers, "blocks") else []


def _pass(draft: Draft, offers: Offers, n: int) -> _Weights | None:
    """Mass in, wax out and residue in g; None while in or out is not known."""
    out = _number(draft, offers, ("passes", n, "wax_out"))
    mass_in = _number(draft, offers, ("passes", n, "mass_in"))
    if mass_in is None:
        mass_in = _before(draft, offers, n)
    residue = _number(draft, offers, ("passes", n, "residue"))
    return None if out is None or mass_in is None else (mass_in, out, residue)


def _before(draft: Draft, offers: Offers, n: int) -> float | None:
    """What a pass is fed: the wax of the pass before, or what was loaded."""
    return _number(draft, offers, ("passes", n - 1, "wax_out")) if n > 1 else _loaded(draft, offers)


def _loaded(draft: Draft, offers: Offers) -> float | None:
    """What was loaded, an empty weight being all that is left; None where a part of it is not known."""
    total = 0.0
    sources = [
        (n, text) for (log, n, name), text in draft.answers.items() if (log, name) == ("loads", "source") and text
    ]
    for n, source in sources:
        left, mass = _left(draft, offers, n, source), _number(draft, offers, ("loads", n, "mass"))
        if mass is None and left is None:
            return None
        total += left if mass is None and left is not None else mass or 0
    return total if sources else offers.waiting_g.get(draft.answers.get(("passes", 1, "session"), ""))


def _stage(draft: Draft, offers: Offers, n: int) -> str:
    """``first`` where comb or slumgum is melted, else ``refining``."""
    sources = [k for k, text in draft.answers.items() if k[0] == "loads" and k[2] == "source" and text]
    wax_only = all(draft.answers.get(("loads", k[1], "part")) == "wax" for k in sources)
    continued = draft.answers.get(("passes", 1, "session"), "") in offers.passes_done
    return "refining" if n > 1 or continued or (sources and wax_only) else "first"


def _number(draft: Draft, offers: Offers, spot: Spot) -> float | None:
    text = draft.answers.get(spot, "")
    value = value_of(offers, LOGS[spot[0]].column(spot[2]), text) if text else None
    return float(value) if isinstance(value, Fraction) else None


def _slack(offers: Offers, log: str) -> float:
    return _STEPS * offers.book.scale(log).step_g


def _weighed_in(draft: Draft, offers: Offers, spot: Spot) -> list[str]:
    return _off_before(draft, offers, spot[1]) or _over_in(draft, offers, spot[1])


def _weighed_out(draft: Draft, offers: Offers, spot: Spot) -> list[str]:
    return _over_in(draft, offers, spot[1])


def _weighed_residue(draft: Draft, offers: Offers, spot: Spot) -> list[str]:
    return _over_in(draft, offers, spot[1]) or _much_missing(draft, offers, spot[1])


_DOUBTS = {
    ("loads", "source"): _nowhere, ("loads", "mass"): _over_left, ("draws", "mass"): _over_left,
    ("passes", "mass_in"): _weighed_in, ("passes", "wax_out"): _weighed_out, ("passes", "residue"): _weighed_residue,
    ("passes", "peak_temp"): _hot, ("passes", "time"): _minutes_or_hours, ("harvests", "hive"): _several_hives,
    ("blocks", "mass"): _over_wax,
}  # fmt: skip
"""By log and column what may be doubted of an answer."""
