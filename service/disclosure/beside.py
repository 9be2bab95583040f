"""Shares where the whole is not told, only its pieces: those answered in time beside those answered late.

To tell the whole as well would be one more number to guard. The corners are as in `figures.py`: Wilson's and Newcombe's
ends move one way with each piece.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from service.disclosure.figures import Figure, may_be, reason, share_ends
from service.disclosure.rules import Rule, Told
from service.statistics.intervals import Interval, newcombe


class Piece(NamedTuple):
    """The least and the greatest a count may be, and the number it is told as, if any."""

    low: int
    high: int
    value: int | None


def share_beside(rule: Rule, part: Told, *others: Told) -> Figure:
    """What part of itself and of others, all told and all apart, a told number is; by Wilson's interval."""
    why = reason(part, *others)
    pieces = [_piece(rule, each) for each in (part, *others)]
    whole = (
        None if None in [each.value for each in (part, *others)] else sum(each.value or 0 for each in (part, *others))
    )
    if None in pieces or whole == 0:
        return Figure(None, None, None, whole, why, "wilson")
    mine, rest = _apart([each for each in pieces if each is not None])
    value = None if not whole or mine.value is None else mine.value / whole
    corners = (mine.low, mine.low + rest.high), (mine.high, mine.high + rest.low)
    # A corner at which nobody is left says nothing.
    low, high = (share_ends(rule, *each) if each[1] else Interval(0.0, 1.0) for each in corners)
    return Figure(value, low.low, high.high, whole, why, "wilson")


def difference_from_others(rule: Rule, group: Sequence[Told], everybody: Sequence[Told]) -> Figure:
    """The share of a group less that of all others, by Newcombe's interval.

    Both are given as the part and what is beside it: of the group, and of everybody, the group among them. The others
    are what is left, so no row of a table but the group's own has to be told. `n` is the group's.
    """
    told = (*group, *everybody)
    why = reason(*told)
    pieces = [_piece(rule, each) for each in told]
    n = None if any(each.value is None for each in group) else sum(each.value or 0 for each in group)
    if None in pieces or not n:
        return Figure(None, None, None, n, why, "newcombe")
    part, rest, all_part, all_rest = [each for each in pieces if each is not None]
    other_part, other_rest = _less(all_part, part), _less(all_rest, rest)
    low = newcombe(part.low, part.low + rest.high, other_part.high, other_part.high + other_rest.low)
    high = newcombe(part.high, part.high + rest.low, other_part.low, other_part.low + other_rest.high)
    middle = newcombe(part.value or 0, n, other_part.value or 0, (other_part.value or 0) + (other_rest.value or 0))
    if low is None or high is None or middle is None:
        return Figure(None, None, None, n, why, "newcombe")
    return Figure(None if why else middle.value, low.low, high.high, n, why, "newcombe")


def _piece(rule: Rule, told: Told) -> Piece | None:
    between = may_be(rule, told)
    return None if between is None else Piece(*between, told.value)


def _apart(pieces: Sequence[Piece]) -> tuple[Piece, Piece]:
    """The first piece, and all others as one."""
    rest = pieces[1:]
    return pieces[0], Piece(sum(each.low for each in rest), sum(each.high for each in rest), None)


def _less(whole: Piece, part: Piece) -> Piece:
    value = None if whole.value is None or part.value is None else max(0, whole.value - part.value)
    return Piece(max(0, whole.low - part.high), max(0, whole.high - part.low), value)
