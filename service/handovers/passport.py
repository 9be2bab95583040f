"""What the passport of a device says, which its family keeps: parts, limits, cautions, contacts. Pure.

The first name alone is on it. The statement on a custom-made device follows the particulars that Annex XIII of
Regulation (EU) 2017/745 and the UK Medical Devices Regulations 2002 ask for, as far as the register knows them; what
else is asked, and whether it is asked at all, local rules decide.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from service.anthropometry.dimensions import Dimension, short_landmark
from service.assembly.answers import PartInPlace
from service.devices.schemas import DeviceHistory, LimitView
from service.kit.days import full_day
from service.kit.schema import View
from service.measurements.rules import Place
from service.recipients.rules import Level, Side
from service.recipients.schemas import RecipientView


class MadeBy(View):
    """The build that a part came from, and who signed the bench check that let it out."""

    build: int
    signed_by: str | None
    signed_on: date | None

    @property
    def words(self) -> str:
        """As a sentence says it."""
        if self.signed_by is None or self.signed_on is None:
            return f"From build {self.build}; no bench check of it is on record."
        return f"From build {self.build}; {self.signed_by} signed its bench check on {full_day(self.signed_on)}."


class PassportPart(View):
    """A part in place, with what it was made of and where it came from."""

    title: str
    made_of: str
    lots: list[str]
    since: date
    origin: str
    build: int | None
    attention: list[str]


class Statement(View):
    """The statement on a custom-made device; it is whole where nothing is `missing`."""

    missing: list[str]
    sentences: list[str]


class Passport(View):
    """All that a passport says."""

    device: int
    given_name: str
    case_number: str
    purpose: str
    side: Side
    stopped_on: date | None
    parts: list[PassportPart]
    limits: list[str]
    socks: list[int]
    site: str
    statement: Statement


def part_of(part: PartInPlace, made: MadeBy | None) -> PassportPart:
    """A part as its line says it."""
    stuff = " ".join(word for word in (part.colour, part.material) if word)
    if part.version is not None:
        across, along = part.scale_across or 1.0, part.scale_along or part.scale_across or 1.0
        scale = f"{across:.3f}" if abs(across - along) < 5e-4 else f"{across:.3f} across and {along:.3f} along"
        name = part.version.name[:1].upper() + part.version.name[1:]
        made_of = f"{name}, at scale {scale}{f', in {stuff}' if stuff else ''}"
    elif part.part is None:
        made_of = "Nothing is on record of how it was made"
    else:
        made_of = f"Bought{f', {stuff}' if stuff else ''}"
    return PassportPart(
        title=part.title,
        made_of=made_of + (f", serial number {part.serial}" if part.serial else ""),
        lots=[f"lot {each.id} ({each.words})" for each in part.lots],
        since=part.since,
        origin=made.words if made else "Not from a build that is on record here.",
        build=made.build if made else None,
        attention=[each.sentence for each in part.attention],
    )


_POINTS = {
    "the lateral epicondyle": "the bony point on the outer side of the elbow",
    "the acromion": "the bony point on top of the shoulder",
}
_LENGTHS = {Dimension.RESIDUAL_LIMB_LENGTH, Dimension.HAND_LENGTH, Dimension.FOREARM_LENGTH}
_BREADTHS = {Dimension.HAND_BREADTH, Dimension.EPICONDYLAR_BREADTH}


def limit_words(limit: LimitView, ends_at: Level | None) -> str:
    """A limit of the socket in plain words: "190.5 mm around, 60 mm from the bony point on …"."""
    place = Place.on_limb(ends_at, limit.dimension, limit.side, limit.level_mm)
    point = short_landmark(place.counted_from)
    plain = _POINTS.get(point, point)
    size = f"{limit.tight_at_mm:.1f} mm"
    if limit.level_mm is not None:
        return f"{size} around, {limit.level_mm:g} mm from {plain} towards the end of the arm"
    if limit.dimension is Dimension.RESIDUAL_LIMB_LENGTH:
        return f"{size} long, from {plain} to the end of the limb"
    if limit.dimension in _LENGTHS:
        return f"{size} long ({place.facts.label}: {plain})"
    if limit.dimension in _BREADTHS:
        return f"{size} across ({place.facts.label}: {plain})"
    return f"{size} ({place.facts.label})"


def statement_of(person: RecipientView, device: DeviceHistory, what: Iterable[str], maker: str) -> Statement:
    """The statement, or what is missing for it."""
    missing = [
        words
        for words, given in {
            "the prescriber's name": person.prescriber_name,
            "the prescriber's profession": person.prescriber_profession,
            "the prescriber's registration": person.prescriber_registration,
            "the date of the prescription": person.prescribed_on,
        }.items()
        if not given
    ]
    if missing or person.prescribed_on is None:
        return Statement(missing=missing, sentences=[])
    named = f"{person.given_name}, case {person.case_number}"
    by = f"{person.prescriber_name}, {person.prescriber_profession}, registration {person.prescriber_registration}"
    parts = ", ".join(what) or "no part is on record yet"
    return Statement(
        missing=[],
        sentences=[
            f"This device was made for one named patient alone, {named}, and for nobody else's use.",
            f"What it is: device {device.id}, {device.purpose}, for the {device.side.value} arm, with {parts}.",
            f"It was made by {maker}.",
            f"It was prescribed by {by}, on {full_day(person.prescribed_on)}.",
            "Local rules on medical devices decide what else such a statement has to say, and who has to sign it.",
        ],
    )
