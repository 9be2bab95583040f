"""The answers about the register's own sockets: what it knows, put as the question, and what its files add. Pure."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from math import pi
from urllib.parse import urlencode

import numpy as np

from service.anthropometry import SAME_LEVEL_MM
from service.devices.schemas import WornSocket
from service.growth.stored import LimbCase, SocketCase
from service.parts.answers import VersionFacts
from service.parts.rules import VersionState, density_of
from service.recipients.rules import Side
from service.recipients.schemas import SeenRecipient
from service.sizing.answers import FileOut, InsideOut, LevelOut, NextSize, Scales, TriedLevel, TriedOn
from service.sizing.basing import (
    WornPrint,
    base_of,
    distinct_scales,
    inside_profile,
    liner_worn,
    material_of,
    other_sizes,
    printing_of,
    rescaled,
)
from service.sizing.comparing import OTHER_SIDE
from service.sizing.model.fit import inside_at
from service.sizing.model.socks import MOST_WORN
from service.sizing.rules import GIRTHS, LONGEST_LEAD_DAYS, OTHER_INSIDE_SIZES
from service.sizing.schemas import (
    AskSize,
    BaseIn,
    HandIn,
    InsideSize,
    LastPrint,
    LevelGirth,
    PrintingIn,
    SizeWish,
    SocksIn,
    TryWish,
)
from service.sizing.stateless import size, try_on

NO_FILE = (
    "The register does not hold the file of this socket: the scales are beside the socket worn now, taken from the "
    "sizes at which it is tight, and nothing can be said of bores, walls, plastic or time."
)


def next_size_of(
    seen: SeenRecipient,
    worn: WornSocket,
    known: SocketCase,
    wish: SizeWish,
    *,
    now: WornPrint | None,
    before: Sequence[WornPrint],
) -> NextSize:
    """The next size of a socket; `now` is what it was printed from, if the register holds it, and `before` what was.

    `before` are the earlier prints of the same shape on the same limb.
    """
    if now is not None and not inside_profile(now.facts):
        now = None
    last, liner, rescales = LastPrint(), 0.0, 0
    base, printing, warnings = _as_base(known, worn), PrintingIn(), [NO_FILE]
    if now is not None:
        rescales = rescaled(before, now)
        last = LastPrint(scale_across=now.across, scale_along=now.along, rescales=rescales)
        liner = liner_worn(now.facts, worn.limits, last)
        base = base_of(now.facts, worn.side, other_sizes(worn.limits, last, liner))
        printing = printing_of(now.facts, now.material, wish.printer_mm)
        warnings = _of_file(now.facts, now.material, liner)
    other_side_is_sound = OTHER_SIDE[worn.side.value] not in seen.limbs
    asked = AskSize(
        case=known.case,
        base=base,
        last=last,
        liner_mm=liner,
        printing=printing,
        socks=SocksIn(most_worn=MOST_WORN if wish.socks is None else wish.socks),
        wanted_months=wish.months,
        fitted_in_days=min(known.lead_days, LONGEST_LEAD_DAYS),
        clinician_asks_to_recast=wish.recast,
        try_across=wish.across,
        try_along=wish.along,
        hand=HandIn(wish_percent=wish.hand or 0.0) if other_side_is_sound else None,
    )
    found = size(asked)
    proposed = found.next.of_base if found.next else None
    file = None
    if now is not None:
        file = FileOut(
            version=now.facts.id,
            name=now.facts.name,
            state=now.facts.state,
            shape=now.facts.shape,
            design=now.facts.design,
            worn=Scales(across=now.across, along=now.along),
            rescales=rescales,
            liner_mm=liner,
            material=material_of(now.facts, now.material),
            print=to_print(now.facts, proposed, seen.case_number),
        )
    return NextSize(
        **{**found.model_dump(), "warnings": [*found.warnings, *known.left_out, *warnings]},
        device=worn.device,
        socket=worn.socket,
        purpose=worn.purpose,
        side=worn.side,
        file=file,
        inside=_inside(asked, proposed, found.levels) if now is not None and proposed is not None else [],
    )


def tried_on(
    facts: VersionFacts, side: Side, known: LimbCase | SocketCase, wish: TryWish, worn: Sequence[WornPrint]
) -> TriedOn:
    """A socket version beside the limb as it is today: at the scales wished, else as it was worn last, else as it is.

    `worn` are the prints of the same shape that this limb wore.
    """
    liner = facts.inside.liner_mm if facts.inside else 0.0
    of_it = max((each for each in worn if each.facts.id == facts.id), key=WornPrint.when, default=None)
    start = (of_it.across, of_it.along) if of_it and not (wish.across or wish.along) else (1.0, 1.0)
    scales = Scales(across=wish.across or start[0], along=wish.along or start[1])
    asked = AskSize(
        case=known.case,
        base=base_of(facts, side),
        last=LastPrint(rescales=max(distinct_scales(worn) - 1, 0)),
        liner_mm=liner,
        printing=printing_of(facts, "", None),
        socks=SocksIn(most_worn=MOST_WORN if wish.socks is None else wish.socks),
        wanted_months=wish.months,
        fitted_in_days=0,
        try_across=scales.across,
        try_along=scales.along,
    )
    found = try_on(asked)
    return TriedOn(
        **found.model_dump(
            include={"case_id", "sentence", "landmark", "features", "plastic", "box_mm", "cautions", "asks", "model"}
        ),
        as_of=known.case.as_of,
        version=facts.id,
        name=facts.name,
        state=facts.state,
        side=side,
        shape=facts.shape,
        scales=scales,
        liner_mm=liner,
        at=found.tried,
        best=found.next,
        dimension=asked.base.dimension,
        levels=[_beside(asked, each) for each in found.levels],
        inside=[each.model_copy(update={"inside_now_mm": None}) for each in _inside(asked, scales, found.levels)],
        likeness=found.shape,
        warnings=[*found.warnings, *known.left_out, *_of_file(facts, "", liner)],
        print=to_print(facts, scales, known.case.case_id.partition("/")[0]),
    )


def to_print(facts: VersionFacts, scales: Scales | None, case_number: str) -> str | None:
    """Where a version's file at two scales is found, for a case; None for a version that is printed no more."""
    if scales is None or facts.state is VersionState.WITHDRAWN:
        return None
    asked = {"scale_across": f"{scales.across:.4f}", "scale_along": f"{scales.along:.4f}", "case": case_number}
    return f"/api/v1/part-versions/{facts.id}/file?{urlencode(asked)}"


