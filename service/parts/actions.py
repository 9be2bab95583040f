"""Keeping designs, versions and shapes. Each act writes its audit entry in the same transaction.

A file comes in as it was read before the transaction opened (`upload.py`): nothing here opens one.
"""

from __future__ import annotations

import sqlalchemy as sa

from service.access.permissions import May
from service.access.usecase import usecase
from service.access.work import Work
from service.audit.actions import note
from service.kit.db import insert_unless_there
from service.kit.errors import Conflict, Invalid
from service.parts import keeping, queries
from service.parts.answers import DesignView, ShapeView, VersionView
from service.parts.rules import PartKind, VersionState, design_problem
from service.parts.schemas import (
    AddDesign,
    AddShape,
    AddVersion,
    ChangeVersion,
    NameSuccessor,
    ReadFile,
    Release,
    StrikeShape,
    ToPrint,
    WantedFile,
    Withdraw,
)
from service.parts.tables import DesignRow, ShapeRow, VersionRow
from service.recipients.queries import seen_recipient
from service.recipients.rules import fold, past_day_problem


@usecase(May.KEEP_PARTS)
def add_design(work: Work, command: AddDesign) -> DesignView:
    """Record a design; raises Invalid for one that cannot be printed, and Conflict for a name that is taken."""
    if (problem := design_problem(command.kind, command.digit)) is not None:
        raise Invalid.at(*problem)
    search_name = fold(command.name)
    made = {"search_name": search_name, "created_at": work.now, "created_by": work.actor.name}
    if not insert_unless_there(work.session, DesignRow, {**command.model_dump(), **made}):
        raise Conflict("There is a design of this name already. Open it and add a version, or choose another name.")
    design_id = work.session.scalars(sa.select(DesignRow.id).where(DesignRow.search_name == search_name)).one()
    note(work, "recorded", "part design", subject_id=design_id)
    return queries.design(work, design_id)


@usecase(May.KEEP_PARTS)
def add_version(work: Work, design_id: int, command: AddVersion, file: ReadFile) -> VersionView:
    """Add a version to a design, as a draft; raises Conflict when it has one of the same file.

    Doubted tells what is odd about the file, until that is confirmed.
    """
    queries.may_add_version(work, design_id)
    # Locked, so that numbers count up one by one and the same file sent twice at once is taken once.
    design = work.session.get_one(DesignRow, design_id, with_for_update=True)
    made = keeping.add(work, {"design_id": design.id}, command, file, kind=design.kind, interface=design.interface)
    note(work, "recorded", "part version", subject_id=made)
    return queries.version(work, made)


@usecase(May.KEEP_PARTS)
def change_version(work: Work, version_id: int, command: ChangeVersion, file: ReadFile | None) -> VersionView:
    """Alter the draft of a design; raises Conflict once it was released. `file` is given when it was read again."""
    return keeping.change(work, queries.may_change_version(work, version_id), command, file)


@usecase(May.RELEASE_PARTS)
def release(work: Work, version_id: int, command: Release) -> VersionView:
    """Release a draft for printing: from now on it never changes.

    Raises Conflict for one that is no draft, that is not closed, or that was made from a struck shape.
    """
    return keeping.move(work, queries.version(work, version_id), VersionState.RELEASED, command.why)


@usecase(May.RELEASE_PARTS)
def withdraw(work: Work, version_id: int, command: Withdraw) -> VersionView:
    """Withdraw a version for good; raises Conflict when that is on record, Invalid for an unfit successor."""
    this = queries.version(work, version_id)
    return keeping.move(work, this, VersionState.WITHDRAWN, command.why, command.successor)


@usecase(May.RELEASE_PARTS)
def name_successor(work: Work, version_id: int, command: NameSuccessor) -> VersionView:
    """Say what is printed instead of a withdrawn version."""
    return keeping.name_successor(work, queries.version(work, version_id), command.successor)


