"""Which findings a check asks for: composed from what is made and who wears it, never chosen. Pure.

Values and their sources stand beside each limit. Signs and times of the skin are those of `safety/rules.py`.
"""

from __future__ import annotations

import enum
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from types import MappingProxyType
from typing import Final

from service.builds.rules import ELECTRIC
from service.gate.blocks import SMALL_CHILD_MONTHS, Facts, ItemFacts
from service.parts.rules import CheckItem, PartKind


class CheckKind(enum.StrEnum):
    """When something is looked at."""

    BENCH = "bench"
    FITTING = "fitting"
    FOLLOW_UP = "follow_up"

    @property
    def label(self) -> str:
        """The words on a screen."""
        return self.value.replace("_", " ")


class Result(enum.StrEnum):
    """What was found."""

    PASS = "pass"  # noqa: S105 a finding, no password
    FAIL = "fail"
    NOT_APPLICABLE = "not_applicable"

    @property
    def label(self) -> str:
        """The words on a screen."""
        return {"pass": "in order", "fail": "not in order", "not_applicable": "does not apply"}[self.value]


@dataclass(frozen=True, slots=True)
class Limit:
    """A number that a finding is held against: at least or at most so much, with where the number is from."""

    value: float
    unit: str
    at_least: bool
    source: str

    def holds(self, found: float) -> bool:
        """Whether a measured value keeps it."""
        return found >= self.value if self.at_least else found <= self.value

    @property
    def words(self) -> str:
        """As it is read: "at least 131 N"."""
        return f"at {'least' if self.at_least else 'most'} {self.value:g} {self.unit}"


LIMITS: Final[Mapping[str, Limit]] = MappingProxyType(
    {
        CheckItem.LINE_PULL.value: Limit(
            131, "N", True, "the largest cable force found in use, Hichert 2017 (33 to 131 N)"
        ),
        CheckItem.HEAT.value: Limit(41, "°C", False, "applied parts, IEC 60601-1, edition 2"),
        CheckItem.EDGE_RADIUS.value: Limit(1, "mm", True, "common practice, no published source"),
    }
)
"""The usual limits; a site may record its own, with a source (`tables.CheckLimitRow`)."""

CRACKS, GAUGED, SMALL_PARTS, LATEX = "cracks", "gauged", "small_parts", "latex"
ON_AND_OFF, GAPING, MOVEMENT, SKIN = "on_and_off", "gaping", "movement", "skin"
SOUND, STILL_FITS, WORN = "sound", "still_fits", "worn"

_ASKS: Final[Mapping[str, str]] = MappingProxyType(
    {
        CheckItem.SHARP_EDGES.value: "Run a cloth and a finger over every edge: nothing catches.",
        CRACKS: "Look at every part against the light: no crack, no white line where it bends.",
        CheckItem.LAYERS.value: "Bend and twist it by hand across its layers: they hold.",
        CheckItem.FASTENERS.value: "Screws and bolts are tight, locked, and do not stand out.",
        CheckItem.CAPTIVE_PINS.value: "Pull and shake each pin: none can come out.",
        CheckItem.LINE_PULL.value: "The line is anchored. Pull it to the stated force, and hold: knot and anchor stay.",
        CheckItem.PINCH_POINTS.value: "Move every joint: no gap that closes on skin or a fingertip.",
        CheckItem.EDGE_RADIUS.value: "Edges towards the skin are round: hold the gauge to the tightest one.",
        CheckItem.HEAT.value: "Run or wear it warm for ten minutes: the surface to the skin stays cool enough.",
        CheckItem.BATTERY.value: "The battery is held, covered, undamaged, and cannot be charged while it is worn.",
        CheckItem.LABEL.value: "The build's number and the version can be read on it.",
        GAUGED: "Drill or ream what came out too tight, and gauge each; look through thin walls against the light.",
        SMALL_PARTS: "Nothing that comes off by hand fits into the small-parts cylinder.",
        LATEX: "Every lot in it is known to be free of latex.",
        ON_AND_OFF: "The wearer puts it on and takes it off without help, or shows how help is given.",
        GAPING: "No gap at the edge when the arm is bent, stretched and lifted.",
        MOVEMENT: "Elbow and shoulder move as far as without it, and the hand opens and closes.",
        SKIN: "Take it off after the time that is said here, look at the skin, wait, and look again.",
        SOUND: "No crack, nothing loose, no frayed line.",
        STILL_FITS: "It is neither tight nor loose, with the socks worn today.",
        WORN: "It was worn as planned, day by day.",
    }
)


@dataclass(frozen=True, slots=True)
class Asked:
    """A finding that a check asks for: what to do, why it is asked, and the limit of what is measured."""

    item: str
    asks: str
    because: str
    limit: Limit | None = None
    may_not_apply: bool = True

    @property
    def label(self) -> str:
        """The words on a screen."""
        return self.item.replace("_", " ")


