"""REST face of measurements."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query

from service.access.work import Work
from service.kit.paging import Listing, Page
from service.kit.schema import Id
from service.measurements import actions, queries
from service.measurements.schemas import (
    AddMeasurement,
    CorrectMeasurement,
    CorrectReading,
    MeasurementView,
    RecordedMeasurement,
)
from service.web.edge import reads, writes

router = APIRouter(tags=["measurements"])


@router.post("/recipients/{case_number}/measurements", status_code=201)
@writes
def record(work: Work, case_number: str, command: AddMeasurement) -> RecordedMeasurement:
    """Record a session of readings; surprising ones need `confirmed`. `warnings` say if nobody follows the case."""
    return actions.record(work, case_number, command)


@router.get("/recipients/{case_number}/measurements")
@reads
def measurements(work: Work, case_number: str, wanted: Annotated[Listing, Query()]) -> Page[MeasurementView]:
    """List sessions, newest first."""
    return queries.measurements(work, case_number, wanted)


@router.get("/recipients/{case_number}/measurements/{measurement}")
@reads
def measurement(work: Work, case_number: str, measurement: Id) -> MeasurementView:
    """One session."""
    return queries.measurement(work, case_number, measurement)


@router.post("/recipients/{case_number}/measurements/{measurement}/corrections", status_code=201)
@writes
def correct(work: Work, case_number: str, measurement: Id, command: CorrectReading) -> MeasurementView:
    """Strike a reading through and put the right one beside it."""
    return actions.correct(work, case_number, measurement, command)


@router.patch("/recipients/{case_number}/measurements/{measurement}")
@writes
def correct_session(work: Work, case_number: str, measurement: Id, command: CorrectMeasurement) -> MeasurementView:
    """Put right when, how or by whom a session was taken; what it said before is kept."""
    return actions.correct_session(work, case_number, measurement, command)