@usecase(May.KEEP_SHAPES)
def add_shape(work: Work, case_number: str, command: AddShape, file: ReadFile) -> ShapeView:
    """Record a cast or a scan of a limb; raises Conflict when the case has one of the same file."""
    seen = seen_recipient(work, case_number)
    if seen.limbs and command.side not in seen.limbs:
        raise Invalid.at(
            "side",
            f"This case describes no limb difference on the {command.side}. Check the side, or describe the limb.",
        )
    if (problem := past_day_problem(command.taken_on, seen.birth_date, work.today)) is not None:
        raise Invalid.at("taken_on", problem)
    same = sa.select(ShapeRow.taken_on).where(
        ShapeRow.recipient_id == seen.id, ShapeRow.file_sha256 == file.sha256, ShapeRow.struck_at.is_(None)
    )
    if work.session.scalars(same).first() is not None:
        raise Conflict("This very file is on record in this case already. Open that shape, or choose another file.")
    keeping.check_doubts(file, confirmed=command.confirmed)
    row = ShapeRow(
        recipient_id=seen.id,
        **command.model_dump(include={"side", "taken_on", "method", "note"}),
        taken_by=command.taken_by or work.actor.name,
        **keeping.kept(file),
        created_at=work.now,
        created_by=work.actor.name,
    )
    work.session.add(row)
    work.session.flush()  # the id is needed below
    note(work, "recorded", "shape", subject_id=row.id, recipient_id=seen.id)
    return queries.shape(work, case_number, row.id)


@usecase(May.KEEP_SHAPES)
def strike_shape(work: Work, case_number: str, shape_id: int, command: StrikeShape) -> ShapeView:
    """Strike a shape through, with who and why; raises Conflict when it is, or while a version of it may be printed."""
    seen = seen_recipient(work, case_number)
    queries.shape(work, case_number, shape_id)
    # Locked, as releasing a version of it does, so that none slips through between.
    row = work.session.get_one(ShapeRow, shape_id, with_for_update=True)
    if row.struck_at is not None:
        raise Conflict("This shape was struck through already. There is nothing more to do.")
    released = sa.select(VersionRow.number).where(
        VersionRow.shape_id == shape_id, VersionRow.state == VersionState.RELEASED
    )
    if (number := work.session.scalars(released).first()) is not None:
        raise Conflict(
            f"Version {number}, made from this shape, is released. Withdraw it first, so that nobody prints it."
        )
    row.struck_at, row.struck_by, row.struck_why = work.now, work.actor.name, command.why
    note(work, "struck", "shape", subject_id=shape_id, recipient_id=seen.id, changes={"why": [None, command.why]})
    work.session.flush()  # the view reads what was just written
    return queries.shape(work, case_number, shape_id)


@usecase(May.KEEP_SHAPES)
def add_socket_version(work: Work, case_number: str, shape_id: int, command: AddVersion, file: ReadFile) -> VersionView:
    """Add a socket made from a shape, as a draft that is private to the case; refuses as `add_version` does."""
    seen = seen_recipient(work, case_number)
    work.session.get(ShapeRow, shape_id, with_for_update=True)  # locked before it is looked at, as in add_version
    queries.may_add_socket_version(work, case_number, shape_id)
    made = keeping.add(work, {"shape_id": shape_id}, command, file, kind=PartKind.SOCKET, interface="")
    note(work, "recorded", "part version", subject_id=made, recipient_id=seen.id)
    return queries.version(work, made)


@usecase(May.KEEP_SHAPES)
def change_socket_version(
    work: Work, case_number: str, shape_id: int, version_id: int, command: ChangeVersion, *, file: ReadFile | None
) -> VersionView:
    """Alter the draft of a socket; refuses as `change_version` does."""
    before = queries.may_change_socket_version(work, case_number, shape_id, version_id)
    return keeping.change(work, before, command, file)


@usecase(May.SEE_PARTS)
def take_file(work: Work, version_id: int, wanted: WantedFile) -> ToPrint:
    """What is needed to make a version's file at two scales; that somebody took it is on record.

    A private version is for its own case; one of a design may name a case, which the actor has to see. Raises Conflict
    for a version that was withdrawn.
    """
    this = queries.version(work, version_id)
    if this.withdrawn is not None:
        raise Conflict(keeping.withdrawn_words(this))
    recipient, case_number = this.recipient, this.case_number
    if wanted.case is not None:
        seen = seen_recipient(work, wanted.case)
        if recipient not in {None, seen.id}:
            raise Invalid.at("case", "This socket was made for somebody else. Take the file in its own case.")
        recipient, case_number = seen.id, seen.case_number
        work.read.add(seen.id)
    scales = [wanted.scale_across, wanted.scale_along]
    note(
        *(work, "downloaded", "part version"),
        subject_id=version_id,
        recipient_id=recipient,
        changes={"scale": [None, scales]},
    )
    return keeping.to_print(this, wanted, case_number)
