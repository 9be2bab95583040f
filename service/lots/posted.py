"""What the lot forms post, read into what the commands take; and how a form begins, filled in."""

from __future__ import annotations

from typing import Any

from starlette.datastructures import FormData

from service.lots.schemas import LotView
from service.web.forms import filled

_KNOWN = {"yes": True, "no": False}
_CORRECTED = ("kind", "material", "received_on", "quantity", "unit", "safety_note", "note")
_LIKE = ("kind", "what", "material", "colour", "maker", "quantity", "unit", "safety_note")


def added(form: FormData) -> dict[str, Any]:
    """A new lot's values; a question that was not answered is not known."""
    return _values(filled(form))


def corrected(form: FormData) -> dict[str, Any]:
    """The values of a correction: a field that was emptied is empty now, and no quantity is one not known."""
    return _values({"material": "", "safety_note": "", "note": "", "quantity": None, **filled(form)})


def typed(lot: LotView) -> dict[str, str]:
    """The fields of a correction as the lot stands."""
    return _fields(lot, _CORRECTED)


def typed_like(lot: LotView) -> dict[str, str]:
    """A new lot's fields as those of one like it: all but the batch and the days are probably the same."""
    return {**_fields(lot, _LIKE), "site": lot.site}


def _fields(lot: LotView, names: tuple[str, ...]) -> dict[str, str]:
    said = {name: getattr(lot, name) for name in names}
    fields = {
        name: f"{value:.10g}" if isinstance(value, float) else str(value) for name, value in said.items() if value
    }
    for name in ("latex_free", "skin_contact"):
        fields[name] = {True: "yes", False: "no", None: "not known"}[getattr(lot, name)]
    return fields


def _values(given: dict[str, Any]) -> dict[str, Any]:
    for name in ("latex_free", "skin_contact"):
        given[name] = _KNOWN.get(given.get(name, ""))
    if given.get("quantity"):
        given["quantity"] = given["quantity"].replace(",", ".")  # as many people write it
    return given
