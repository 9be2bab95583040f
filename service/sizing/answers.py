"""What is answered: the next size, what it rests on, and a sentence for each thing. Lengths are mm."""

from __future__ import annotations

from datetime import date
from typing import Literal

from service.anthropometry import Dimension
from service.geometry import printing
from service.growth.schemas import Due
from service.kit.schema import View
from service.parts.rules import VersionState
from service.recipients.rules import Side
from service.sizing.model import fit, shape
from service.sizing.rules import Axis


class MonthsOut(View):
    """Months from day one by which 1, 5 and 9 of 10 futures have come to it; null is beyond what is foreseen."""

    p10: float | None
    p50: float | None
    p90: float | None


class Scales(View):
    """Factors across and along."""

    across: float
    along: float


class Option(View):
    """A size and what it would be like.

    `of_base` is null when no base file is known. `socks` are those that suit day one best; `verdict` says whether it
    then fits. `lasts` is the chance that it lasts the months wanted.
    """

    of_base: Scales | None
    of_last: Scales
    socks: list[int]
    verdict: fit.Verdict
    months: MonthsOut
    lasts: float | None
    sentence: str


class LevelOut(View):
    """Limb and socket at one place: a level of the axis, or a size without a level.

    `limb_mm` is the bare limb expected on day one (8 times in 10 between `limb_low_mm` and `limb_high_mm`); between
    readings it is read off its neighbours, and where nothing was measured it is null. `inside_off_mm` is how far away
    the socket's inside was taken, if farther than a tape can tell. `room_mm` is what the next socket leaves beside limb
    and liner, `left_mm` beside the socks too; `months` is how long that room lasts there.
    """

    dimension: Dimension
    level_mm: float | None
    basis: Literal["measured", "between readings", "not measured", "inside not known"]
    limb_mm: float | None = None
    limb_low_mm: float | None = None
    limb_high_mm: float | None = None
    inside_now_mm: float | None = None
    inside_mm: float | None = None
    inside_off_mm: float = 0.0
    room_mm: float | None = None
    left_mm: float | None = None
    months: MonthsOut | None = None
    sentence: str


class ShapeOut(View):
    """Whether to rescale the shape or to take a new one; `why` are the reasons for a new one, or what speaks for it."""

    verdict: shape.Verdict
    why: list[str]


class FeatureOut(View):
    """A fixed feature at the proposed scale: `comes_out_mm` of the `needed_mm`, and what to do about it."""

    kind: printing.Kind
    axis: Axis
    nominal_mm: float
    comes_out_mm: float
    needed_mm: float
    passes: bool
    sentence: str


class PlasticOut(View):
    """Plastic, time and cost at the proposed scale; `of_base` is the plastic as a multiple of the base's."""

    plastic_mm3: float
    of_base: float
    mass_g: float
    filament_m: float
    hours: float
    cost: float | None
    sentence: str


class SoundHand(View):
    """The printed hand by the sound one. `looks_small` is when the new one will, `present_looks_small` the one worn.

    That a hand looks small never makes a socket tight. `scales` are null without a base hand.
    """

    sound_length_mm: float | None
    sound_breadth_mm: float | None
    length_mm: float | None
    breadth_mm: float | None
    scales: Scales | None
    looks_small: Due | None
    present_looks_small: Due | None
    sentence: str


class SizeAnswer(View):
    """The next size. `next` is null when nothing measured can be compared with the socket; `asks` says what is lacking.

    `flat` is the same again 5 per cent larger, `tried` the size somebody has in mind; `largest` is the largest that
    fits on day one, given when the months wanted need less. `levels`, counted from `landmark`, and what is said of
    printing belong to `next`; `box_mm` is the room it takes in a printer.
    """

    case_id: str
    day_one: date
    sentence: str
    next: Option | None
    flat: Option | None
    tried: Option | None
    largest: Option | None
    landmark: str
    levels: list[LevelOut]
    shape: ShapeOut
    features: list[FeatureOut]
    plastic: PlasticOut | None
    box_mm: tuple[float, float, float] | None
    cautions: list[str]
    hand: SoundHand | None
    asks: list[str]
    warnings: list[str]
    model: str


class InsideOut(View):
    """The inside of a socket at a level, printed as proposed, as its file has it.

    `inside_now_mm` is that of the socket worn now, null where it does not reach. Between the levels at which the limb
    was measured `limb_mm` is read off the readings and `room_mm` is what liner and limb leave; null beyond them.
    """

    level_mm: float
    inside_mm: float
    inside_now_mm: float | None
    limb_mm: float | None
    room_mm: float | None


class FileOut(View):
    """The file that a socket is printed from. `shape` or `design` is what it is a version of.

    `worn` are the scales of the print worn now, `rescales` how often the shape was rescaled for it. `print` is where
    the file at the proposed scales is found, null when none are proposed or the version is not to be printed.
    """

    version: int
    name: str
    state: VersionState
    shape: int | None
    design: int | None
    worn: Scales
    rescales: int
    liner_mm: float
    material: str
    print: str | None


class NextSize(SizeAnswer):
    """The next size of a socket worn now, from the register.

    `file` is null for a socket that was not printed from a version the register holds: scales are then beside the
    socket worn now only. `inside` goes level by level through the file's own profile.
    """

    device: int
    socket: int
    purpose: str
    side: Side
    file: FileOut | None
    inside: list[InsideOut]


class TriedLevel(LevelOut):
    """A level of limb and file: `limb_mm` is the limb expected today, `read_mm` its newest reading there, of `read_on`.

    Where nobody measured the reading is null; `inside_now_mm` is null, since nothing is worn of it yet.
    """

    read_mm: float | None
    read_on: date | None


class TriedOn(View):
    """A socket version of a shape beside the limb, at scales of its file.

    `at` is what it would be like, `best` the size of it that suits the limb best: both null while the limb is measured
    nowhere within it. `levels` are where limb and file were compared, or could be; `inside` is the file's own profile.
    """

    case_id: str
    as_of: date
    version: int
    name: str
    state: VersionState
    side: Side
    shape: int | None
    scales: Scales
    liner_mm: float
    sentence: str
    at: Option | None
    best: Option | None
    dimension: Dimension
    landmark: str
    levels: list[TriedLevel]
    inside: list[InsideOut]
    likeness: ShapeOut
    features: list[FeatureOut]
    plastic: PlasticOut | None
    box_mm: tuple[float, float, float] | None
    cautions: list[str]
    asks: list[str]
    warnings: list[str]
    print: str | None
    model: str
