"""What the forms of versions post, read into what the commands take, and a version as its form shows it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from starlette.datastructures import FormData

from service.anthropometry.units import in_millimetres
from service.geometry.answers import Point
from service.kit.errors import FieldError, Invalid
from service.parts.answers import VersionView
from service.parts.rules import PartKind, usual_checks
from service.parts.schemas import FixedFeature, PrintSettings
from service.web.forms import filled

SPARE_ROWS = 3
"""Empty rows for features below those there are."""

MOST_ROWS = 100

_WORDS = ("unit", "what_changed", "why", "licence", "interface", "confirmed")
_OPTIONAL = ("why", "licence", "interface")
_LENGTHS = ("nominal_mm", "holds_mm", "clearance_mm")
_ROW = re.compile(rf"features\.(\d{{1,2}})\.(?:kind|{'|'.join(_LENGTHS)})$")


def said(form: FormData) -> tuple[dict[str, Any], list[int]]:
    """A version's values, and the form's row number of each feature; rows in which nothing was written are left out.

    What is left empty is said to be empty, so that a draft can be put right; a unit that is not chosen is the file's.
    """
    given = filled(form)
    rows = [row for row in range(MOST_ROWS) if any(f"features.{row}.{part}" in given for part in ("kind", *_LENGTHS))]
    values: dict[str, Any] = {
        **dict.fromkeys(_OPTIONAL, ""),
        **{name: given[name] for name in _WORDS if name in given},
        "materials": [each.strip() for each in re.split(r"[,;\n]", given.get("materials", "")) if each.strip()],
        "print_settings": _settings(given),
        "features": [_feature(given, row) for row in rows],
        "checks": [value for name, value in given.items() if name.startswith("checks-")],
    }
    if axis := _part(given, "axis", ("origin_mm", "direction")):
        values["axis"] = {name: _three(f"axis.{name}", text) for name, text in axis.items()}
    if "inside.dimension" in given:
        inside = _part(given, "inside", ("dimension", "level_at_origin_mm", "liner_mm"))
        values["inside"] = {
            name: text if name == "dimension" else in_millimetres(text) for name, text in inside.items()
        }
    return values, rows


def at_rows(wrong: Invalid, rows: list[int]) -> Invalid:
    """A refusal counts the features that were sent; this one points at the form's rows instead."""
    moved = tuple(FieldError(_at_row(each.field, rows), each.message) for each in wrong.fields)
    return Invalid(wrong.detail, fields=moved)


def typed(version: VersionView) -> dict[str, str]:
    """A draft as its form shows it."""
    shown: dict[str, Any] = {
        **{name: getattr(version, name) for name in ("what_changed", "why", "licence", "interface")},
        "unit": version.file.unit.value,
        **carried(version),
    }
    return {name: str(value) for name, value in shown.items()}


def carried(version: VersionView) -> dict[str, str]:
    """What a new version takes over from the one before: all but the file, and what changed and why."""
    features = (
        (f"features.{row}.{name}", value)
        for row, feature in enumerate(version.features)
        for name, value in _shown_feature(feature).items()
    )
    shown: dict[str, str] = {
        "licence": version.licence,
        "interface": version.interface,
        "materials": ", ".join(version.materials),
        **_shown_settings(version.print_settings),
        **dict(features),
        **{f"checks-{each.value}": each.value for each in version.checks},
        "axis.origin_mm": _said_three(version.axis.origin_mm),
        "axis.direction": _said_three(version.axis.direction),
    }
    if version.inside is not None:
        shown |= {
            "inside.dimension": version.inside.dimension.value,
            "inside.level_at_origin_mm": f"{version.inside.level_at_origin_mm:g}",
            "inside.liner_mm": f"{version.inside.liner_mm:g}",
        }
    return shown


def first(kind: PartKind, interface: str) -> dict[str, str]:
    """What the form of a design's first version begins with."""
    shown = {
        "interface": interface,
        **_shown_settings(PrintSettings()),
        **{f"checks-{each.value}": each.value for each in usual_checks(kind)},
        "axis.origin_mm": "0, 0, 0",
        "axis.direction": "0, 0, 1",
    }
    if kind is PartKind.SOCKET:
        shown |= {"inside.dimension": "residual_limb_girth", "inside.level_at_origin_mm": "0", "inside.liner_mm": "0"}
    return shown


def rows_in(shown: Mapping[str, str]) -> int:
    """How many rows of features a form shows: those with something in them, and some to spare."""
    filled_in = (_ROW.match(name) for name, value in shown.items() if value)
    used = [int(found[1]) for found in filled_in if found]
    return min(max(used, default=-1) + 1 + SPARE_ROWS, MOST_ROWS)


def _part(given: Mapping[str, str], of: str, parts: tuple[str, ...]) -> dict[str, str]:
    return {part: given[f"{of}.{part}"] for part in parts if f"{of}.{part}" in given}


def _settings(given: Mapping[str, str]) -> dict[str, Any]:
    found: dict[str, Any] = _part(given, "print_settings", tuple(PrintSettings.model_fields))
    for name in ("nozzle_mm", "layer_mm"):
        if name in found:
            found[name] = in_millimetres(found[name])
    if "infill" in found:
        found["infill"] = _share(found["infill"])
    return found


def _share(text: str) -> float:
    """A share written in per cent."""
    try:
        share = float(text.rstrip("% ").replace(",", ".")) / 100
    except ValueError:
        share = -1.0
    if not 0 <= share <= 1:
        raise Invalid.at("print_settings.infill", "Write the infill in per cent, from 0 to 100, such as 20.")
    return share


def _feature(given: Mapping[str, str], row: int) -> dict[str, Any]:
    found: dict[str, Any] = _part(given, f"features.{row}", tuple(FixedFeature.model_fields))
    for name in _LENGTHS:
        if name in found:
            found[name] = in_millimetres(found[name])
    if "position_mm" in found:
        found["position_mm"] = _three(f"features.{row}.position_mm", found["position_mm"])
    return found


def _three(field: str, text: str) -> list[float]:
    """Three numbers as somebody writes them: "0, 0, 12.5", or with semicolons where a comma is the decimal mark."""
    parts = text.replace(",", ".").split(";") if ";" in text else re.split(r"[,\s]+", text.strip("() "))
    try:
        numbers = [float(part) for part in parts]
    except ValueError:
        numbers = []
    if len(numbers) != 3:
        raise Invalid.at(field, "Write three numbers: along x, y and z, such as 0, 0, 12.5.")
    return numbers


def _said_three(point: Point) -> str:
    return ", ".join(f"{each:g}" for each in point)


def _shown_settings(settings: PrintSettings) -> dict[str, str]:
    shown = {f"print_settings.{name}": value for name, value in settings.model_dump().items()}
    shown["print_settings.infill"] = f"{settings.infill * 100:g}"
    return {name: str(value) for name, value in shown.items()}


def _shown_feature(feature: FixedFeature) -> dict[str, str]:
    shown = {name: value for name, value in feature.model_dump(exclude={"position_mm"}).items() if value is not None}
    if feature.position_mm is not None:
        shown["position_mm"] = _said_three(feature.position_mm)
    return {name: str(value) for name, value in shown.items()}


def _at_row(field: str, rows: list[int]) -> str:
    found = re.match(r"features\.(\d+)(\..*)?$", field)
    if found is None or not rows:
        return field
    return f"features.{rows[int(found[1])]}{found[2] or '.kind'}"
