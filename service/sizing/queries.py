"""The next size of each socket worn, from what the register knows today."""

from __future__ import annotations

from collections import Counter

from service.access.permissions import May
from service.access.usecase import usecase
from service.access.work import Work
from service.devices.queries import worn_sockets
from service.devices.schemas import WornSocket
from service.growth.queries import socket_cases
from service.growth.rules import why_no_forecast
from service.growth.stored import SocketCase
from service.kit.errors import Conflict
from service.recipients.queries import seen_recipient
from service.recipients.schemas import SeenRecipient
from service.sizing.answers import NextSize
from service.sizing.comparing import OTHER_SIDE
from service.sizing.model.socks import MOST_WORN
from service.sizing.rules import GIRTHS, LONGEST_LEAD_DAYS, OTHER_INSIDE_SIZES
from service.sizing.schemas import AskSize, BaseIn, HandIn, InsideSize, LevelGirth, SizeWish, SocksIn
from service.sizing.stateless import size

NO_FILE = (
    "The register does not hold the socket's file yet: the scales are beside the socket worn now, taken from the sizes "
    "at which it is tight, and nothing can be said of bores, walls, plastic or time."
)


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
    return [_next_size(seen, worn[each.socket], each, wish) for each in socket_cases(work, seen.id)]


def _next_size(seen: SeenRecipient, worn: WornSocket, known: SocketCase, wish: SizeWish) -> NextSize:
    other_side_is_sound = OTHER_SIDE[worn.side.value] not in seen.limbs
    found = size(
        AskSize(
            case=known.case,
            base=_as_base(known, worn),
            socks=SocksIn(most_worn=MOST_WORN if wish.socks is None else wish.socks),
            wanted_months=wish.months,
            fitted_in_days=min(known.lead_days, LONGEST_LEAD_DAYS),
            clinician_asks_to_recast=wish.recast,
            try_across=wish.across,
            try_along=wish.along,
            hand=HandIn(wish_percent=wish.hand or 0.0) if other_side_is_sound else None,
        )
    )
    warnings = [*found.warnings, *known.left_out, NO_FILE]
    of_socket = {"device": worn.device, "socket": worn.socket, "purpose": worn.purpose, "side": worn.side}
    return NextSize(**{**found.model_dump(), **of_socket, "warnings": warnings})


def _as_base(known: SocketCase, worn: WornSocket) -> BaseIn:
    """The socket worn now in place of a file: where it is tight is what it is inside, less any liner."""
    limits = known.case.device.limits if known.case.device else []
    girths = Counter(limit.dimension for limit in limits if limit.dimension in GIRTHS)
    dimension = girths.most_common(1)[0][0] if girths else GIRTHS[0]
    profile = [(limit.level_mm, limit.tight_at_mm) for limit in limits if limit.dimension is dimension]
    return BaseIn(
        dimension=dimension,
        side=worn.side.value,
        inside_profile=[LevelGirth(level_mm=level, girth_mm=girth) for level, girth in profile if level is not None],
        inside_sizes=[
            InsideSize(dimension=limit.dimension, size_mm=limit.tight_at_mm)
            for limit in limits
            if limit.dimension in OTHER_INSIDE_SIZES
        ],
        is_last_print=True,
    )
