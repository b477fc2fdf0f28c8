"""How books compare, in words; a difference inside the scatter is told as none."""

from __future__ import annotations

from collections.abc import Sequence

from pipeline.analyses.book_comparison import FEWEST, Apart, ComparedKind, Standing
from pipeline.wording.visible_text import listed, visible

METHOD = (
    "Sessions of the same comb and the same method are laid side by side; each book's middle session is shown with the range "
    "in which its middle most likely lies. A book is told apart only where its sessions stand out of the scatter of all the "
    f"others; under {FEWEST} sessions nothing is said. What differs may be the comb, the scale or the year as well as the hand: "
    "the figures cannot tell. Welch's t test on log odds (losses: on logs), all tests of the page as one family (Holm, 5 %)."
)


def kind(of: ComparedKind) -> str:
    """``brood comb, steam``, or the refining of a method."""
    return f"{visible(of.comb)}, {visible(of.method)}" if of.comb else f"refining, {visible(of.method)}"


def standing(of: ComparedKind, books: Sequence[Standing]) -> str:
    """One kind in a sentence."""
    name = kind(of)
    told = [f"{visible(s.book)} {_word(of, s)}" for s in books if s.verdict in (Apart.HIGHER, Apart.LOWER)]
    if told:
        return f"{name}: {listed(told)} than the other books."
    if all(s.verdict is Apart.FEW for s in books):
        return f"{name}: too few sessions to compare the books."
    return f"{name}: no difference between the books that their sessions show."


def _word(of: ComparedKind, s: Standing) -> str:
    gives = {Apart.HIGHER: "recovers more", Apart.LOWER: "recovers less"}
    loses = {Apart.HIGHER: "loses more", Apart.LOWER: "loses less"}
    return (gives if of.comb else loses)[s.verdict]


def verdict(s: Standing) -> str:
    """The verdict of one book for a table."""
    return {
        Apart.HIGHER: "higher than the others", Apart.LOWER: "lower than the others",
        Apart.NONE: "no difference shown", Apart.FEW: f"under {FEWEST} to compare",
    }[s.verdict]  # fmt: skip
