"""What the pages of a device show; the room above adds what it is made of."""

from __future__ import annotations

from typing import Any

from service.access.work import Work
from service.devices import queries
from service.devices.limit_rows import newest_near
from service.devices.rules import LIMIT_DIMENSIONS
from service.devices.schemas import SocketView
from service.measurements.queries import readings_for
from service.measurements.rules import Place
from service.recipients.queries import seen_recipient


def device_context(work: Work, case_number: str, device: int) -> dict[str, Any]:
    """Whose device it is, and the device with its sockets and settings."""
    return {"person": seen_recipient(work, case_number), "device": queries.device(work, case_number, device)}


def device_page(work: Work, case_number: str, device: int) -> dict[str, Any]:
    """The names that `devices/device.html` uses, but for what the device is made of."""
    context = device_context(work, case_number, device)
    return {**context, **_in_place(work, context), "reports": queries.device_reports(work, case_number, device)}


def _in_place(work: Work, context: dict[str, Any]) -> dict[str, Any]:
    """The newest reading at each limit of the socket in place, or the socket that could be put back in place.

    `from_where` goes on after a limit's place, where it is not counted from the dimension's own landmark.
    """
    readings = readings_for(work, [context["person"].id])[context["person"].id]
    socket: SocketView | None = context["device"].socket
    ends_at = context["person"].limbs.get(context["device"].side)
    standing = [each for each in context["device"].sockets if not each.mistaken]
    return {
        "last": [
            newest_near(readings, Place.on_limb(ends_at, each.dimension, each.side, each.level_mm))
            for each in (socket.limits if socket else [])
        ],
        "from_where": {
            each: Place.on_limb(ends_at, each, context["device"].side, None).from_where for each in LIMIT_DIMENSIONS
        },
        "came_off": standing[0] if standing and not socket else None,
    }