def _of_file(facts: VersionFacts, material: str, liner_mm: float) -> list[str]:
    """What to know of the file that was reckoned with."""
    said = []
    if facts.state is VersionState.WITHDRAWN:
        instead = f"Look at {facts.successor.name} instead." if facts.successor else "No version takes its place yet."
        said.append(f"The version it is printed from was withdrawn: print nothing more from it. {instead}")
    own = facts.inside.liner_mm if facts.inside else 0.0
    if liner_mm != own:
        said.append(
            f"The socket worn was recorded with a liner of {liner_mm:g} mm, not the {own:g} mm that its file says: "
            "that is reckoned with."
        )
    chosen = material_of(facts, material)
    if density_of(chosen) is None:
        named = f"The density of {chosen} is not known" if chosen else "The material is not said"
        said.append(f"{named}, so the plastic is weighed as PLA.")
    return said


def _inside(asked: AskSize, scales: Scales, levels: Sequence[LevelOut]) -> list[InsideOut]:
    """The file's own profile, level by level, at two scales, with the limb between the levels where it is known."""
    measured = [
        (each.level_mm, each.limb_mm) for each in levels if each.basis == "measured" and each.level_mm is not None
    ]
    at, limbs = [level for level, _ in measured], [limb or 0.0 for _, limb in measured]
    last, found = asked.last, []
    for base_level, girth in sorted(asked.profile):
        level, inside = base_level * scales.along, girth * scales.across
        reaches = bool(at) and at[0] - SAME_LEVEL_MM <= level <= at[-1] + SAME_LEVEL_MM
        limb = float(np.interp(level, at, limbs)) if reaches else None
        now = inside_at(asked.profile, level, last.scale_along)
        found.append(
            InsideOut(
                level_mm=round(level, 2),
                inside_mm=round(inside, 2),
                inside_now_mm=None if now is None else round(now * last.scale_across, 2),
                limb_mm=None if limb is None else round(limb, 2),
                room_mm=None if limb is None else round(inside - 2 * pi * asked.liner_mm - limb, 2),
            )
        )
    return found


def _beside(asked: AskSize, level: LevelOut) -> TriedLevel:
    """A level with the newest reading there."""
    there = [
        reading
        for reading in asked.case.readings
        if (reading.dimension is level.dimension and reading.side in {asked.side, None})
        and reading.level_mm is not None
        and abs(reading.level_mm - (level.level_mm or 0.0)) <= SAME_LEVEL_MM
    ]
    newest = max(there, key=lambda reading: reading.on, default=None)
    read = {"read_mm": newest and newest.value, "read_on": newest and newest.on}
    return TriedLevel.model_validate({**level.model_dump(), **read, "inside_now_mm": None})


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
