"""The sentences: each answers one question in plain words from figures; a form for better, worse, the same, too little.

Shares are fractions, masses g. A figure that is not known makes a sentence that says what to record.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pipeline.wording.amounts import Units, number, plural, points, share
from pipeline.wording.visible_text import missing

SAME = 0.005
"""Half a point of yield: less than this is called the same (a judgement; session scatter is far above it)."""

NOT_CHECKABLE = (
    "Nothing is weighed twice, so no weight can be checked by another: weigh what goes into a pass as well as what comes out, "
    "and the blocks."
)


@dataclass(frozen=True, slots=True)
class SeasonFigures:
    """A season's comb and wax (g), its yield and standard uncertainty (shares)."""

    season: str
    loaded_g: float
    wax_g: float
    value: float | None
    u: float | None = None


@dataclass(frozen=True, slots=True)
class Change:
    """A change of yield between two seasons, split into other comb (mix) and rendering (rate), as shares.

    ``usual``: whether the rendering's part lies inside its own scatter; None where too few sessions tell.
    """

    before: str
    after: str
    total: float
    mix: float
    rate: float
    usual: bool | None = None


def season(now: SeasonFigures | None, before: SeasonFigures | None, change: Change | None, units: Units) -> str:
    """What the season gave, against the one before it, and whether comb or rendering made the difference."""
    if now is None:
        return "Nothing has been rendered yet: record a session (what was loaded, each pass, the blocks) to begin."
    if missing(now.value):
        return (
            f"Season {now.season} has {units.mass(now.wax_g)} of wax, but the comb it came from was not weighed: "
            "weigh the comb or what goes into the first melt, and its yield can be told."
        )
    gave = (
        f"The {units.mass(now.loaded_g)} of comb rendered in season {now.season} gave "
        f"{units.mass(now.wax_g)} of wax, {share(now.value)}"
    )
    if before is None or missing(before.value):
        return f"{gave}; there is no earlier season to compare it with."
    return f"{gave}, {_against(float(now.value or 0) - float(before.value or 0), before.season)}{_because(change)}."


def _against(difference: float, season_before: str) -> str:
    if abs(difference) < SAME:
        return f"about the same as in {season_before}"
    return f"{points(abs(difference))} points {'over' if difference > 0 else 'under'} {season_before}"


def _because(change: Change | None) -> str:
    if change is None:
        return ""
    if abs(change.rate) < SAME or change.usual:
        as_usual = "the rendering itself was as usual"
        return f"; {as_usual}" if abs(change.mix) < SAME else f"; {_comb(change)}, {as_usual}"
    way = "better" if change.rate > 0 else "worse"
    beyond = ", more than the usual scatter" if change.usual is False else ""
    return f"; {_comb(change)}, the rendering itself {points(abs(change.rate))} points {way}{beyond}"


def _comb(change: Change) -> str:
    if abs(change.mix) < SAME:
        return "the comb was much the same"
    return f"{'richer' if change.mix > 0 else 'poorer'} comb makes {points(change.mix, signed=True)}"


def by_methods(part: float) -> bool:
    """Whether other methods moved a season's yield enough to be said: two times what is called the same."""
    return abs(part) >= 2 * SAME


def methods(season: str, rate: float, part: float) -> str:
    """What other methods have to do with a season's rendering (rate and part as shares)."""
    did = "gave" if part > 0 else "took"
    if part * rate > 0 and abs(part) <= abs(rate) + SAME:
        whole = f" of the {points(abs(rate))} points that the rendering {'gained' if rate > 0 else 'lost'}"
        return f"Into {season}, other methods {did} {points(abs(part))}{whole}."
    return f"Into {season}, other methods {did} {points(abs(part))} points."


def seasons(
    rows: Sequence[SeasonFigures], slope: tuple[float, float | None, float | None] | None, p: float | None
) -> str:
    """How the seasons run: how many there are, the best, and whether they rise or fall at a fixed mix of comb."""
    known = [r for r in rows if not missing(r.value)]
    if not known:
        return "No season has a yield yet: weigh what goes in and what comes out."
    if len(known) == 1:
        return "One season is recorded: a second one makes the first comparison."
    best = max(known, key=lambda r: float(r.value or 0))
    start = f"Of {plural(len(known), 'season')}, {best.season} gave most for its comb ({share(best.value)})"
    if slope is None or len(known) < 3:
        return f"{start}; three seasons are the fewest that can show a direction."
    middle, low, high = slope
    ends = "" if low is None or high is None else f" (from {points(low, signed=True)} to {points(high, signed=True)})"
    pace = f"{points(middle, signed=True)} points a season{ends}"
    if p is None:
        return f"{start}; at the same mix of comb yields moved by {pace}, which so few seasons cannot prove."
    verdict = "more than chance would make" if p < 0.05 else "no more than chance makes"
    return f"{start}; at the same mix of comb yields moved by {pace}, {verdict} (p = {number(p, 3 if p < 0.1 else 2)})."


