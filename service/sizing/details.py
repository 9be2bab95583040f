"""The parts of the answer that follow from a size: levels, shape, fixed features, plastic and the hand."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np

from service.anthropometry import SAME_LEVEL_MM
from service.geometry.printing import (
    Feature,
    Solid,
    comes_out,
    feature_sentence,
    filament_g_per_m,
    fits_printer,
    passes,
    wall_is_too_thin,
)
from service.growth.model.case import Channel
from service.growth.schemas import Due
from service.sizing import telling
from service.sizing.answers import (
    FeatureOut,
    LevelOut,
    MonthsOut,
    PlasticOut,
    Scales,
    ShapeOut,
    SoundHand,
)
from service.sizing.comparing import MOST_LEVELS, Limb, Spot, Trial, beyond_the_limb, hand_channels, lengths, marked
from service.sizing.model.fit import NEAR_MM, inside_at
from service.sizing.model.hand import looks_small_from_mm, printed_mm
from service.sizing.model.shape import likeness, verdict
from service.sizing.model.wear import Floats, quantiles, until
from service.sizing.rules import FAR_FROM_BASE
from service.sizing.schemas import AskSize

DAYS_IN_MONTH = 365.25 / 12


def months_out(lasts: Floats) -> MonthsOut:
    """The months of all futures, to a tenth."""
    found = quantiles(lasts)
    return MonthsOut(**{name: _tenth(getattr(found, name)) for name in ("p10", "p50", "p90")})


def levels(asked: AskSize, limb: Limb, trial: Trial) -> list[LevelOut]:
    """Every place of limb and base: girths from the landmark on, then breadths and lengths."""
    compared = zip(trial.spots, trial.judged.gaps_mm, strict=True)
    found = [_compared(asked, limb, trial, spot, gap) for spot, gap in compared]
    found += [_length(asked, limb, trial, channel, inside) for channel, inside in lengths(asked, limb)]
    known = {(each.dimension, each.level_mm) for each in found}
    for level in limb.levels:
        if (asked.base.dimension, level) not in known:
            found.append(_without(asked, limb, "inside not known", level))
    for base_level, girth in marked(asked):
        level = float(round(base_level * trial.along))
        if not beyond_the_limb(asked, level) and all(abs(level - read) > NEAR_MM for read in limb.levels):
            between = bool(limb.levels) and min(limb.levels) < level < max(limb.levels)
            if between and len(asked.profile) > MOST_LEVELS:
                continue  # the whole inside is known, so a level between others tells nothing more
            shown = _without(asked, limb, "between readings" if between else "not measured", level)
            found.append(shown.model_copy(update={"inside_mm": round(trial.across * girth, 1)}))
    return sorted(found, key=lambda each: (each.level_mm is None, each.level_mm or 0.0))


def shape(asked: AskSize, trial: Trial | None) -> ShapeOut:
    """Rescale or recast, and why."""
    girths = [spot for spot in trial.spots if spot.channel.level_mm is not None] if trial else []
    found = likeness([s.place.limb_mm for s in girths], [s.place.inside_mm for s in girths])
    fits = trial is None or trial.judged.verdict == "fits"
    rescales, asks = asked.last.rescales, asked.clinician_asks_to_recast
    at = [spot.channel.level_mm or 0.0 for spot in girths]
    because = telling.recast_reasons(found, at, rescales, fits=fits, clinician_asks=asks)
    said = verdict(found, rescales, fits=fits, clinician_asks=asks)
    return ShapeOut(verdict=said, why=because or telling.rescale_reasons(found, rescales))


def features(asked: AskSize, trial: Trial) -> list[FeatureOut]:
    """What comes out of each fixed feature."""
    found = []
    for given in asked.base.fixed_features:
        feature = Feature(given.kind, given.nominal_mm, given.holds_mm or given.nominal_mm, given.clearance_mm)
        scale = trial.across if given.axis == "across" else trial.along
        found.append(
            FeatureOut(
                kind=given.kind,
                axis=given.axis,
                nominal_mm=given.nominal_mm,
                comes_out_mm=round(comes_out(feature, scale), 3),
                needed_mm=round(feature.needed_mm, 3),
                passes=passes(feature, scale),
                sentence=feature_sentence(feature, scale),
            )
        )
    return found


def plastic(asked: AskSize, trial: Trial) -> PlasticOut | None:
    """Plastic, time and cost at the scales; None when the base's volume and area are not given."""
    if asked.base.solid is None:
        return None
    how, solid = asked.printing, _solid(asked)
    base, scaled = (each.printed(how.wall_mm, how.infill) for each in (solid, solid.scaled(trial.across, trial.along)))
    times = scaled.plastic_mm3 / base.plastic_mm3
    mass = scaled.mass_g(how.density)
    hours = scaled.hours() if how.hours_of_base is None else how.hours_of_base * times
    cost = None if how.price_per_kg is None else round(mass / 1000 * how.price_per_kg, 2)
    return PlasticOut(
        plastic_mm3=round(scaled.plastic_mm3, 1),
        of_base=round(times, 4),
        mass_g=round(mass, 1),
        filament_m=round(mass / filament_g_per_m(how.density), 2),
        hours=round(hours, 1),
        cost=cost,
        sentence=telling.plastic_sentence(mass, hours, cost, times),
    )


