"""What is asked of parts in place; `answers.py` has what is answered."""

from __future__ import annotations

from typing import Annotated

from pydantic import ConfigDict, Field

from service.assembly.rules import Scaled
from service.devices.rules import EndReason
from service.devices.schemas import AddLimit, EndPrevious, Plies
from service.geometry.answers import Scale
from service.kit.paging import Listing
from service.kit.schema import Command, Day, Id, Line, Text
from service.parts.rules import Digit, PartKind
from service.recipients.rules import Side
from service.recipients.schemas import NO_CHOICE

Lots = Annotated[tuple[Id, ...], Field(max_length=20, description="The lots it was made from.")]
Level = Annotated[float, Field(ge=0, le=500, description="mm from the landmark")]


class NewPart(Command):
    """A thing: printed when it has a `version`, and then of that version's kind; bought otherwise.

    Scales are factors of the version's file, 1 unless given. Where one lot is given, its material and colour are taken.
    """

    version: Id | None = None
    scale_across: Scale = 1.0
    scale_along: Scale = 1.0
    kind: PartKind | None = None
    what: Text = ""
    digit: Digit | None = None
    side: Side | None = None
    material: Text = ""
    colour: Text = ""
    serial: Text = ""
    lots: Lots = ()
    note: Text = ""


class PutPart(NewPart):
    """A part that was put in place on a day, today unless given.

    `one_more` records a part just like one recorded for the same day; `confirmed` stores what was doubted, marked.
    """

    model_config = ConfigDict(
        json_schema_extra={
            "example": {
                "on": "2026-02-20",
                "version": 7,
                "scale_across": 1.04,
                "scale_along": 1.06,
                "digit": "index",
                "material": "PETG",
                "lots": [12],
            }
        }
    )

    on: Day | None = None
    one_more: bool = False
    confirmed: bool = False


class ReplacePart(NewPart):
    """A part that was put in place of another on a day, today unless given, and why the other came off.

    What it is, which digit, and without lots its material and colour are those of the other unless given; `end_note` is
    about the other.
    """

    model_config = ConfigDict(
        json_schema_extra={"example": {"on": "2026-02-20", "came_off": "broken", "version": 7, "lots": [12]}}
    )

    on: Day | None = None
    came_off: EndReason
    end_note: Text = ""
    confirmed: bool = False


class EndPlace(Command):
    """A part came off on a day, today unless given, and why."""

    model_config = ConfigDict(json_schema_extra={"example": {"on": "2026-02-20", "came_off": "broken"}})

    on: Day | None = None
    came_off: EndReason
    note: Text = ""


class MovePart(Command):
    """A part went into another device on a day, today unless given; one that came off before goes in again.

    It keeps what it is and its lots. The device may be another recipient's, if the actor may see that case.
    """

    model_config = ConfigDict(json_schema_extra={"example": {"on": "2026-02-20", "device": 31}})

    device: Id
    on: Day | None = None
    note: Text = ""
    confirmed: bool = False


class StrikePlace(Command):
    """The part never was there: it is struck through and counts no more. If it had moved there, it is back before."""

    model_config = ConfigDict(json_schema_extra={"example": {"why": "It was the ring finger."}})

    why: Line


class PutPartBack(Command):
    """A part that is on record as having come off is in place after all."""

    model_config = ConfigDict(json_schema_extra={"example": {"why": "Only its line had come off."}})

    why: Line


class AddPrintedSocket(Command):
    """A fitted socket that was printed from a version made for this person, at two scales, from some lots.

    Its limits are worked out from the inside of the file at those scales, less the liner (the version's own, in mm,
    unless given): at `levels`, or where the limb was measured. `limits` adds others, such as a length.
    """

    model_config = ConfigDict(
        json_schema_extra={
            "example": {
                "fitted_on": "2026-02-20",
                "version": 9,
                "scale_across": 1.05,
                "scale_along": 1.02,
                "material": "PETG",
                "lots": [12],
                "previous": {"end_reason": "outgrown"},
            }
        }
    )

    fitted_on: Day
    version: Id
    scale_across: Scale = 1.0
    scale_along: Scale = 1.0
    liner_mm: Annotated[float, Field(ge=0, le=20)] | None = None
    levels: Annotated[tuple[Level, ...], Field(max_length=10)] = ()
    limits: Annotated[tuple[AddLimit, ...], Field(max_length=10)] = ()
    material: Text = ""
    colour: Text = ""
    lots: Lots = ()
    socks_at_fitting: Plies = ()
    note: Text = ""
    previous: EndPrevious | None = None
    confirmed: bool = False


class OnDay(Command):
    """A day, today unless given."""

    on: Annotated[Day | None, NO_CHOICE] = None


class AskReplacements(Command):
    """The scales at which something is printed already; without them, those at which it would fit are worked out."""

    scale_across: Scale | None = None
    scale_along: Scale | None = None

    @property
    def scales(self) -> Scaled | None:
        """Both scales, one being taken for the other if only one is given; None for none."""
        across, along = self.scale_across or self.scale_along, self.scale_along or self.scale_across
        return Scaled(across, along) if across and along else None


class WornFilter(Listing):
    """On which day, today unless given; with `ever`, whenever it was, and in devices that were stopped too."""

    on: Annotated[Day | None, NO_CHOICE] = None
    ever: bool = False
