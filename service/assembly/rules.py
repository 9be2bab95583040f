"""What is true of parts in place without asking a database: stays, the places only one part can fill, what fits."""

from __future__ import annotations

import enum
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from service.kit.days import full_day
from service.lots.rules import LotState
from service.parts.rules import Digit, PartKind, VersionState
from service.recipients.rules import Side

SCALE_TOLERANCE = 0.005
"""Parts of one joint fit at scales that differ by no more than this share: half a millimetre in ten centimetres."""

DIGITS = frozenset({PartKind.FINGER, PartKind.THUMB})

_ALONE = frozenset(
    {
        *(PartKind.PALM, PartKind.THUMB, PartKind.WRIST_COUPLING, PartKind.FOREARM, PartKind.SOCKET),
        *(PartKind.TOOL_HOLDER, PartKind.TERMINAL_DEVICE, PartKind.HARNESS, PartKind.LINER),
    }
)
"""Kinds of which a device holds one at a time. Fingers: one a digit. Of straps or motors there may be several."""

TOUCHES_SKIN = frozenset({PartKind.SOCKET, PartKind.LINER, PartKind.HARNESS, PartKind.STRAP})
"""Kinds that lie on the skin for hours."""

_JOINS: dict[PartKind, frozenset[PartKind]] = {
    PartKind.FINGER: frozenset({PartKind.PALM}),
    PartKind.THUMB: frozenset({PartKind.PALM}),
    PartKind.PALM: DIGITS,
    PartKind.TOOL_HOLDER: frozenset({PartKind.WRIST_COUPLING}),
    PartKind.TERMINAL_DEVICE: frozenset({PartKind.WRIST_COUPLING}),
    PartKind.WRIST_COUPLING: frozenset({PartKind.TOOL_HOLDER, PartKind.TERMINAL_DEVICE}),
}
"""What joins what by an interface. That of a palm is its digits', that of a coupling is what it holds."""

_SCALED_TOGETHER = DIGITS | {PartKind.PALM}


@dataclass(frozen=True, slots=True)
class Stay:
    """From a day until another; the day it ended it was there no more, so a day is told as it ended."""

    since: date
    until: date | None

    def covers(self, day: date) -> bool:
        """Whether it was there when the day ended."""
        return self.since <= day and (self.until is None or day < self.until)

    def meets(self, other: Stay) -> bool:
        """Whether there is a day that both cover."""
        return max(self.since, other.since) < min(self.until or date.max, other.until or date.max)


def slot(kind: PartKind, digit: Digit | None) -> str | None:
    """The place in a device that only one part can fill; None for kinds of which a device may hold several."""
    if kind is PartKind.FINGER and digit is not None:
        return digit.value
    return kind.value if kind in _ALONE else None


def area_key(kind: PartKind, digit: Digit | None) -> str:
    """The word for where a part is drawn and listed: its own place where it has one, or that of its kind."""
    return slot(kind, digit) or kind.value


def part_name(kind: PartKind, digit: Digit | None, what: str = "") -> str:
    """A part in words: "finger, index", "motor (geared 6 V)"."""
    which = f", {digit}" if digit is not None and kind is not PartKind.THUMB else ""
    return f"{kind.label}{which}{f' ({what})' if what else ''}"


def part_called(kind: PartKind, digit: Digit | None) -> str:
    """A part as it is called within a sentence: "index finger", "palm"."""
    return f"{digit} finger" if kind is PartKind.FINGER and digit is not None else kind.label


def lot_words(what: str, colour: str, maker: str, batch: str) -> str:
    """A lot as it is called: "PETG 1.75 mm, black, Northern Reels 24-118"."""
    return ", ".join(part for part in (what, colour, f"{maker} {batch}") if part)


def digit_problem(kind: PartKind, digit: Digit | None) -> str | None:
    """What is wrong with the digit given for a kind of part, or None."""
    if kind is PartKind.FINGER and digit is None:
        return "Say which finger it is: index, middle, ring or little."
    if kind is PartKind.FINGER and digit is Digit.THUMB:
        return "The thumb is a part of its own kind. Choose index, middle, ring or little."
    if kind is PartKind.THUMB and digit not in {None, Digit.THUMB}:
        return "A thumb is no other digit. Leave the digit out."
    if kind in _ALONE - DIGITS and digit is not None:
        return f"A {kind.label} belongs to no digit. Leave the digit out."
    return None


