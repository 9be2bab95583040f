"""Views of designs, versions and shapes. Lengths are mm, scales factors of the file."""

from __future__ import annotations

from datetime import date, datetime

from service.geometry.answers import Axis, Format, Geometry, Inside, LengthUnit
from service.geometry.printing import Kind
from service.kit.schema import View
from service.parts.rules import CheckItem, Digit, PartKind, ShapeMethod, VersionState
from service.parts.schemas import FixedFeature, PrintSettings
from service.recipients.rules import Side


class Step(View):
    """Something done once: when, by whom and why."""

    at: datetime
    by: str
    why: str


class FileView(View):
    """A file as it was sent, and its drawing from three sides, by the hash each is kept under."""

    name: str
    bytes: int
    sha256: str
    format: Format
    unit: LengthUnit
    picture_sha256: str


class VersionLine(View):
    """A version in a list; `design` or `shape` is what it is a version of."""

    id: int
    design: int | None
    shape: int | None
    number: int
    state: VersionState
    what_changed: str
    why: str
    created_at: datetime
    created_by: str
    released: Step | None
    withdrawn: Step | None


class DesignLine(View):
    """A design, with the newest version that was released and not withdrawn, and the newest of all."""

    id: int
    name: str
    kind: PartKind
    digit: Digit | None
    side: Side | None
    interface: str
    note: str
    released: VersionLine | None
    newest: VersionLine | None


class DesignView(DesignLine):
    """A design; its versions are listed apart."""

    created_at: datetime
    created_by: str


class SuccessorView(View):
    """The version to print instead."""

    id: int
    name: str
    number: int
    state: VersionState


class VersionFacts(View):
    """What other rooms need of a version. `recipient` is whom it is private to, null for one of a design.

    `name` is how a sentence calls it; `design_name` is empty for a private one.
    """

    id: int
    name: str
    design: int | None
    design_name: str
    shape: int | None
    recipient: int | None
    kind: PartKind
    digit: Digit | None
    side: Side | None
    interface: str
    number: int
    state: VersionState
    materials: list[str]
    print_settings: PrintSettings
    features: list[FixedFeature]
    checks: list[CheckItem]
    axis: Axis
    inside: Inside | None
    geometry: Geometry
    successor: SuccessorView | None


class VersionView(VersionFacts):
    """A whole version; a private one names the case it belongs to."""

    case_number: str | None
    what_changed: str
    why: str
    licence: str
    file: FileView
    created_at: datetime
    created_by: str
    released: Step | None
    withdrawn: Step | None


class StockView(View):
    """The library at a glance: designs, those of them with a released version, and the newest drafts."""

    designs: int
    printable: int
    drafts: list[VersionFacts]


class FeatureAtScale(View):
    """What a fixed feature is printed at, whether what is bought goes in, and what to do."""

    kind: Kind
    note: str
    scale: float
    nominal_mm: float
    comes_out_mm: float
    needed_mm: float
    passes: bool
    sentence: str


class WallAtScale(View):
    """The thinnest wall, and the least this nozzle makes whole; `whole` is null while no wall was found."""

    thinnest_mm: float | None
    least_mm: float
    whole: bool | None
    sentence: str


class Plastic(View):
    """What it weighs, printed as its settings say; `assumed` when the material's density is not known."""

    material: str
    density_g_cm3: float
    assumed: bool
    mass_g: float


class GeometryAtScale(Geometry):
    """A part in figures at two scales, and what follows for printing it.

    `small_part_words` says what the verdict means for a child under 36 months.
    """

    scale_across: float
    scale_along: float
    small_part_words: list[str]
    features: list[FeatureAtScale]
    wall: WallAtScale
    plastic: list[Plastic]


class ShapeView(View):
    """A cast or a scan of one limb, and the socket versions made from it, newest first."""

    id: int
    case_number: str
    side: Side
    taken_on: date
    taken_by: str
    method: ShapeMethod
    note: str
    file: FileView
    geometry: Geometry
    created_at: datetime
    created_by: str
    struck: Step | None
    versions: list[VersionLine]
