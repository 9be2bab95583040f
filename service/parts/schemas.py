"""Commands of designs, versions and shapes, and what is known of a file once it was read."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pydantic import BeforeValidator, ConfigDict, Field

from service.geometry.answers import Axis, Format, Geometry, Inside, LengthUnit, Point, Scale
from service.geometry.printing import Kind
from service.kit.paging import Listing
from service.kit.schema import Command, Day, Id, Line, Text
from service.parts.rules import CheckItem, Digit, PartKind, ShapeMethod
from service.recipients.rules import Side
from service.recipients.schemas import NO_CHOICE

Mm = Annotated[float, Field(gt=0, le=2000)]
Reason = Annotated[Text, Field(min_length=1)]
Materials = Annotated[tuple[Line, ...], Field(max_length=20, description='In plain words: "PETG", "TPU 95A".')]
Checks = Annotated[tuple[CheckItem, ...], Field(max_length=len(CheckItem))]


class AddDesign(Command):
    """Something that can be printed. `interface` is what it mates with: parts that carry the same one do."""

    model_config = ConfigDict(
        json_schema_extra={
            "example": {"name": "Finger, index", "kind": "finger", "digit": "index", "interface": "pin 3 mm, tongue 8"}
        }
    )

    name: Line
    kind: PartKind
    digit: Digit | None = None
    side: Side | None = None
    interface: Annotated[Text, Field(max_length=200)] = ""
    note: Text = ""


class DesignFilter(Listing):
    """What to list; every word of `q` is in a design's name, kind, digit, side or interface."""

    q: Annotated[Text, Field(max_length=200, description="Words of a name, or of what it is.")] = ""
    kind: Annotated[PartKind | None, NO_CHOICE] = None
    digit: Annotated[Digit | None, NO_CHOICE] = None
    side: Annotated[Side | None, NO_CHOICE] = None


def _in_words(supports: Any) -> Any:
    return {True: "needed", False: "none"}[supports] if isinstance(supports, bool) else supports


class PrintSettings(Command):
    """How a version is printed. `walls` are lines of plastic, each as wide as the nozzle; `infill` is a share."""

    nozzle_mm: Annotated[float, Field(gt=0, le=5)] = 0.4
    layer_mm: Annotated[float, Field(gt=0, le=2)] = 0.2
    walls: Annotated[int, Field(ge=1, le=50)] = 3
    infill: Annotated[float, Field(ge=0, le=1, description="A share: 0.2 for 20 per cent.")] = 0.2
    orientation: Text = ""
    supports: Annotated[Text, BeforeValidator(_in_words)] = ""


class FixedFeature(Command):
    """What must not scale. `holds_mm` is the size of what goes in, the nominal size if left out."""

    kind: Kind
    nominal_mm: Mm
    holds_mm: Mm | None = None
    clearance_mm: Annotated[float, Field(ge=0, le=20)] = 0.0
    axis: Literal["across", "along"] = "across"
    position_mm: Point | None = None
    note: Text = ""


Features = Annotated[tuple[FixedFeature, ...], Field(max_length=100)]


class AddVersion(Command):
    """A version, as a draft; its file comes beside it.

    `unit` is the file's unit of length: an STL carries none, a 3MF its own. `axis` is what it is scaled along; `inside`
    says how the inside of a socket lies beside the limb, and without it no inside profile is taken. Without `interface`
    it is the design's, without `checks` they are the usual ones. `confirmed` takes a file in which something was odd.
    """

    model_config = ConfigDict(
        json_schema_extra={
            "example": {
                "unit": "mm",
                "what_changed": "The tongue is 0.2 mm narrower.",
                "why": "It jammed in palms printed of PETG.",
                "materials": ["PETG"],
                "print_settings": {"nozzle_mm": 0.4, "layer_mm": 0.2, "walls": 3, "infill": 0.2},
                "features": [{"kind": "pin_bore", "nominal_mm": 3.2, "holds_mm": 3, "clearance_mm": 0.1}],
            }
        }
    )

    unit: LengthUnit | None = None
    what_changed: Text = ""
    why: Text = ""
    licence: Annotated[Text, Field(max_length=200)] = ""
    interface: Annotated[Text, Field(max_length=200)] | None = None
    materials: Materials = ()
    print_settings: PrintSettings = PrintSettings()
    features: Features = ()
    checks: Checks | None = None
    axis: Axis = Axis()
    inside: Inside | None = None
    confirmed: bool = False