def room_problem(name: str, wanted: Stay, there: Iterable[Stay]) -> str | None:
    """Why a part cannot stay so long where only one can be, given the stays of others there; None if it can."""
    for other in there:
        if not wanted.meets(other):
            continue
        if other.until is None:
            return f"Another {name} has been in place since {full_day(other.since)}. Replace that one, or take it off."
        days = f"from {full_day(other.since)} to {full_day(other.until)}"
        return f"Another {name} was in place {days}. Check the day, or put that one right first."
    return None


def leaving_problem(stay: Stay, day: date) -> str | None:
    """What is wrong with the day a part left a place, or None."""
    if day < stay.since:
        return f"That is before it was put in place, on {full_day(stay.since)}. Check the day."
    if stay.until is not None and day < stay.until:
        return f"It came off on {full_day(stay.until)}, so it went elsewhere on that day or later. Check the day."
    return None


def attention(
    withdrawn_on: date | None, successor: str | None, lots: Iterable[tuple[str, LotState, date]]
) -> Iterator[tuple[str, str]]:
    """Why a part should be looked at: a word for a drawing, and a sentence.

    `withdrawn_on` is when its version was; `successor` is in words; each lot has what it is called, and since when it
    stands as it does.
    """
    if withdrawn_on is not None:
        instead = f"Use {successor} instead." if successor else "No version takes its place yet."
        yield "withdrawn", f"Its version was withdrawn on {full_day(withdrawn_on)}. {instead}"
    for called, state, since in lots:
        if state in {LotState.HELD, LotState.WITHDRAWN}:
            yield state.value, f"A lot it was made from is {state.value} since {full_day(since)}: {called}."


class Why(enum.StrEnum):
    """Why a version does not fit."""

    STATE = "state"
    SIDE = "side"
    DIGIT = "digit"
    INTERFACE = "interface"
    SCALE = "scale"


@dataclass(frozen=True, slots=True)
class Reason:
    """Why something does not fit, with a sentence for a person."""

    why: Why
    sentence: str


@dataclass(frozen=True, slots=True)
class Scaled:
    """Two scales, of the file a part is printed from."""

    across: float
    along: float

    def near(self, other: Scaled) -> bool:
        """Whether parts at these scales still fit each other."""
        pairs = ((self.across, other.across), (self.along, other.along))
        return all(abs(mine / theirs - 1) <= SCALE_TOLERANCE + 1e-9 for mine, theirs in pairs)

    @property
    def words(self) -> str:
        """As people read it: "1.050", or "1.050 across and 1.100 along"."""
        if abs(self.across - self.along) < 5e-4:
            return f"{self.across:.3f}"
        return f"{self.across:.3f} across and {self.along:.3f} along"


@dataclass(frozen=True, slots=True)
class Member:
    """A part of an assembly as its neighbours see it; an empty interface is not known, nor are scales that are None."""

    kind: PartKind
    digit: Digit | None
    interface: str
    scales: Scaled | None

    def joins(self, other: Member) -> bool:
        """Whether an interface joins the two."""
        return other.kind in _JOINS.get(self.kind, frozenset())

    @property
    def name(self) -> str:
        """The part within a sentence."""
        return part_called(self.kind, self.digit)


def misfits(part: Member, others: Iterable[Member]) -> Iterator[Reason]:
    """Where a part does not fit what it joins: another interface, or another scale of the same joint."""
    for other in others:
        if not part.joins(other):
            continue
        if part.interface and other.interface and not _mate(part.interface, other.interface):
            said = (
                f"Its interface is {part.interface}, that of the {other.name} is {other.interface}: they do not mate."
            )
            yield Reason(Why.INTERFACE, said)
        if part.scales is None or other.scales is None or not {part.kind, other.kind} <= _SCALED_TOGETHER:
            continue
        if not part.scales.near(other.scales):
            said = f"It is at {part.scales.words}, the {other.name} at {other.scales.words}: they would not fit."
            yield Reason(Why.SCALE, said)


