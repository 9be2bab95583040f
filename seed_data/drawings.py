"""Files of the demo by the words of its story: what is drawn, with which arguments, in which format."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from seed_data import limbs, meshes, solids
from seed_data.meshes import Solid

_DRAWN: dict[str, Callable[..., Solid]] = {
    "palm": solids.palm,
    "finger": solids.finger,
    "jointed_finger": solids.jointed_finger,
    "thumb": solids.thumb,
    "coupling": solids.coupling,
    "cover": solids.cover,
    "tool_holder": solids.tool_holder,
    "paw": solids.paw,
    "fingertip": solids.fingertip,
    "limb": limbs.limb,
    "socket": limbs.socket,
}
_WRITTEN = {"stl": meshes.stl, "3mf": meshes.three_mf}


def solid(what: str, arguments: Mapping[str, Any]) -> Solid:
    """The mesh of something; raises KeyError for what nobody draws."""
    return _DRAWN[what](**arguments)


def drawn(event: Mapping[str, Any]) -> tuple[str, bytes]:
    """The file an event of the story draws: its name and its content, the same bytes every time."""
    written = event.get("format", "stl")
    called = (event.get(each) for each in ("design", "method", "key", "number", "side"))
    name = "-".join(str(each).lower().replace(",", "").replace(" ", "-") for each in called if each)
    return f"{name or event['drawn']}.{written}", _WRITTEN[written](solid(event["drawn"], event.get("with", {})))