def asked_for(kind: CheckKind, facts: Facts, needs: Iterable[CheckItem], limits: Mapping[str, Limit]) -> list[Asked]:
    """The findings of a check; `needs` is what the versions of the parts ask for, `limits` those of the site."""
    if kind is CheckKind.BENCH:
        return list(_bench(facts, frozenset(needs), limits))
    if kind is CheckKind.FITTING:
        because = "asked at every fitting"
        return [Asked(each, _ASKS[each], because, None, each != SKIN) for each in (ON_AND_OFF, GAPING, MOVEMENT, SKIN)]
    because = "asked at every follow-up"
    return [Asked(each, _ASKS[each], because) for each in (SKIN, SOUND, STILL_FITS, WORN)]


def _bench(facts: Facts, needs: frozenset[CheckItem], limits: Mapping[str, Limit]) -> Iterator[Asked]:
    printed = [item for item in facts.items if item.printed]
    for item, because in _items(facts.items, needs):
        always = item in {CheckItem.SHARP_EDGES, CheckItem.LAYERS} and bool(printed)
        yield Asked(item.value, _ASKS[item.value], because, limits.get(item.value), not always)
        if item is CheckItem.SHARP_EDGES and printed:
            yield Asked(CRACKS, _ASKS[CRACKS], "asked of everything printed", None, False)
    if out := [f"{item.name}: {why}" for item in facts.items for why in item.out_of_limits]:
        yield Asked(GAUGED, _ASKS[GAUGED], " ".join(out), None, False)
    if facts.age_months < SMALL_CHILD_MONTHS:
        yield Asked(SMALL_PARTS, _ASKS[SMALL_PARTS], "the wearer is under three", None, False)
    if facts.latex_allergy:
        yield Asked(LATEX, _ASKS[LATEX], "the wearer is allergic to latex", None, False)


def _items(items: tuple[ItemFacts, ...], needs: frozenset[CheckItem]) -> Iterator[tuple[CheckItem, str]]:
    kinds = {item.kind for item in items}
    electric = bool(kinds & ELECTRIC)
    bought = any(not item.printed for item in items)
    line = PartKind.LINE in kinds
    for each in CheckItem:
        if each in needs:
            yield each, "asked of what is printed"
        elif each is CheckItem.BATTERY and PartKind.BATTERY in kinds:
            yield each, "there is a battery in it"
        elif each is CheckItem.HEAT and electric:
            yield each, "it is driven by a motor"
        elif each is CheckItem.LINE_PULL and line:
            yield each, "there is a line in it"
        elif each is CheckItem.FASTENERS and bought:
            yield each, "something is fastened to it"


@dataclass(frozen=True, slots=True)
class Found:
    """A finding as somebody sent it."""

    item: str
    result: Result
    value: float | None = None
    why: str = ""


def findings_problems(asked: Iterable[Asked], found: Iterable[Found]) -> list[tuple[str, str]]:
    """What is wrong with findings, as (field, sentence): missing, too many, without a reason, a wrong number."""
    known = {each.item: each for each in asked}
    problems, seen = [], set()
    for at, each in enumerate(found):
        field = f"findings.{at}"
        wanted = known.get(each.item)
        if wanted is None:
            problems.append((f"{field}.item", f"“{each.item}” is not asked for here. Leave it out."))
            continue
        if each.item in seen:
            problems.append((f"{field}.item", f"“{wanted.label}” is found twice. Give it once."))
        seen.add(each.item)
        problems += [(f"{field}.{name}", said) for name, said in _wrong(wanted, each)]
    missing = [each.label for item, each in known.items() if item not in seen]
    if missing:
        problems.append(("findings", f"Look at these as well, and say what you find: {', '.join(missing)}."))
    return problems


def _wrong(wanted: Asked, each: Found) -> Iterator[tuple[str, str]]:
    if each.result is Result.NOT_APPLICABLE and not wanted.may_not_apply:
        yield "result", f"“{wanted.label}” always applies here. Look at it, and say what you find."
    elif each.result is Result.NOT_APPLICABLE and not each.why:
        yield "why", "Say why it does not apply."
    if each.result is Result.FAIL and not each.why:
        yield "why", "Say what is wrong, for whoever makes it."
    if each.value is None:
        return
    if wanted.limit is None:
        yield "value", "Nothing is measured here. Say it in words."
    elif each.result is Result.PASS and not wanted.limit.holds(each.value):
        said = (
            f"{each.value:g} {wanted.limit.unit} does not keep the limit, {wanted.limit.words}. So it is not in order."
        )
        yield "value", said


def passed(found: Iterable[Found]) -> bool:
    """Whether a check was passed: nothing failed."""
    return all(each.result is not Result.FAIL for each in found)


WEAR_IN_DAYS: Final = 7
"""The days of getting used to it; after them continuous wear begins (common practice, clinic leaflets)."""

FOLLOW_UPS: Final[tuple[tuple[str, timedelta], ...]] = (
    ("wear_in", timedelta(days=WEAR_IN_DAYS)),
    ("two_weeks", timedelta(days=14)),
    ("three_months", timedelta(days=91)),
    ("six_months", timedelta(days=182)),
)
"""When somebody asks how it goes, after the fitting (common practice)."""


def due_days(fitted_on: date) -> list[tuple[str, date]]:
    """The follow-ups of a fitting with their days."""
    return [(name, fitted_on + after) for name, after in FOLLOW_UPS]
