"""What adding, altering and releasing versions have in common; `actions.py` has the use cases."""

from __future__ import annotations

import re
from enum import Enum
from typing import Any

import sqlalchemy as sa
from pydantic import BaseModel

from service.access.work import Work
from service.audit.actions import note
from service.kit.errors import Conflict, Doubt, Doubted, Invalid
from service.parts import rules
from service.parts.answers import VersionView
from service.parts.queries import possible_successors, version
from service.parts.rules import PartKind, VersionState
from service.parts.schemas import AddVersion, ChangeVersion, ReadFile, ToPrint, WantedFile
from service.parts.tables import ShapeRow, VersionRow
from service.recipients.rules import fold

FIRST = "The first version."
READ_WITH = ("unit", "axis", "inside")
"""What a file was read with: its figures follow from these."""


def check_doubts(file: ReadFile, *, confirmed: bool) -> None:
    """Raise Doubted for a file in which something is odd, until somebody confirms it."""
    if file.geometry.doubts and not confirmed:
        raise Doubted(tuple(Doubt("file", each) for each in file.geometry.doubts))


def add(work: Work, of: dict[str, int], command: AddVersion, file: ReadFile, *, kind: PartKind, interface: str) -> int:
    """Write the next version of a design or a shape, which the caller has locked; returns its id.

    `of` is {"design_id": …} or {"shape_id": …}. Raises Conflict when it has a version of the same file, Doubted for an
    odd file and Invalid when nobody says what changed.
    """
    number = _next_number(work, of, file)
    if number > 1 and not command.what_changed:
        raise Invalid.at("what_changed", f"Say what changed since version {number - 1}.")
    check_doubts(file, confirmed=command.confirmed)
    row = VersionRow(
        **of,
        **kept(file),
        number=number,
        what_changed=command.what_changed or FIRST,
        **{name: getattr(command, name) for name in ("why", "licence")},
        interface=interface if command.interface is None else command.interface,
        checks=list(rules.usual_checks(kind) if command.checks is None else command.checks),
        **{name: plain(getattr(command, name)) for name in ("materials", "print_settings", "features")},
        axis=plain(file.axis),
        inside=plain(file.inside),
        state=VersionState.DRAFT,
        created_at=work.now,
        created_by=work.actor.name,
    )
    work.session.add(row)
    work.session.flush()  # the id is needed
    return row.id


def change(work: Work, before: VersionView, command: ChangeVersion, file: ReadFile | None) -> VersionView:
    """Alter a draft; raises Conflict unless it is one, or when somebody else altered what its file was read with."""
    row = _locked(work, before)
    if (problem := rules.change_problem(row.state)) is not None:
        raise Conflict(problem)
    given = {name: plain(value) for name, value in command.given.items()}
    read_with = {name: given.get(name, getattr(row, name)) for name in READ_WITH}
    if file is not None:
        if read_with != {name: plain(getattr(file, name)) for name in READ_WITH}:
            raise Conflict(
                "Somebody else altered this draft meanwhile. Open it again, and look at it before you go on."
            )
        check_doubts(file, confirmed=command.confirmed)
        given |= {"geometry": plain(file.geometry), "picture_sha256": file.picture_sha256}
    changes = {name: [plain(getattr(row, name)), value] for name, value in given.items() if value != getattr(row, name)}
    for name, value in given.items():
        setattr(row, name, value)
    changes.pop("geometry", None)
    note(work, "changed", "part version", subject_id=row.id, recipient_id=before.recipient, changes=changes)
    work.session.flush()  # the view reads what was just written
    return version(work, row.id)


def move(work: Work, before: VersionView, to: VersionState, why: str, successor: int | None = None) -> VersionView:
    """Release or withdraw a version; raises Conflict with the reason why it may not be."""
    if before.shape is not None:
        _check_shape_stands(work, before.shape, to)
    row = _locked(work, before)
    if to is VersionState.RELEASED:
        problem = rules.release_problem(row.state, closed=before.geometry.watertight)
    else:
        problem = rules.withdraw_problem(row.state)
    if problem is not None:
        raise Conflict(problem)
    changes: dict[str, Any] = {"state": [row.state, to], "why": [None, why]}
    if successor is not None:
        row.successor_id = checked_successor(work, before, successor)
        changes["successor"] = [None, successor]
    row.state = to
    for part, value in (("at", work.now), ("by", work.actor.name), ("why", why)):
        setattr(row, f"{to.value}_{part}", value)
    note(work, to.value, "part version", subject_id=row.id, recipient_id=before.recipient, changes=changes)
    work.session.flush()  # the view reads what was just written
    return version(work, row.id)


