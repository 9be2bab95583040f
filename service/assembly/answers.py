"""What is answered about parts in place."""

from __future__ import annotations

from datetime import date

from service.assembly.rules import Why, area_key, lot_words, part_called, part_name
from service.devices.rules import EndReason, Use
from service.devices.schemas import SocketView
from service.kit.schema import View
from service.lots.rules import LotKind, LotState
from service.parts.answers import VersionFacts
from service.parts.rules import Digit, PartKind, VersionState
from service.recipients.rules import Side


class VersionUsed(View):
    """The version a part was printed from: `name` such as "Long finger, version 3". `successor` takes its place."""

    id: int
    name: str
    number: int
    interface: str
    state: VersionState
    withdrawn_on: date | None
    successor: int | None
    successor_name: str | None


class LotUsed(View):
    """A lot that a part was made from."""

    id: int
    kind: LotKind
    what: str
    material: str
    colour: str
    maker: str
    batch: str
    state: LotState
    state_since: date

    @property
    def words(self) -> str:
        """As it is called: "PETG 1.75 mm, black, Northern Reels 24-118"."""
        return lot_words(self.what, self.colour, self.maker, self.batch)


class Flag(View):
    """Why a part should be looked at: one word, and a sentence."""

    word: str
    sentence: str


class PartInPlace(View):
    """A part and its stay in a device: `place` is the id of the stay, or `socket` that of the socket in place it is.

    A socket that was not printed from a version the register holds has no `part`, and nothing is known of it. `since`
    is the day it was put there, `until` the day it was there no more, null if it is there now; one with `came_off`
    "mistake" never was. `doubts` were confirmed when it was recorded.
    """

    place: int | None
    socket: int | None
    part: int | None
    kind: PartKind
    what: str
    digit: Digit | None
    side: Side | None
    version: VersionUsed | None
    scale_across: float | None
    scale_along: float | None
    material: str
    colour: str
    serial: str
    about: str
    lots: list[LotUsed]
    attention: list[Flag]
    since: date
    until: date | None
    came_off: EndReason | None
    note: str
    end_note: str
    ended_by: str | None
    doubts: list[str]

    @property
    def name(self) -> str:
        """The part in words: "finger, index"."""
        return part_name(self.kind, self.digit, self.what)

    @property
    def called(self) -> str:
        """The part within a sentence: "index finger"."""
        return part_called(self.kind, self.digit)

    @property
    def title(self) -> str:
        """The part in words, as a heading begins."""
        return self.name[:1].upper() + self.name[1:]

    @property
    def area(self) -> str:
        """The word for where it is drawn."""
        return area_key(self.kind, self.digit)

    @property
    def mistaken(self) -> bool:
        """Whether it was recorded by mistake, and counts no more."""
        return self.came_off is EndReason.MISTAKE


class PlacedPart(PartInPlace):
    """A part in place, and where that is."""

    case_number: str
    device: int
    purpose: str


class PrintedSocket(View):
    """A printed socket in place: with its limits, and the part it is."""

    socket: SocketView
    part: PartInPlace


class Assembly(View):
    """What was in place in a device when a day ended.

    `use` is the device's own today; `lies_by` says that it was stopped by that day: its parts lie in a drawer, and are
    not worn.
    """

    device: int
    purpose: str
    side: Side
    use: Use
    stopped_on: date | None
    lies_by: bool
    parts: list[PartInPlace]


class AssembliesOn(View):
    """Every device of a recipient as a day ended; `before` and `after` are the nearest days of a change."""

    on: date
    items: list[Assembly]
    before: date | None
    after: date | None


class Offer(View):
    """What a part put in place now may be made of: versions that may be printed, and lots in use at the case's site."""

    versions: list[VersionFacts]
    lots: list[LotUsed]


class ReasonView(View):
    """Why a version does not fit."""

    why: Why
    sentence: str


class Replacement(View):
    """A version, and what it would be in place of what is worn; `fits` unless there are `reasons` why not.

    Scales are null where neither the part worn nor what it joins has any. `lots` are in use at the case's site, of
    that material.
    """

    version: int
    name: str
    number: int
    interface: str
    state: VersionState
    fits: bool
    scale_across: float | None
    scale_along: float | None
    material: str
    colour: str
    reasons: list[ReasonView]
    lots: list[LotUsed]


class Replacements(View):
    """What may replace a part: those that fit first. For a bought part, `lots` of the same thing in use at the site."""

    part: PartInPlace
    items: list[Replacement]
    lots: list[LotUsed]


class WornPart(View):
    """A part of the lot or version that was asked about, on somebody's limb."""

    case_number: str
    given_name: str
    family_name: str
    side: Side
    device: int
    purpose: str
    use: Use
    place: int | None
    socket: int | None
    part: int
    kind: PartKind
    what: str
    digit: Digit | None
    version: int | None
    scale_across: float | None
    scale_along: float | None
    material: str
    colour: str
    serial: str
    since: date
    until: date | None

    @property
    def title(self) -> str:
        """The part in words, as a sentence begins."""
        name = part_name(self.kind, self.digit, self.what)
        return name[:1].upper() + name[1:]


class WornBy(View):
    """Who wears it: the parts of cases that the actor may see, a page of them.

    `on` is null when asked about ever. `limbs` counts the limbs of these cases, `elsewhere` those of all others.
    """

    on: date | None
    limbs: int
    elsewhere: int
    items: list[WornPart]
    next: str | None = None


class SocketPart(View):
    """What a printed socket was printed from; scales are factors of the version's file."""

    socket: int
    part: int
    version: int
    scale_across: float
    scale_along: float
    material: str
    colour: str
