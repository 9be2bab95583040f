"""The next size of each socket worn, and a version tried on a limb, from what the register knows today."""

from __future__ import annotations

from collections.abc import Sequence

from service.access.permissions import May
from service.access.usecase import usecase
from service.access.work import Work
from service.assembly.queries import socket_part
from service.devices.queries import histories, worn_sockets
from service.devices.schemas import SocketView, WornSocket
from service.growth.queries import limb_without_socket, socket_cases
from service.growth.rules import why_no_forecast
from service.growth.stored import LimbCase, SocketCase
from service.kit.errors import Conflict, NotFound
from service.parts.queries import version_facts
from service.recipients.queries import seen_recipient
from service.recipients.rules import Side
from service.recipients.schemas import SeenRecipient
from service.sizing.answers import NextSize, TriedOn
from service.sizing.basing import WornPrint, inside_profile
from service.sizing.registered import next_size_of, tried_on
from service.sizing.schemas import SizeWish, TryWish


@usecase(May.SEE_CASES)
def next_sizes(work: Work, case_number: str, wish: SizeWish) -> list[NextSize]:
    """How big the next one should be, for each socket in place of a device in use.

    Raises Conflict while one is recorded as fitted before birth.
    """
    seen = seen_recipient(work, case_number)
    work.read.add(seen.id)
    worn = {each.socket: each for each in worn_sockets(work, [seen.id])}
    for each in worn.values():
        if (problem := why_no_forecast(each.fitted_on, seen.birth_date)) is not None:
            raise Conflict(problem)
    prints = _prints(work, seen)
    return [_next_size(seen, worn[each.socket], each, wish, prints) for each in socket_cases(work, seen.id)]


@usecase(May.SEE_CASES)
def try_version(work: Work, case_number: str, version_id: int, wish: TryWish) -> TriedOn:
    """A socket version of one of the case's shapes beside the limb, level by level, at the scales wished.

    Raises NotFound for a version that is not of this case, and Conflict for one whose inside is not known.
    """
    seen = seen_recipient(work, case_number)
    work.read.add(seen.id)
    facts = version_facts(work, [version_id]).get(version_id)
    if facts is None or facts.recipient != seen.id or facts.side is None:
        raise NotFound("There is no such socket version in this case.")
    if not inside_profile(facts):
        raise Conflict(
            "The inside of this version is not known, so it cannot be laid beside the limb. Say how its inside lies "
            "(the level at its origin), or add it as a new version that does."
        )
    worn = [each for each in _prints(work, seen) if each.side is facts.side and each.facts.shape == facts.shape]
    return tried_on(facts, facts.side, _of_limb(work, seen, facts.side), wish, worn)


def _next_size(
    seen: SeenRecipient, worn: WornSocket, known: SocketCase, wish: SizeWish, prints: Sequence[WornPrint]
) -> NextSize:
    now = next((each for each in prints if each.socket == worn.socket), None)
    before = [each for each in prints if now is not None and each.is_before(now)]
    return next_size_of(seen, worn, known, wish, now=now, before=before)


def _prints(work: Work, seen: SeenRecipient) -> list[WornPrint]:
    """Every socket of the recipient that was printed from a version the register holds."""
    sockets: dict[int, tuple[Side, SocketView]] = {
        socket.id: (device.side, socket)
        for device in histories(work, seen.case_number)
        for socket in device.sockets
        if not socket.mistaken
    }
    parts = socket_part(work, sockets)
    facts = version_facts(work, {each.version for each in parts.values()})
    return [
        WornPrint(
            socket=part.socket,
            side=sockets[part.socket][0],
            fitted_on=sockets[part.socket][1].fitted_on,
            facts=facts[part.version],
            across=part.scale_across,
            along=part.scale_along,
            material=part.material,
        )
        for part in parts.values()
        if part.version in facts
    ]


def _of_limb(work: Work, seen: SeenRecipient, side: Side) -> LimbCase | SocketCase:
    """What is known of a limb: with the socket that is worn on it, if one is, since socks reported tell of the limb."""
    on_side = {each.socket for each in worn_sockets(work, [seen.id]) if each.side is side}
    worn = [each for each in socket_cases(work, seen.id) if each.socket in on_side]
    return worn[0] if worn else limb_without_socket(work, seen.id, side)