def box(asked: AskSize, trial: Trial) -> tuple[float, float, float] | None:
    """The room it takes in a printer at the scales, mm; None when the base's solid is not given."""
    if asked.base.solid is None:
        return None
    x, y, z = _solid(asked).scaled(trial.across, trial.along).box_mm
    return round(x, 1), round(y, 1), round(z, 1)


def cautions(asked: AskSize, trial: Trial) -> list[str]:
    """What stands in the way of printing it so."""
    found, how = [], asked.printing
    low, high = FAR_FROM_BASE
    if not asked.base.is_last_print and not low <= trial.across <= high:
        found.append("This is far from the base's own size: look for a base nearer to it.")
    thinnest = (asked.base.wall_mm or 0.0) * min(trial.across, trial.along)
    if asked.base.wall_mm is not None and wall_is_too_thin(thinnest, how.nozzle_mm):
        found.append(
            f"The wall comes out at {thinnest:.2f} mm, under two widths of the {how.nozzle_mm:g} mm nozzle: "
            "thicken it in the file, or use a finer nozzle."
        )
    if asked.base.solid is not None and how.printer_mm is not None:
        box = _solid(asked).scaled(trial.across, trial.along).box_mm
        if not fits_printer(box, how.printer_mm):
            sizes = " by ".join(f"{edge:.0f}" for edge in box)
            found.append(
                f"At {sizes} mm it does not go into the printer, upright or lying: "
                "use a larger one, or print it in parts. Slantwise was not tried."
            )
    return found


def hand(asked: AskSize, limb: Limb, day_one: date) -> SoundHand | None:
    """The printed hand by the sound one; None when nobody asks for a hand."""
    if asked.hand is None:
        return None
    given = asked.hand
    length, breadth = hand_channels(asked)
    sound = [limb.on_day_one(each) if each in limb.sizes else None for each in (length, breadth)]
    new = [None if each is None else printed_mm(each, given.wish_percent) for each in sound]
    scales = None
    if new[0] and given.length_mm:
        along = new[0] / given.length_mm
        scales = Scales(
            across=round(new[1] / given.breadth_mm if new[1] and given.breadth_mm else along, 4), along=round(along, 4)
        )
    worn = given.length_mm * given.last_along if given.length_mm else None
    small, small_now = (_due(limb, length, printed, day_one) for printed in (new[0], worn))
    made = SoundHand(
        sound_length_mm=_tenth(sound[0]),
        sound_breadth_mm=_tenth(sound[1]),
        length_mm=_tenth(new[0]),
        breadth_mm=_tenth(new[1]),
        scales=scales,
        looks_small=small,
        present_looks_small=small_now,
        sentence="",
    )
    return made.model_copy(update={"sentence": telling.hand_sentence(made, day_one)})


