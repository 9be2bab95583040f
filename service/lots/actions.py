"""Recording lots and what becomes of them. Each act writes its audit entry in the same transaction."""

from __future__ import annotations

from typing import Any

from sqlalchemy.exc import IntegrityError

from service.access.permissions import May
from service.access.usecase import usecase
from service.access.work import Work
from service.accounts.queries import site_choice
from service.audit.actions import note
from service.kit.errors import Conflict, FieldError, Invalid
from service.lots.queries import called_alike, lot
from service.lots.rules import counting_problem, move_problem, received_problem, search_words, usual_unit
from service.lots.schemas import AddLot, ChangeLot, LotView, MoveLot
from service.lots.tables import LotRow

CALLED_BY = ("what", "colour", "maker", "batch")
"""What a lot is called by: never changed, since parts are traced by it."""

_MAY_BE_UNKNOWN = {"quantity", "latex_free", "skin_contact"}

STAYS = (
    "What a lot is called by never changes, for parts are traced by it. If it was mistyped, withdraw this lot with "
    "that reason, and record the right one."
)


@usecase(May.KEEP_LOTS)
def may_keep_lots(_work: Work) -> None:
    """Whether to show the forms for lots at all; refuses as recording would."""


@usecase(May.KEEP_LOTS)
def add_lot(work: Work, command: AddLot) -> LotView:
    """Record a lot.

    Raises Conflict, naming the first, when the site has a lot called alike; Invalid for a day still to come, or a
    count that does not go with the kind.
    """
    site_id = site_choice(work, command.site)
    given = command.model_dump(exclude={"site"})
    given["received_on"] = command.received_on or work.today
    given["unit"] = command.unit or usual_unit(command.kind)
    _check(work, given)
    called = [given[name] for name in CALLED_BY]
    if (first := called_alike(work, site_id, called)) is not None:
        raise _there_already(first)
    row = LotRow(
        **given,
        site_id=site_id,
        search_words=search_words(*called, command.material),
        state_since=work.today,
        created_at=work.now,
        created_by=work.actor.name,
    )
    try:
        with work.session.begin_nested():
            work.session.add(row)
    except IntegrityError as error:
        # Somebody else recorded it between our look and our writing.
        raise _there_already(called_alike(work, site_id, called)) from error
    note(work, "recorded", "lot", subject_id=row.id)
    return lot(work, row.id)


@usecase(May.KEEP_LOTS)
def correct_lot(work: Work, lot_id: int, command: ChangeLot) -> LotView:
    """Put right what is known of a lot; raises Invalid for what it is called by, and for what cannot be."""
    row = _own(work, lot_id)
    given = command.model_dump(exclude_unset=True)
    given = {name: value for name, value in given.items() if value is not None or name in _MAY_BE_UNKNOWN}
    before = {name: getattr(row, name) for name in given}
    changes = {name: [_plain(before[name]), _plain(value)] for name, value in given.items() if value != before[name]}
    if wrong := [name for name in CALLED_BY if name in changes]:
        raise Invalid(STAYS, fields=tuple(FieldError(name, STAYS) for name in wrong))
    if not changes:
        return lot(work, lot_id)
    _check(work, {name: given.get(name, getattr(row, name)) for name in ("received_on", "kind", "unit")})
    for name in changes:
        setattr(row, name, given[name])
    row.search_words = search_words(row.what, row.colour, row.maker, row.batch, row.material)
    note(work, "corrected", "lot", subject_id=row.id, changes=changes)
    work.session.flush()  # the view reads what was just written
    return lot(work, lot_id)


@usecase(May.KEEP_LOTS)
def move_lot(work: Work, lot_id: int, command: MoveLot) -> LotView:
    """Put a lot in another state; raises Conflict when that cannot follow on the one it is in."""
    row = _own(work, lot_id)
    if (problem := move_problem(row.state, command.state)) is not None:
        raise Conflict(problem)
    changes = {"state": [row.state, command.state], "why": [row.state_why, command.why]}
    row.state, row.state_why, row.state_since = command.state, command.why, work.today
    note(work, "moved", "lot", subject_id=row.id, changes=changes)
    work.session.flush()  # the view reads what was just written
    return lot(work, lot_id)


def _own(work: Work, lot_id: int) -> LotRow:
    lot(work, lot_id)  # raises NotFound for what is not the actor's
    # Locked, so that of two people changing its state at once the second finds what the first made of it.
    return work.session.get_one(LotRow, lot_id, with_for_update=True)


def _check(work: Work, given: dict[str, Any]) -> None:
    if (problem := received_problem(given["received_on"], work.today)) is not None:
        raise Invalid.at("received_on", problem)
    if (problem := counting_problem(given["kind"], given["unit"])) is not None:
        raise Invalid.at("unit", problem)


def _there_already(first: int | None) -> Conflict:
    said = f"This is lot {first} already" if first is not None else "This lot is recorded already"
    said += ", called alike at the same site. A second spool of the batch? Write its own number behind the batch's."
    return Conflict(said, fields=(FieldError("batch", said),))


def _plain(value: Any) -> Any:
    return value.isoformat() if hasattr(value, "isoformat") else value