def combs(rows: Sequence[tuple[str, float, float | None, float | None]]) -> str:
    """Which kind of comb gave most and which lies under its usual range: (kind, yield, usual low, usual high)."""
    if not rows:
        return "No yield by kind of comb yet: name the comb of each harvest and load harvests into sessions."
    best = max(rows, key=lambda r: r[1])
    start = f"{capital(best[0])} gave {'most: ' if len(rows) > 1 else ''}{share(best[1])} of its mass"
    start += " became wax" if len(rows) > 1 else " as wax"
    under = [kind for kind, value, low, _ in rows if low is not None and value < low]
    over = [kind for kind, value, _, high in rows if high is not None and value > high]
    odd = [f"{_listed(k)} gave {way} than is usual for the kind" for k, way in ((under, "less"), (over, "more")) if k]
    usual = any(low is not None or high is not None for _, _, low, high in rows)
    fits = ["that is usual for the kind" if len(rows) == 1 else "every kind with a usual range lies inside it"]
    return f"{'; '.join([start, *(odd or fits * usual)])}."


def losses(refining: Sequence[tuple[str, float]], worst: tuple[str, float] | None) -> str:
    """Whether refining loses more or less than before: (season, loss) in order; the kind of pass that loses most."""
    if not refining:
        return "No refining pass is recorded: weigh the wax in and out of a second melt to see what it costs."
    now_season, now = refining[-1]
    if now < 0:
        return f"Refining of season {now_season} gave {share(-now)} more wax than went in: no pass can, so look at its weights."
    start = f"Refining lost {share(now)} of the wax it was given in season {now_season}"
    if len(refining) > 1:
        earlier = sum(loss for _, loss in refining[:-1]) / (len(refining) - 1)
        start += _than(now - earlier)
    return f"{start}; {worst[0]} loses most ({share(worst[1])})." if worst else f"{start}."


def _than(difference: float) -> str:
    if abs(difference) < SAME:
        return ", as in earlier seasons"
    return f", {points(abs(difference))} points {'more' if difference > 0 else 'less'} than in earlier seasons"


def control(signals: int, looks: int, watched: int) -> str:
    """What the control charts say: passes beyond the limits, passes worth a look, or too little to draw limits."""
    if not watched:
        return "No kind of pass has six weighed passes yet, the fewest from which limits can be drawn."
    if signals:
        return (
            f"{plural(signals, 'pass', 'passes')} lost more or less than the usual scatter allows; "
            "look at what was done differently there."
        )
    if looks:
        return (
            f"No pass went beyond its limits; {plural(looks, 'run')} of passes is worth a look."
            if looks == 1
            else (f"No pass went beyond its limits; {number(looks)} passes stand in a run that is worth a look.")
        )
    return f"All passes stayed inside their usual scatter ({plural(watched, 'kind')} of pass watched)."


def attention(errors: int, warnings: int, notes: int) -> str:
    """How much there is to look at in the records."""
    if not errors + warnings + notes:
        return "The checks of every row found nothing to mend."
    parts = [plural(n, w) for n, w in ((errors, "error"), (warnings, "warning"), (notes, "note")) if n]
    if errors:
        return f"{capital(_listed(parts))}: rows with errors are in no figure until they are mended."
    if warnings:
        return f"{capital(_listed(parts))}: the weights named below do not fit; the figures use them as they stand."
    return f"{capital(_listed(parts))}, nothing that changes a figure."


def suspects(first: tuple[str, str, str, float] | None, n: int) -> str:
    """The weight most likely mistyped: (place, as typed, likely, chance), of ``n``.

    ``typed`` is empty where a row is missing, ``likely`` where nothing says what was meant.
    """
    if first is None:
        return "Every balance that the weighings allow closes: no weight looks mistyped."
    place, typed, likely, chance = first
    rest = f", the likeliest of {plural(n, 'suspect')}" if n > 1 else ""
    found = [f"it says {typed}"] if typed else []
    found += [f"everything around it says {likely}"] if likely else ["nothing around it fits that"]
    says = ", ".join(found)
    return f"Look at {place}: {says} ({_sure(chance)}){rest}."


def latest_sessions(n: int, of: int) -> str:
    """Which sessions of a big book the page balances."""
    return (
        f"Balanced here: the latest {number(n)} of {number(of)} sessions; combtally suspects goes through all of them."
    )


def latest_passes(n: int) -> str:
    """Which passes of a big book the page asks the rules of."""
    return f"Limits come from all passes; the rules are asked of the latest {number(n)} of each kind, by combtally trend of all."


def _sure(chance: float) -> str:
    return f"over {share(0.99, 0)} sure" if chance > 0.99 else f"{share(chance, 0)} sure"


def _listed(words: Sequence[str]) -> str:
    return words[0] if len(words) == 1 else ", ".join(words[:-1]) + " and " + words[-1]


def sentence(text: str) -> str:
    """A remark of an analysis as a sentence: with a capital and a full stop."""
    return capital(text) + ("" if text[-1:] in ".?!" else ".")


def capital(text: str) -> str:
    """A sentence's beginning."""
    return text[:1].upper() + text[1:]


def latest(session: str, day: str, loaded: str, value: float | None) -> str:
    """What the latest session gave."""
    start = f"The latest session, {session} on {day}, was loaded with {loaded}"
    return f"{start}; it has no yield of its own." if value is None else f"{start} and yielded {share(value)}."
