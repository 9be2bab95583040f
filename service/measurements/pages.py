"""HTML face of measurements: putting a slip right. The form that measures is `casefile/measuring.py`."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response
from starlette.datastructures import FormData

from service.access.work import Work
from service.anthropometry import CATALOGUE
from service.anthropometry.units import UNITS
from service.kit.schema import Id
from service.measurements import actions, queries
from service.measurements import form as measuring
from service.measurements.schemas import MOST_REPEATS, CorrectMeasurement, CorrectReading
from service.recipients.queries import seen_recipient
from service.web.edge import reads, writes
from service.web.forms import UNTOUCHED, Posted, command, filled, shown_again
from service.web.render import render

router = APIRouter()

CORRECT, SESSION = "measurements/correct.html", "measurements/session.html"


@router.get("/recipients/{case_number}/readings/{reading}/correct")
@reads
def correct_form(work: Work, request: Request, case_number: str, reading: Id) -> Response:
    """The form that strikes a reading through."""
    return render(request, CORRECT, {**_correct_context(work, case_number, reading), **UNTOUCHED})


@router.post("/recipients/{case_number}/readings/{reading}/correct")
@writes
def correct(work: Work, case_number: str, reading: Id, form: Posted) -> Response:
    """Strike a reading through, and put what was typed beside it."""
    with shown_again(CORRECT, form, lambda: _correct_context(work, case_number, reading)), measuring.repeats_as_one():
        session = queries.measurement_of(work, case_number, reading)
        actions.correct(work, case_number, session.id, command(CorrectReading, _correction(form, reading)))
    return RedirectResponse(f"/recipients/{case_number}?done=measurement-corrected", 303)


@router.get("/recipients/{case_number}/measurements/{measurement}/correct")
@reads
def correct_session_form(work: Work, request: Request, case_number: str, measurement: Id) -> Response:
    """The form for when, how and by whom a session was taken."""
    actions.may_record(work)
    context = _session_context(work, case_number, measurement)
    typed = context["session"].model_dump(mode="json", include={"taken_on", "method", "taken_by"})
    return render(request, SESSION, {**context, **UNTOUCHED, "typed": typed})


@router.post("/recipients/{case_number}/measurements/{measurement}/correct")
@writes
def correct_session(work: Work, case_number: str, measurement: Id, form: Posted) -> Response:
    """Put right when, how or by whom a session was taken."""
    with shown_again(SESSION, form, lambda: _session_context(work, case_number, measurement)):
        given = {"taken_by": "", **filled(form)}
        actions.correct_session(work, case_number, measurement, command(CorrectMeasurement, given))
    return RedirectResponse(f"/recipients/{case_number}?done=session-corrected", 303)


def _session_context(work: Work, case_number: str, measurement: int) -> dict[str, Any]:
    return {
        "recipient": seen_recipient(work, case_number),
        "session": queries.measurement(work, case_number, measurement),
        "methods": measuring.METHODS,
    }


def _correct_context(work: Work, case_number: str, reading_id: int) -> dict[str, Any]:
    session = queries.measurement_of(work, case_number, reading_id)
    reading = next(each for each in session.readings if each.id == reading_id)
    return {
        "recipient": seen_recipient(work, case_number),
        "session": session,
        "reading": reading,
        "units": [(unit, unit) for unit in UNITS[CATALOGUE[reading.dimension].unit]],
    }


def _correction(form: FormData, reading_id: int) -> dict[str, Any]:
    typed: dict[str, Any] = filled(form)
    values = [typed.pop(name) for name in (f"values-{n}" for n in range(1, MOST_REPEATS + 1)) if name in typed]
    values, unit = measuring.in_one_unit(values)
    if unit is not None:
        typed["unit"] = unit
    if not values:
        typed.pop("unit", None)  # the form always sends one; without a size it means nothing
    return {**typed, "reading": reading_id, "values": values}
