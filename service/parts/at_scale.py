"""What follows from a version's figures for printing it at two scales. Pure: figures of the scaled mesh come in."""

from __future__ import annotations

from collections.abc import Sequence

from service.geometry.answers import Geometry, SmallPart
from service.geometry.printing import (
    NOZZLES_A_WALL,
    Feature,
    Solid,
    comes_out,
    feature_sentence,
    passes,
    wall_is_too_thin,
)
from service.parts.answers import FeatureAtScale, GeometryAtScale, Plastic, VersionFacts, WallAtScale
from service.parts.rules import USUAL_DENSITY, density_of
from service.parts.schemas import FixedFeature, PrintSettings

NOT_SAID = "material not said"

AGE_RULE = (
    "For a child under 36 months a printed hand always needs a clinician's written acceptance, whatever is said here, "
    "because pieces of a print break off."
)
BORROWED = (
    "The threshold is borrowed from toys, the small-parts cylinder of 16 CFR 1501.4; a device is not a toy, and local "
    "rules go before it."
)


def at_scale(facts: VersionFacts, scaled: Geometry, across: float, along: float) -> GeometryAtScale:
    """Everything that is said of a version at two scales; `scaled` holds the figures of the mesh at them."""
    settings = facts.print_settings
    return GeometryAtScale(
        **scaled.model_dump(),
        scale_across=across,
        scale_along=along,
        small_part_words=small_part_words(scaled.small_part),
        features=features_at(facts.features, across, along),
        wall=wall_at(scaled.thinnest_wall_mm, settings.nozzle_mm),
        plastic=plastic(scaled, settings, facts.materials),
    )


def small_part_words(found: SmallPart) -> list[str]:
    """What the verdict means, the rule for small children that holds beside it, and where the threshold is from."""
    return [found.why, AGE_RULE, BORROWED]


def features_at(features: Sequence[FixedFeature], across: float, along: float) -> list[FeatureAtScale]:
    """What comes out of each fixed feature, each at the scale of its own direction."""
    found = []
    for given in features:
        feature = Feature(given.kind, given.nominal_mm, given.holds_mm or given.nominal_mm, given.clearance_mm)
        scale = across if given.axis == "across" else along
        found.append(
            FeatureAtScale(
                kind=given.kind,
                note=given.note,
                scale=scale,
                nominal_mm=given.nominal_mm,
                comes_out_mm=round(comes_out(feature, scale), 3),
                needed_mm=round(feature.needed_mm, 3),
                passes=passes(feature, scale),
                sentence=feature_sentence(feature, scale),
            )
        )
    return found


def wall_at(thinnest_mm: float | None, nozzle_mm: float) -> WallAtScale:
    """Whether a printer makes the thinnest wall whole."""
    least = NOZZLES_A_WALL * nozzle_mm
    if thinnest_mm is None:
        sentence = "No wall was found to measure."
        return WallAtScale(thinnest_mm=None, least_mm=least, whole=None, sentence=sentence)
    comes = f"The thinnest wall comes out at {thinnest_mm:.2f} mm"
    if wall_is_too_thin(thinnest_mm, nozzle_mm):
        remedy = "thicken it in the file, or use a finer nozzle"
        sentence = f"{comes}, under two widths of the {nozzle_mm:g} mm nozzle: {remedy}."
        return WallAtScale(thinnest_mm=thinnest_mm, least_mm=least, whole=False, sentence=sentence)
    sentence = f"{comes}; a {nozzle_mm:g} mm nozzle makes {least:g} mm and more whole."
    return WallAtScale(thinnest_mm=thinnest_mm, least_mm=least, whole=True, sentence=sentence)


def plastic(scaled: Geometry, settings: PrintSettings, materials: Sequence[str]) -> list[Plastic]:
    """The mass in each material at the version's settings; nothing while the surface is not closed."""
    if scaled.volume_mm3 is None:
        return []
    solid = Solid(scaled.volume_mm3, scaled.area_mm2, scaled.bounding_box_mm)
    printed = solid.printed(settings.walls * settings.nozzle_mm, settings.infill)
    return [
        Plastic(
            material=material,
            density_g_cm3=density_of(material) or USUAL_DENSITY,
            assumed=density_of(material) is None,
            mass_g=round(printed.mass_g(density_of(material) or USUAL_DENSITY), 1),
        )
        for material in materials or [NOT_SAID]
    ]