def checked_successor(work: Work, before: VersionView, successor: int) -> int:
    """A version that may be named as another's successor; raises Invalid."""
    if successor not in {each.id for each in possible_successors(work, before.id)}:
        what = before.kind.label if before.recipient is None else "socket of the same person"
        raise Invalid.at("successor", f"Only another released {what} can take its place. Release that one first.")
    return successor


def name_successor(work: Work, before: VersionView, successor: int) -> VersionView:
    """Say what is printed instead of a withdrawn version; raises Conflict unless it is one."""
    row = _locked(work, before)
    if row.state is not VersionState.WITHDRAWN:
        raise Conflict("Only a version that was withdrawn has a successor. Withdraw this one first.")
    changes = {"successor": [row.successor_id, checked_successor(work, before, successor)]}
    row.successor_id = successor
    note(work, "changed", "part version", subject_id=row.id, recipient_id=before.recipient, changes=changes)
    work.session.flush()  # the view reads what was just written
    return version(work, row.id)


def kept(file: ReadFile) -> dict[str, Any]:
    """The columns that versions and shapes keep of a file."""
    return {
        "file_sha256": file.sha256,
        "file_name": file.name,
        "file_bytes": file.size,
        "format": file.format,
        "unit": file.unit,
        "picture_sha256": file.picture_sha256,
        "geometry": plain(file.geometry),
    }


def plain(value: Any) -> Any:
    """A value as JSON keeps it."""
    if isinstance(value, BaseModel):
        return value.model_dump(mode="json")
    if isinstance(value, list | tuple):
        return [plain(each) for each in value]
    return value.value if isinstance(value, Enum) else value


def _next_number(work: Work, of: dict[str, int], file: ReadFile) -> int:
    ((column, owner),) = of.items()
    mine = getattr(VersionRow, column) == owner
    same = sa.select(VersionRow.number).where(mine, VersionRow.file_sha256 == file.sha256)
    if (number := work.session.scalar(same)) is not None:
        raise Conflict(
            f"This very file is version {number} already. Open that one, and correct it while it is a draft."
        )
    return (work.session.scalar(sa.select(sa.func.max(VersionRow.number)).where(mine)) or 0) + 1


def _locked(work: Work, before: VersionView) -> VersionRow:
    # Locked, so that of two who release, withdraw or alter it at once the second finds what the first did.
    return work.session.get_one(VersionRow, before.id, with_for_update=True)


def _check_shape_stands(work: Work, shape_id: int, to: VersionState) -> None:
    struck = work.session.get_one(ShapeRow, shape_id, with_for_update=True).struck_at
    if struck is not None and to is VersionState.RELEASED:
        raise Conflict("The shape it was made from was struck through, as recorded by mistake, so it is not released.")


def withdrawn_words(this: VersionView) -> str:
    """Why a withdrawn version is not printed, and what is printed instead."""
    why = this.withdrawn.why if this.withdrawn else ""
    instead = f"Print {this.successor.name}, instead." if this.successor else "Nothing is named to print instead."
    return f"This version is withdrawn, so that nobody prints it: {why.rstrip('.')}. {instead}"


def to_print(this: VersionView, wanted: WantedFile, case_number: str | None) -> ToPrint:
    """A version's file as it is to be made, with what is written into it and what it is called."""
    across, along = wanted.scale_across, wanted.scale_along
    said = {
        "Title": this.name,
        "part version": str(this.id),
        "state": this.state.value,
        "scale across": f"{across:g}",
        "scale along": f"{along:g}",
        "case number": case_number,
        "LicenseTerms": this.licence,
    }
    of = this.design_name if this.recipient is None else f"{this.case_number} {this.side} socket"
    words = re.findall(r"[a-z0-9]+", fold(f"{of} version {this.number} {across:.3f} by {along:.3f}").replace(".", ""))
    return ToPrint(
        name=f"{'-'.join(words)}.3mf",
        sha256=this.file.sha256,
        format=this.file.format,
        unit=this.file.unit,
        axis=this.axis,
        across=across,
        along=along,
        metadata={name: value for name, value in said.items() if value},
    )
