"""Commands and views of lots."""

from __future__ import annotations

from datetime import date, datetime
from typing import Annotated

from pydantic import ConfigDict, Field

from service.kit.paging import Listing
from service.kit.schema import Command, Day, Line, Text, View
from service.lots.rules import LotKind, LotState, LotUnit
from service.recipients.schemas import NO_CHOICE

Quantity = Annotated[float, Field(gt=0, le=1_000_000)]


class AddLot(Command):
    """A spool or a batch that came in. Without a day it came today, without a unit it is counted as usual of its kind.

    `latex_free` and `skin_contact` (may it touch the skin) are null while nobody knows.
    """

    model_config = ConfigDict(
        json_schema_extra={
            "example": {
                "kind": "filament",
                "what": "PETG 1.75 mm",
                "material": "PETG",
                "colour": "black",
                "maker": "Northern Reels",
                "batch": "24-118",
                "quantity": 750,
                "latex_free": True,
            }
        }
    )

    kind: LotKind
    what: Line
    material: Text = ""
    colour: Text = ""
    maker: Line
    batch: Line
    received_on: Day | None = None
    quantity: Quantity | None = None
    unit: LotUnit | None = None
    latex_free: bool | None = None
    skin_contact: bool | None = None
    safety_note: Text = ""
    note: Text = ""
    site: Text | None = None


class ChangeLot(Command):
    """New particulars of a lot; what is left out stays. What it is called by is refused: it never changes."""

    model_config = ConfigDict(json_schema_extra={"example": {"quantity": 400, "note": "Half went to the island."}})

    what: Line | None = None
    colour: Text | None = None
    maker: Line | None = None
    batch: Line | None = None
    kind: LotKind | None = None
    material: Text | None = None
    received_on: Day | None = None
    quantity: Quantity | None = None
    unit: LotUnit | None = None
    latex_free: bool | None = None
    skin_contact: bool | None = None
    safety_note: Text | None = None
    note: Text | None = None


class MoveLot(Command):
    """Another state for a lot, and why."""

    model_config = ConfigDict(json_schema_extra={"example": {"state": "held", "why": "Brittle when bent."}})

    state: LotState
    why: Line


class LotFilter(Listing):
    """Which lots are wanted; every word of `q` is in what a lot is called by or made of. "lot 12" is that one alone."""

    q: Text = ""
    kind: Annotated[LotKind | None, NO_CHOICE] = None
    state: Annotated[LotState | None, NO_CHOICE] = None
    site: Text = ""


class LotFacts(View):
    """A lot as other rooms need it; `why_not` says why nothing new may be made from it, null if something may."""

    id: int
    site_id: int
    kind: LotKind
    what: str
    material: str
    colour: str
    maker: str
    batch: str
    latex_free: bool | None
    skin_contact: bool | None
    safety_note: str
    state: LotState
    state_why: str
    why_not: str | None


class LotLine(View):
    """A lot in a list."""

    id: int
    site: str
    site_name: str
    kind: LotKind
    what: str
    material: str
    colour: str
    maker: str
    batch: str
    received_on: date
    state: LotState
    state_why: str
    state_since: date


class LotView(LotLine):
    """Everything known of a lot. `next_states` may follow its state; `quantity` is what came in, null if unknown."""

    quantity: float | None
    unit: LotUnit
    latex_free: bool | None
    skin_contact: bool | None
    safety_note: str
    note: str
    why_not: str | None
    next_states: list[LotState]
    created_at: datetime
    created_by: str


class LotEvent(View):
    """Something that was done to a lot: `changes` are {field: [before, after]}, as the audit keeps them."""

    at: datetime
    by: str
    act: str
    changes: dict[str, list[str | float | bool | None]]


class LotsHeld(View):
    """The lots that are held at the actor's sites, the latest first: how many, and the first of them."""

    count: int
    items: list[LotLine]
