"""What the forms of parts post, read into what the commands take."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from starlette.datastructures import FormData

from service.anthropometry.units import in_millimetres
from service.devices.rules import read_socks
from service.devices.schemas import EndPrevious
from service.kit.errors import Invalid
from service.web.forms import filled

_LOT = "lots-"
_FACTORS = ("scale_across", "scale_along", "liner_mm")


def said(form: FormData, *, printed: bool = False) -> dict[str, Any]:
    """A part's values: lots as ticked, and numbers as many people write them; `printed` asks for a version."""
    given = filled(form)
    if printed and "version" not in given:
        raise Invalid.at("version", "Choose the version it was printed from.")
    values: dict[str, Any] = {name: value for name, value in given.items() if not name.startswith(_LOT)}
    values["lots"] = [value for name, value in given.items() if name.startswith(_LOT)]
    for name in _FACTORS:
        if name in values:
            values[name] = in_millimetres(values[name]).replace(",", ".")
    if "scale_across" in values and "scale_along" not in values:
        values["scale_along"] = values["scale_across"]
    return values


def said_of_socket(form: FormData) -> dict[str, Any]:
    """A printed socket's values: those of a part, its socks, and what became of the one before."""
    values = {name: value for name, value in said(form, printed=True).items() if not name.startswith("previous.")}
    if "socks_at_fitting" in values:
        try:
            values["socks_at_fitting"] = read_socks(values["socks_at_fitting"])
        except ValueError as problem:
            raise Invalid.at("socks_at_fitting", str(problem)) from problem
    if previous := _previous(filled(form)):
        values["previous"] = previous
    return values


def _previous(given: Mapping[str, str]) -> dict[str, str]:
    return {part: given[f"previous.{part}"] for part in EndPrevious.model_fields if f"previous.{part}" in given}