@dataclass(frozen=True, slots=True)
class Vacancy:
    """What is to be replaced: the part as it is worn, the side of its device, and what else is in place there."""

    worn: Member
    side: Side
    others: tuple[Member, ...]
    material: str = ""
    colour: str = ""

    @property
    def scales(self) -> Scaled | None:
        """At which scales something fits here: those of what it joins if they agree, else of the part worn."""
        joined = [
            each.scales
            for each in self.others
            if each.scales is not None and self.worn.joins(each) and {self.worn.kind, each.kind} <= _SCALED_TOGETHER
        ]
        agreed = joined[0] if joined and all(joined[0].near(each) for each in joined) else None
        return agreed or self.worn.scales


@dataclass(frozen=True, slots=True)
class Offered:
    """A version that might take the place; `name` such as "Long finger, version 3"; so is `successor` (None: none)."""

    version: int
    name: str
    kind: PartKind
    digit: Digit | None
    side: Side | None
    interface: str
    materials: tuple[str, ...]
    state: VersionState
    successor: str | None = None


@dataclass(frozen=True, slots=True)
class Judged:
    """Whether a version fits, at which scales and in what; `reasons` say why not, and are empty if it does."""

    offered: Offered
    scales: Scaled | None
    material: str
    colour: str
    reasons: tuple[Reason, ...]


def judged(vacancy: Vacancy, offered: Offered, scales: Scaled | None = None) -> Judged:
    """What a version would be in place of what is worn; `scales` of one printed already, or None: as they fit."""
    at = scales or vacancy.scales
    allowed = [each for each in offered.materials if _plain(each) == _plain(vacancy.material)]
    material = vacancy.material if allowed or not offered.materials else offered.materials[0]
    return Judged(offered, at, material, vacancy.colour, tuple(_reasons(vacancy, offered, at)))


def state_problem(name: str, state: VersionState, successor: str | None) -> str | None:
    """Why nothing new is printed from a version, and what to use instead; None if something may be."""
    if state is VersionState.DRAFT:
        return f"{name} is a draft: it is worn only once it is released."
    if state is VersionState.WITHDRAWN:
        instead = f"use {successor} instead" if successor else "no version takes its place yet"
        return f"{name} was withdrawn: {instead}."
    return None


def side_problem(made_for: Side | None, worn_on: Side) -> str | None:
    """Why a part made for one side is not worn on another; None if it is, or is made for either."""
    if made_for in {None, worn_on}:
        return None
    return f"It is made for the {made_for}, and this device is worn on the {worn_on}."


def _reasons(vacancy: Vacancy, offered: Offered, scales: Scaled | None) -> Iterator[Reason]:
    worn = vacancy.worn
    if (problem := state_problem(offered.name, offered.state, offered.successor)) is not None:
        yield Reason(Why.STATE, problem)
    if (problem := side_problem(offered.side, vacancy.side)) is not None:
        yield Reason(Why.SIDE, problem)
    if offered.digit is not None and worn.digit is not None and offered.digit is not worn.digit:
        yield Reason(Why.DIGIT, f"It is for the {offered.digit}, and what is worn is the {worn.digit}.")
    new = Member(worn.kind, worn.digit, offered.interface, scales)
    yield from misfits(new, vacancy.others)
    joined_by_name = any(worn.joins(each) and each.interface for each in vacancy.others)
    if worn.interface and not joined_by_name and not _mate(offered.interface, worn.interface):
        named = f"is {offered.interface}" if offered.interface else "is not named"
        yield Reason(Why.INTERFACE, f"Its interface {named}, that of the part worn now is {worn.interface}.")
    elif joined_by_name and not offered.interface:
        yield Reason(Why.INTERFACE, "Its interface is not named, so nobody can say that it mates.")


def _mate(one: str, other: str) -> bool:
    return _plain(one) == _plain(other)


def _plain(text: str) -> str:
    return " ".join(text.casefold().split())