class ChangeVersion(Command):
    """What a draft should say instead; what is left out stays. The file itself is never exchanged.

    A new `unit`, `axis` or `inside` has the file read again.
    """

    model_config = ConfigDict(json_schema_extra={"example": {"why": "It jammed in palms printed of PETG and of PLA."}})

    unit: LengthUnit = LengthUnit.MILLIMETRE
    what_changed: Reason = ""
    why: Text = ""
    licence: Annotated[Text, Field(max_length=200)] = ""
    interface: Annotated[Text, Field(max_length=200)] = ""
    materials: Materials = ()
    print_settings: PrintSettings = PrintSettings()
    features: Features = ()
    checks: Checks = ()
    axis: Axis = Axis()
    inside: Inside | None = None
    confirmed: bool = False

    @property
    def given(self) -> dict[str, Any]:
        """What was said, by name."""
        return {name: getattr(self, name) for name in self.model_fields_set - {"confirmed"}}


class Release(Command):
    """From now on it may be printed for somebody, and never changes."""

    model_config = ConfigDict(json_schema_extra={"example": {"why": "Printed and pulled on the bench, six times."}})

    why: Reason


class Withdraw(Command):
    """It is printed no more, and why. `successor` is the version to print instead, if there is one yet."""

    model_config = ConfigDict(json_schema_extra={"example": {"why": "The tongue broke twice.", "successor": 12}})

    why: Reason
    successor: Id | None = None


class NameSuccessor(Command):
    """The version to print instead of a withdrawn one."""

    successor: Id


class AddShape(Command):
    """A cast or a scan of one limb; its file comes beside it. `taken_by` is you unless you say."""

    model_config = ConfigDict(
        json_schema_extra={"example": {"side": "left", "taken_on": "2026-02-20", "method": "scan", "unit": "mm"}}
    )

    side: Side
    taken_on: Day
    taken_by: Annotated[Text, Field(max_length=200)] = ""
    method: ShapeMethod
    note: Text = ""
    unit: LengthUnit | None = None
    confirmed: bool = False


class StrikeShape(Command):
    """Strike a shape through that was recorded by mistake: it stays on record and nothing is made from it."""

    model_config = ConfigDict(json_schema_extra={"example": {"why": "This is the scan of the other arm."}})

    why: Reason


class AtScale(Command):
    """At which scales: factors of the file, square to the part's axis and along it."""

    scale_across: Scale = 1.0
    scale_along: Scale = 1.0


class WantedFile(AtScale):
    """A file to print. `case` ties it to the case it is printed for: it is written into the file and on record."""

    case: Annotated[Text | None, Field(max_length=20, description="A case number."), NO_CHOICE] = None


@dataclass(frozen=True, slots=True)
class ReadFile:
    """A file that was read and is kept: what it holds, and what it was taken to be."""

    name: str
    sha256: str
    size: int
    format: Format
    unit: LengthUnit
    axis: Axis
    inside: Inside | None
    picture_sha256: str
    geometry: Geometry


@dataclass(frozen=True, slots=True)
class ToPrint:
    """A file that is to be made for printing: the stored one, what it is scaled by, and what is written into it."""

    name: str
    sha256: str
    format: Format
    unit: LengthUnit
    axis: Axis
    across: float
    along: float
    metadata: dict[str, str]