def _due(limb: Limb, length: Channel, printed: float | None, day_one: date) -> Due | None:
    """When the sound hand has outgrown a printed one in looks; day one itself is then or before."""
    if printed is None or length not in limb.sizes:
        return None
    found = quantiles(until(limb.months, [limb.sizes[length]], [looks_small_from_mm(printed)]))
    return Due(**{name: _after(day_one, getattr(found, name)) for name in ("p10", "p50", "p90")})


def _after(day: date, months: float | None) -> date | None:
    return None if months is None else day + timedelta(days=round(months * DAYS_IN_MONTH))


def _compared(asked: AskSize, limb: Limb, trial: Trial, spot: Spot, gap: float) -> LevelOut:
    place = spot.place
    inside = trial.across * place.inside_mm
    return _level(
        limb,
        spot.channel,
        inside - place.layer * asked.liner_mm,
        beyond_mm=_beyond(asked, trial, spot.channel.level_mm),
        inside_mm=inside,
        inside_now_mm=_inside_now(asked, spot),
        left_mm=gap,
    )


def _beyond(asked: AskSize, trial: Trial, level: float | None) -> float:
    """How far a level lies outside the base's profile, mm; 0 inside it, and where a tape cannot tell."""
    if level is None:
        return 0.0
    known = [base_level * trial.along for base_level, _ in asked.profile]
    beyond = max(min(known) - level, level - max(known))
    return beyond if beyond > SAME_LEVEL_MM else 0.0


def _length(asked: AskSize, limb: Limb, trial: Trial, channel: Channel, inside: float) -> LevelOut:
    return _level(
        limb,
        channel,
        trial.along * inside - asked.liner_mm,
        inside_mm=trial.along * inside,
        inside_now_mm=asked.last.scale_along * inside,
    )


def _level(limb: Limb, channel: Channel, limit: float, beyond_mm: float = 0.0, **sizes: float | None) -> LevelOut:
    paths = limb.sizes[channel]
    size = limb.on_day_one(channel)
    months = months_out(until(limb.months, [paths], [limit]))
    return LevelOut(
        dimension=channel.dimension,
        level_mm=channel.level_mm,
        basis="measured",
        limb_mm=_tenth(size),
        limb_low_mm=_tenth(limb.on_day_one(channel, 0.1)),
        limb_high_mm=_tenth(limb.on_day_one(channel, 0.9)),
        inside_off_mm=round(beyond_mm, 1),
        room_mm=_tenth(limit - size),
        months=months,
        sentence=telling.level_measured(limit - size, months, beyond_mm),
        **{name: _tenth(value) for name, value in sizes.items()},
    )


def _inside_now(asked: AskSize, spot: Spot) -> float | None:
    """The inside of the last print where the limb was measured, mm."""
    level, last = spot.channel.level_mm, asked.last
    if level is None:
        return last.scale_across * spot.place.inside_mm
    inside = inside_at(asked.profile, level, last.scale_along)
    return None if inside is None else last.scale_across * inside


def _without(asked: AskSize, limb: Limb, basis: telling.Lacking, level: float) -> LevelOut:
    dimension = asked.base.dimension
    size: float | None = None
    if basis == "between readings":
        known = list(limb.levels)
        sizes = [limb.on_day_one(Channel(dimension, asked.side, each)) for each in known]
        size = float(np.interp(level, known, sizes))
    elif basis == "inside not known":
        size = limb.on_day_one(Channel(dimension, asked.side, level))
    return LevelOut(
        dimension=dimension,
        level_mm=level,
        basis=basis,
        limb_mm=_tenth(size),
        sentence=telling.level_without(basis, dimension, level),
    )


def _solid(asked: AskSize) -> Solid:
    given = asked.base.solid
    assert given is not None  # noqa: S101 - callers have looked
    return Solid(given.volume_mm3, given.area_mm2, given.box_mm)


def _tenth(value: float | None) -> float | None:
    return None if value is None else round(float(value), 1)
