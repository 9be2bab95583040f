"""Recording and correcting measurements. Nothing is stored unless all of it can be."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from datetime import date
from decimal import Decimal

import sqlalchemy as sa

from service.access.permissions import May
from service.access.usecase import usecase
from service.access.work import Work
from service.audit.actions import note
from service.kit.errors import Conflict, Doubt, Doubted, FieldError, Invalid, NotFound
from service.measurements.plausibility import Judge
from service.measurements.queries import measurement, readings_for
from service.measurements.rules import Given, Method, Person, Place, place_problem, unit_problem, why_unheeded
from service.measurements.schemas import (
    AddMeasurement,
    CorrectMeasurement,
    CorrectReading,
    MeasurementView,
    RecordedMeasurement,
    SessionBefore,
)
from service.measurements.tables import MeasurementRow, ReadingRow
from service.recipients.followups import ask_for_forecast
from service.recipients.queries import seen_recipient
from service.recipients.rules import past_day_problem
from service.recipients.schemas import SeenRecipient
from service.recipients.tables import RecipientRow


@usecase(May.RECORD_MEASUREMENTS)
def may_record(_work: Work) -> None:
    """Whether to show the forms for measurements at all; refuses as recording would."""


@usecase(May.RECORD_MEASUREMENTS)
def record(work: Work, case_number: str, command: AddMeasurement) -> RecordedMeasurement:
    """Store a session, and say so if nobody follows the case just now.

    Raises Invalid for what cannot be, and Doubted for what would be surprising unless the command is confirmed; then
    the doubts are kept on the readings.
    """
    seen = seen_recipient(work, case_number)
    _wait_for_turn(work, seen)
    if (problem := past_day_problem(command.taken_on, seen.birth_date, work.today)) is not None:
        raise Invalid.at("taken_on", problem)
    givens = [Given(each.place(seen.limbs), each.values, each.unit) for each in command.readings]
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
    recorded = measurement(work, case_number, session.id)
    unheeded = why_unheeded(seen.state)
    return RecordedMeasurement(**recorded.model_dump(), warnings=[unheeded] if unheeded else [])


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


@usecase(May.RECORD_MEASUREMENTS)
def correct_session(work: Work, case_number: str, measurement_id: int, command: CorrectMeasurement) -> MeasurementView:
    """Put right when, how or by whom a session was taken; what it said before is kept, with who and why.

    Raises Invalid when nothing would change or the day cannot be, and Doubted as `record` does: a reading that was in
    order on the old day may be surprising on the right one.
    """
    seen = seen_recipient(work, case_number)
    _wait_for_turn(work, seen)
    session = work.session.get(MeasurementRow, measurement_id)
    if session is None or session.recipient_id != seen.id:
        raise NotFound("There is no such measurement in this case.")
    given = command.model_dump(include={"taken_on", "method", "taken_by"}, exclude_none=True)
    before = {name: getattr(session, name) for name, value in given.items() if value != getattr(session, name)}
    if not before:
        raise Invalid.at("taken_on", "Nothing is different from what is on record. Change what was wrong.")
    if (problem := past_day_problem(given.get("taken_on", session.taken_on), seen.birth_date, work.today)) is not None:
        raise Invalid.at("taken_on", problem)
    for name in before:
        setattr(session, name, given[name])
    _judge_anew(work, seen, session, confirmed=command.confirmed)
    said = SessionBefore.model_validate(before).model_dump(mode="json", exclude_none=True)
    correction = {"at": work.now.isoformat(), "by": work.actor.name, "why": command.why, "before": said}
    session.corrections = [*session.corrections, correction]
    changes = {name: [was, str(given[name])] for name, was in said.items()} | {"why": [None, command.why]}
    note(work, "corrected", "measurement", subject_id=session.id, recipient_id=seen.id, changes=changes)
    ask_for_forecast(work, seen.id)
    work.session.flush()  # the view reads what was just written
    return measurement(work, case_number, measurement_id)


def _judge_anew(work: Work, seen: SeenRecipient, session: MeasurementRow, *, confirmed: bool) -> None:
    """Judge the readings of a session that count on the day and by the method it now has, and mark them."""
    counting = sa.select(ReadingRow).where(ReadingRow.measurement_id == session.id, ReadingRow.struck_at.is_(None))
    rows = work.session.scalars(counting.order_by(ReadingRow.id)).all()
    judge = _judge(work, seen, session.taken_on, session.method, besides={row.id for row in rows})
    doubts = [judge.doubts(_given(row)) for row in rows]
    if any(doubts) and not confirmed:
        raise Doubted(tuple(Doubt("taken_on", each.message) for of in doubts for each in of))
    for row, of in zip(rows, doubts, strict=True):
        row.doubts = [each.message for each in of]


def _given(row: ReadingRow) -> Given:
    """A reading on record as it might be given today, in mm or kg."""
    place = Place(row.dimension, row.side, row.level_mm, row.landmark)
    return Given(place, tuple(Decimal(str(each)) for each in row.repeats), place.facts.unit)


def _corrected(
    work: Work, seen: SeenRecipient, old: ReadingRow, session: MeasurementRow, command: CorrectReading
) -> ReadingRow:
    place = Place(old.dimension, old.side, old.level_mm, old.landmark)
    if command.unit is None:
        raise Invalid.at("unit", "Say in which unit the corrected size is.")
    if (problem := unit_problem(place, command.unit)) is not None:
        raise Invalid(problem.message, fields=(problem,))
    given = Given(place, command.values, command.unit)
    judge = _judge(work, seen, session.taken_on, session.method, besides={old.id})
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


def _judge(work: Work, seen: SeenRecipient, on: date, method: Method, *, besides: Collection[int] = ()) -> Judge:
    known = [each.known for each in readings_for(work, [seen.id])[seen.id] if each.id not in besides]
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
