"""The measuring form, for a phone in a doorway: what was measured, and what limits the socket that is worn."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from service.access.work import Work
from service.devices.queries import worn_sockets
from service.measurements import actions, queries
from service.measurements import form as measuring
from service.measurements.rules import Person, Place, why_unheeded
from service.measurements.schemas import AddMeasurement
from service.recipients.queries import seen_recipient
from service.web.edge import reads, writes
from service.web.forms import UNTOUCHED, Posted, command, filled, shown_again
from service.web.render import render

router = APIRouter()

MEASURE = "measurements/measure.html"


@router.get("/recipients/{case_number}/measure")
@reads
def measure_form(work: Work, request: Request, case_number: str) -> Response:
    """The form, with the last values beside its fields."""
    return render(request, MEASURE, {**_context(work, case_number, {}), **UNTOUCHED})


@router.post("/recipients/{case_number}/measure")
@writes
def measure(work: Work, case_number: str, form: Posted) -> Response:
    """Record what was typed."""
    with shown_again(MEASURE, form, lambda: _context(work, case_number, filled(form))):
        typed = measuring.read(filled(form))
        with typed.fields_as_typed():
            actions.record(work, case_number, command(AddMeasurement, typed.values))
    return RedirectResponse(f"/recipients/{case_number}?done=measurement-recorded", 303)


def _context(work: Work, case_number: str, typed: dict[str, str]) -> dict[str, Any]:
    seen = seen_recipient(work, case_number)
    last = queries.last_values(work, seen.id)
    limited = [
        Place.on_limb(seen.limbs.get(worn.side), limit.dimension, limit.side or worn.side, limit.level_mm)
        for worn in worn_sockets(work, [seen.id])
        for limit in worn.limits
    ]
    offer = measuring.Offer(Person(seen.birth_date, seen.sex, seen.limbs), last, limited, work.today, typed)
    return {
        "recipient": seen,
        "unheeded": why_unheeded(seen.state),
        "arms": offer.arms(),
        "body": offer.body(),
        "unit_field": measuring.UNIT_FIELD,
        "last_on": max((each.on for each in last.values()), default=None),
        "methods": measuring.METHODS,
    }
