"""Recording and correcting measurements. Nothing is stored unless all of it can be."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

import sqlalchemy as sa

from service.access.permissions import May
from service.access.usecase import usecase
from service.access.work import Work
from service.audit.actions import note
from service.kit.errors import Conflict, Doubt, Doubted, FieldError, Invalid, NotFound
from service.measurements.plausibility import Judge
from service.measurements.queries import measurement, readings_for
from service.measurements.rules import Given, Known, Method, Person, Place, place_problem, unit_problem
from service.measurements.schemas import AddMeasurement, CorrectReading, MeasurementView
from service.measurements.tables import MeasurementRow, ReadingRow
from service.recipients.followups import ask_for_forecast
from service.recipients.queries import seen_recipient
from service.recipients.rules import past_day_problem
from service.recipients.schemas import SeenRecipient
from service.recipients.tables import RecipientRow


@usecase(May.RECORD_MEASUREMENTS)
def record(work: Work, case_number: str, command: AddMeasurement) -> MeasurementView:
    """Store a session.

    Raises Invalid for what cannot be, and Doubted for what would be surprising unless the command is confirmed; then
    the doubts are kept on the readings.
    """
    seen = seen_recipient(work, case_number)
    _wait_for_turn(work, seen)
    if (problem := past_day_problem(command.taken_on, seen.birth_date, work.today)) is not None:
        raise Invalid.at("taken_on", problem)
    givens = [Given(each.place, each.values, each.unit) for each in command.readings]
    _check_places(givens)
    judge = _judge(work, seen, command.taken_on, command.method)
    doubts = _judged({f"readings.{i}.": given for i, given in enumerate(givens)}, judge, confirmed=command.confirmed)

    session = MeasurementRow(
        recipient_id=seen.id,
        **command.model_dump(include={"taken_on", "method", "taken_by", "note"}),
        recorded_at=work.now,
        recorded_by=work.actor.name,
        corrections=[],
    )
    work.session.add(session)
    work.session.flush()  # the readings need the session's id
    work.session.add_all(_row(session.id, given, said) for given, said in zip(givens, doubts, strict=True))
    note(work, "recorded", "measurement", subject_id=session.id, recipient_id=seen.id)
    ask_for_forecast(work, seen.id)
    work.session.flush()  # the view reads what was just written
    return measurement(work, case_number, session.id)


@usecase(May.RECORD_MEASUREMENTS)
def correct(work: Work, case_number: str, measurement_id: int, command: CorrectReading) -> MeasurementView:
    """Strike a reading through and, when a size is given, put the right one beside it.

    Raises NotFound unless the reading is in that session, Conflict when it is struck already, and refuses sizes as
    `record` does.
    """
    seen = seen_recipient(work, case_number)
    _wait_for_turn(work, seen)
    old, session = _reading_of(work, seen, measurement_id, command.reading)
    if old.struck_at is not None:
        raise Conflict("This reading was struck through already. Open the measurement to see what replaced it.")
    new = _corrected(work, seen, old, session, command) if command.values else None
    old.struck_at, old.struck_by, old.struck_why = work.now, work.actor.name, command.why
    if new is not None:
        work.session.add(new)
    changes = {"value": [old.value, new.value if new else None], "why": [None, command.why]}
    note(work, "corrected", "reading", subject_id=old.id, recipient_id=seen.id, changes=changes)
    ask_for_forecast(work, seen.id)
    work.session.flush()  # the view reads what was just written
    return measurement(work, case_number, measurement_id)


def _corrected(
    work: Work, seen: SeenRecipient, old: ReadingRow, session: MeasurementRow, command: CorrectReading
) -> ReadingRow:
    place = Place(old.dimension, old.side, old.level_mm, old.landmark)
    if command.unit is None:
        raise Invalid.at("unit", "Say in which unit the corrected size is.")
    if (problem := unit_problem(place, command.unit)) is not None:
        raise Invalid(problem.message, fields=(problem,))
    given = Given(place, command.values, command.unit)
    judge = _judge(work, seen, session.taken_on, session.method, besides=old.id)
    (doubts,) = _judged({"": given}, judge, confirmed=command.confirmed)
    row = _row(session.id, given, doubts)
    row.corrects_id = old.id
    return row


def _check_places(givens: list[Given]) -> None:
    """Raise Invalid unless every reading says where it was taken, once, in a unit that fits."""
    found = []
    for i, given in enumerate(givens):
        problems = [place_problem(given.place), unit_problem(given.place, given.unit)]
        if given.place in {earlier.place for earlier in givens[:i]}:
            twice = f"The {given.place.words} is given twice. Put the repeats of one reading together in its values."
            problems.append(FieldError("dimension", twice))
        found += _at(f"readings.{i}.", (each for each in problems if each))
    if found:
        raise Invalid("Nothing was stored. Some readings need correcting.", fields=tuple(found))


def _judged(givens: dict[str, Given], judge: Judge, *, confirmed: bool) -> list[list[str]]:
    """The doubts about each reading, which is only returned if there are none or somebody confirmed them.

    Keys say where each reading stands in what was sent.
    """
    impossible = [each for place, given in givens.items() for each in _at(place, judge.impossible(given))]
    if impossible:
        raise Invalid("Nothing was stored. " + " ".join(each.message for each in impossible), fields=tuple(impossible))
    doubts = {place: judge.doubts(given) for place, given in givens.items()}
    if any(doubts.values()) and not confirmed:
        raise Doubted(tuple(Doubt(place + each.field, each.message) for place, of in doubts.items() for each in of))
    return [[each.message for each in of] for of in doubts.values()]


def _at(place: str, problems: Iterable[FieldError]) -> list[FieldError]:
    return [FieldError(place + each.field, each.message) for each in problems]


def _judge(work: Work, seen: SeenRecipient, on: date, method: Method, *, besides: int | None = None) -> Judge:
    known = [
        Known(each.on, each.place, each.value, each.method)
        for each in readings_for(work, [seen.id])[seen.id]
        if each.id != besides
    ]
    return Judge(Person(seen.birth_date, seen.sex, seen.limbs), on, method, known)


def _wait_for_turn(work: Work, seen: SeenRecipient) -> None:
    """Sessions of one recipient are judged one after the other, or the same one sent twice would pass twice."""
    work.session.execute(sa.select(RecipientRow.id).where(RecipientRow.id == seen.id).with_for_update(key_share=True))


def _reading_of(
    work: Work, seen: SeenRecipient, measurement_id: int, reading_id: int
) -> tuple[ReadingRow, MeasurementRow]:
    found = work.session.execute(
        sa.select(ReadingRow, MeasurementRow)
        .join(MeasurementRow, MeasurementRow.id == ReadingRow.measurement_id)
        .where(ReadingRow.id == reading_id, MeasurementRow.id == measurement_id)
        .where(MeasurementRow.recipient_id == seen.id)
    ).one_or_none()
    if found is None:
        raise NotFound("There is no such reading in this measurement.")
    reading, session = found
    return reading, session


def _row(measurement_id: int, given: Given, doubts: list[str]) -> ReadingRow:
    place = given.place
    return ReadingRow(
        measurement_id=measurement_id,
        dimension=place.dimension,
        side=place.side,
        level_mm=place.level_mm,
        landmark=place.landmark,
        value=given.value,
        spread=given.spread,
        repeats=given.repeats,
        doubts=doubts,
    )
