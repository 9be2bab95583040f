"""What the pages of builds show: the build, what the gate says, how far it is, and what its forms offer."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa

from service.access.work import Work
from service.assembly.choosing import lots_in_use
from service.assembly.rules import lot_words
from service.builds import queries as builds
from service.builds.keeping import items_of
from service.builds.rules import UNDER_WAY, BuildState, FailedWhy
from service.builds.schemas import BuildFilter, BuildView
from service.gate import queries as gate
from service.gate.blocks import BlockCode
from service.gate.checklists import CheckKind
from service.gate.keeping import blocks_of
from service.gate.rows import seen
from service.handovers.finding import in_place, taken_by
from service.handovers.queries import hand_over
from service.handovers.rules import WEAR_IN, cautions
from service.kit.passwords import random_text
from service.parts.queries import released_versions, shapes
from service.parts.rules import PartKind, VersionState
from service.requests.queries import request
from service.requests.rules import RequestKind
from service.safety.rules import SIGNS, SkinLimits, minutes_of
from service.volunteers.tables import PrinterRow

ORDER = (
    (BuildState.SENT_BACK, "Sent back: look what was found"),
    (BuildState.MADE, "Made: waits for a bench check by somebody else"),
    (BuildState.CLEARED, "Cleared: may go out"),
    (BuildState.DELIVERED, "With the family: to be fitted"),
    (BuildState.MAKING, "Being made"),
    (BuildState.PLANNED, "To begin"),
)
"""The list of builds, what waits for somebody first."""


def of_list(work: Work, wanted: BuildFilter) -> dict[str, Any]:
    """Builds under way, in groups of what is to be done next."""
    found = builds.builds(work, wanted)
    groups = [(words, [each for each in found.items if each.state is state]) for state, words in ORDER]
    blocked = {each.id for each in found.items if each.state in UNDER_WAY and in_the_way(work, each.id)}
    over = [each for each in found.items if each.state not in {state for state, _words in ORDER}]
    return {
        "groups": [(words, lines) for words, lines in [*groups, ("Over", over)] if lines],
        "blocked": blocked,
        "older": f"/builds?cursor={found.next}" if found.next else None,
        "first": wanted.cursor is None,
    }


def in_the_way(work: Work, build_id: int) -> bool:
    """Whether something stands in the way of a build beside the bench check that every build waits for."""
    return any(each.code is not BlockCode.BENCH_CHECK for each in blocks_of(work, seen(work, build_id)))


def of_build(work: Work, build_id: int) -> dict[str, Any]:
    """A build with all that is known of it, and what stops its next step."""
    view = builds.build(work, build_id)
    said = gate.gate(work, build_id)
    return {
        "build": view,
        "gate": said,
        "hand": hand_over(work, build_id),
        "now": said.now,
        "later": [each for each in said.blocks if each not in said.now],
        "case": f"/recipients/{view.case_number}" if view.case_number else None,
    }


def of_print(work: Work, build_id: int) -> dict[str, Any]:
    """What the form that logs a print offers: the items that are not out yet first, and the spools that could be it."""
    view = builds.build(work, build_id)
    printed = [each for each in view.items if each.version is not None]
    waiting = [each for each in printed if each.came_out < each.quantity] or printed
    last = [lot.lot for each in reversed(view.prints) for lot in each.lots]
    return {
        "build": view,
        "items": waiting,
        "spools": _lots(work, build_id, filament=True),
        "last_lot": last[0] if last else None,
        "printers": _printers(work, view),
        "failures": [(each.value, each.label) for each in FailedWhy],
        "press": random_text(),
    }


def of_lots(work: Work, build_id: int) -> dict[str, Any]:
    """What the form that names the lots of bought things offers."""
    view = builds.build(work, build_id)
    bought = [each for each in view.items if each.version is None]
    return {"build": view, "items": bought, "lots": _lots(work, build_id, filament=False)}


def of_items(work: Work, build_id: int) -> dict[str, Any]:
    """What the form that chooses what is made offers: released versions, and the sockets made for this person."""
    view = builds.build(work, build_id)
    kinds = {each.kind for each in view.items} or set(PartKind)
    asked = request(work, view.request) if view.case_number else None
    about_socket = asked is not None and asked.kind is RequestKind.NEXT_SOCKET
    offered = [] if about_socket else [(each.id, each.name) for each in released_versions(work, list(kinds))]
    return {
        "build": view,
        "versions": [*_sockets(work, view), *offered],
        "next_size": f"/recipients/{view.case_number}/next-size" if about_socket else None,
        "kinds": [(each.value, each.label) for each in PartKind],
    }


def of_check(work: Work, build_id: int, kind: CheckKind, skin: SkinLimits) -> dict[str, Any]:
    """What a check asks for."""
    found = gate.checks(work, build_id)
    signs = [(sign.value, words.format(minutes=minutes_of(sign, skin))) for sign, (_, words) in SIGNS.items()]
    return {"build": builds.build(work, build_id), "kind": kind, "asked": found.asked[kind], "signs": signs}


def of_delivery(work: Work, build_id: int) -> dict[str, Any]:
    """What is to be known at the door."""
    return {"build": builds.build(work, build_id), "hand": hand_over(work, build_id)}


def of_fitting(work: Work, build_id: int, skin: SkinLimits) -> dict[str, Any]:
    """What a fitting asks: the checks, what comes off and may go over, and the cautions to be explained."""
    view = builds.build(work, build_id)
    row = seen(work, build_id)
    there = in_place(work, row.recipient_id)
    here = [each for each in there if each.device == view.device]
    return {
        **of_check(work, build_id, CheckKind.FITTING, skin),
        "hand": hand_over(work, build_id),
        "here": here,
        "leaving": [taken for item in items_of(work, row.id) if (taken := taken_by(here, item)) is not None],
        "elsewhere": [each for each in there if each.device != view.device and each.place is not None],
        "cautions": cautions(skin.fades_minutes),
        "wear_in": WEAR_IN,
        "minutes": skin.fades_minutes,
        "socket": any(each.kind is PartKind.SOCKET for each in view.items),
    }


def _sockets(work: Work, view: BuildView) -> list[tuple[int, str]]:
    if view.case_number is None:
        return []
    return [
        (version.id, f"Socket from the {shape.method.value} of {shape.taken_on:%d %B %Y}, version {version.number}")
        for shape in shapes(work, view.case_number)
        if shape.struck is None and (view.side is None or shape.side is view.side)
        for version in shape.versions
        if version.state is VersionState.RELEASED
    ]


def _printers(work: Work, view: BuildView) -> list[tuple[int, str]]:
    """The printers of who makes it, where there is a choice."""
    if view.volunteer is None or view.printer is not None:
        return []
    theirs = sa.select(PrinterRow.id, PrinterRow.name).where(PrinterRow.volunteer_id == view.volunteer)
    found = [(each.id, each.name) for each in work.session.execute(theirs.order_by(PrinterRow.id))]
    return found if len(found) > 1 else []


def _lots(work: Work, build_id: int, *, filament: bool) -> list[tuple[int, str]]:
    site_id = seen(work, build_id).site_id
    left = {each.lot: f", {each.left:g} {each.unit} left" for each in builds.stock(work) if each.left is not None}
    return [
        (lot.id, f"{lot.id}: {lot_words(lot.what, lot.colour, lot.maker, lot.batch)}{left.get(lot.id, '')}")
        for lot in lots_in_use(work, site_id)
        if (lot.kind.value == "filament") is filament
    ]
