"""What the pages of parts show, put together from what is read."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any
from urllib.parse import urlencode

from service.access.work import Work
from service.assembly import queries
from service.assembly.answers import Assembly, Offer, PartInPlace
from service.assembly.drawing import Drawing, Seen, drawing
from service.assembly.rules import lot_words
from service.assembly.schemas import WornFilter
from service.assembly.stays import versions_used
from service.devices.queries import devices
from service.devices.rules import Use
from service.devices.showing import device_context, device_page
from service.kit.errors import NotFound
from service.lots.queries import lot_facts
from service.parts.rules import PartKind
from service.recipients.queries import seen_recipient
from service.recipients.rules import Level, Side

_SCALED = ("palm", "index", "middle", "ring", "little", "thumb")


@dataclass(frozen=True)
class Drawn:
    """A device as it was made up on a day: drawn, and its parts in the order of the drawing."""

    assembly: Assembly
    drawing: Drawing
    parts: list[PartInPlace]

    @property
    def flagged(self) -> list[PartInPlace]:
        """The parts that should be looked at."""
        return [each for each in self.parts if each.attention]


def drawn(assembly: Assembly, limbs: Mapping[Side, Level]) -> Drawn:
    """A device drawn from its parts, and the parts sorted as they lie in the drawing."""
    seen = [Seen(each.kind, each.digit, each.attention[0].word if each.attention else "") for each in assembly.parts]
    picture = drawing(seen, assembly.side, limbs.get(assembly.side))
    order = [area.key for area in picture.areas]
    parts = sorted(assembly.parts, key=lambda each: (order.index(each.area), each.since))
    return Drawn(assembly, picture, parts)


def of_device(work: Work, case_number: str, device: int) -> dict[str, Any]:
    """The names that `devices/device.html` uses."""
    context = device_page(work, case_number, device)
    assemblies = queries.parts_in_place(work, case_number).items
    return {
        **context,
        "made_of": next(drawn(each, context["person"].limbs) for each in assemblies if each.device == device),
        "earlier": [each for each in queries.parts_of_device(work, case_number, device) if each.until is not None],
    }


def on_a_day(work: Work, case_number: str, on: date | None) -> dict[str, Any]:
    """The names that `assembly/day.html` uses; raises Invalid for a day that cannot be."""
    person = seen_recipient(work, case_number)
    found = queries.parts_in_place(work, case_number, on)
    return {"person": person, "found": found, "devices": [drawn(each, person.limbs) for each in found.items]}


def of_place(work: Work, case_number: str, place: int) -> dict[str, Any]:
    """The names that the page of a part in place and its forms use."""
    there = queries.place(work, case_number, place)
    return {**device_context(work, case_number, there.device), "there": there}


def of_part(work: Work, case_number: str, place: int) -> dict[str, Any]:
    """The names that `assembly/part.html` uses."""
    context = of_place(work, case_number, place)
    return {
        **context,
        "stays": queries.whereabouts(work, case_number, place),
        "found": queries.replacements(work, case_number, place) if context["there"].until is None else None,
    }


def new_part(work: Work, case_number: str, device: int, *, bought: bool) -> dict[str, Any]:
    """The names that `assembly/put.html` uses; a printed part probably has the scales of the hand that is worn."""
    context = device_context(work, case_number, device)
    worn = next(
        (each for each in queries.parts_in_place(work, case_number).items if each.device == device),
        None,
    )
    scaled = {each.area: each for each in (worn.parts if worn else []) if each.scale_across is not None}
    like = next((scaled[key] for key in _SCALED if key in scaled), None)
    return {**context, **_offered(queries.to_put(work, case_number)), "bought": bought, "like": like}


def replacing(work: Work, case_number: str, place: int) -> dict[str, Any]:
    """The names that `assembly/replace.html` uses."""
    context = of_place(work, case_number, place)
    offered = _offered(queries.to_put(work, case_number))
    return {**context, **offered, "found": queries.replacements(work, case_number, place)}


def moving(work: Work, case_number: str, place: int, whose: str) -> dict[str, Any]:
    """The names that `assembly/move.html` uses: the devices of this case, or of the one whose number is given."""
    context = of_place(work, case_number, place)
    problem = None
    taker = context["person"]
    if whose:
        try:
            taker = seen_recipient(work, whose)
        except NotFound as refusal:
            problem = refusal.detail
    there = context["there"]
    choices = [
        each
        for each in devices(work, taker.case_number)
        if each.use is not Use.STOPPED and (each.id != there.device or there.until is not None)
    ]
    return {**context, "taker": taker, "choices": choices, "whose": whose, "whose_problem": problem}


def new_socket(work: Work, case_number: str, device: int) -> dict[str, Any]:
    """The names that `assembly/socket.html` uses."""
    return {**device_context(work, case_number, device), **_offered(queries.to_print(work, case_number, device))}


def who_wears(work: Work, wanted: WornFilter, *, lot: int | None = None, version: int | None = None) -> dict[str, Any]:
    """The names that `assembly/worn.html` uses."""
    found = queries.worn(work, wanted, lot=lot, version=version)
    address = f"/lots/{lot}" if lot is not None else f"/parts/versions/{version}"
    asked = {"on": wanted.on.isoformat()} if wanted.on else {"ever": "true"} if wanted.ever else {}
    return {
        "found": found,
        "words": _called(work, lot, version),
        "address": address,
        "older": f"{address}/worn?{urlencode({**asked, 'cursor': found.next})}" if found.next else None,
    }


def _offered(offer: Offer) -> dict[str, Any]:
    """What a form offers: the versions as its options, by what they are, each digit and side said once."""
    options = []
    for each in sorted(offer.versions, key=lambda each: list(PartKind).index(each.kind)):
        which = [
            part for part in (each.digit, each.side) if part is not None and part.value not in each.name.casefold()
        ]
        options.append((each.id, f"{each.kind.label.capitalize()}: {', '.join([each.name, *which])}"))
    return {"offer": offer, "versions": options}


def _called(work: Work, lot: int | None, version: int | None) -> str:
    if lot is not None:
        found = lot_facts(work, [lot])[lot]
        return lot_words(found.what, found.colour, found.maker, found.batch)
    return versions_used(work, [version or 0])[version or 0].name
