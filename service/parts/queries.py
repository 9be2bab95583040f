"""Reading designs, versions and shapes. What is private to somebody is seen only with the case."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any

import sqlalchemy as sa

from service.access.permissions import May
from service.access.usecase import usecase
from service.access.work import Work
from service.kit.errors import Conflict, NotFound
from service.kit.paging import Listing, Page, after, decode, encode
from service.parts.answers import DesignLine, DesignView, ShapeView, StockView, VersionFacts, VersionLine, VersionView
from service.parts.rows import LINE, NEWEST_FIRST, VERSION, design_line, facts, line, lines_of, seen, shape_view, whole
from service.parts.rules import Digit, PartKind, VersionState, change_problem
from service.parts.schemas import DesignFilter
from service.parts.tables import DesignRow, ShapeRow, VersionRow
from service.recipients.queries import seen_recipient
from service.recipients.rules import Side, fold

MOST_DRAFTS_SHOWN = 12


@usecase(May.SEE_PARTS)
def designs(work: Work, wanted: DesignFilter) -> Page[DesignLine]:
    """Designs by kind, and by name within one."""
    order = (DesignRow.kind, DesignRow.search_name)
    statement = sa.select(DesignRow.__table__).where(*_wanted(wanted)).order_by(*order)
    if wanted.cursor is not None:
        statement = statement.where(after(order, decode(wanted.cursor, (str, str))))
    rows = list(work.session.execute(statement.limit(wanted.limit + 1)).mappings())
    shown = rows[: wanted.limit]
    versions = lines_of(work, VersionRow.design_id, [row["id"] for row in shown])
    more = encode((shown[-1]["kind"], shown[-1]["search_name"])) if len(rows) > len(shown) else None
    return Page(items=[design_line(row, versions[row["id"]]) for row in shown], next=more)


@usecase(May.SEE_PARTS)
def stock(work: Work) -> StockView:
    """How many designs there are, how many of them can be printed now, and the newest drafts that wait."""
    count = sa.select(sa.func.count()).select_from(DesignRow)
    of_design = sa.exists().where(VersionRow.design_id == DesignRow.id, VersionRow.state == VersionState.RELEASED)
    drafts = VERSION.where(VersionRow.design_id.is_not(None), VersionRow.state == VersionState.DRAFT)
    rows = work.session.execute(drafts.order_by(VersionRow.id.desc()).limit(MOST_DRAFTS_SHOWN)).mappings()
    return StockView(
        designs=work.session.scalar(count) or 0,
        printable=work.session.scalar(count.where(of_design)) or 0,
        drafts=facts(work, list(rows)),
    )


@usecase(May.SEE_PARTS)
def design(work: Work, design_id: int) -> DesignView:
    """One design; raises NotFound."""
    row = work.session.execute(sa.select(DesignRow.__table__).where(DesignRow.id == design_id)).mappings().one_or_none()
    if row is None:
        raise NotFound("There is no part design with this number.")
    found = design_line(row, lines_of(work, VersionRow.design_id, [design_id])[design_id])
    return DesignView(**dict(found), created_at=row["created_at"], created_by=row["created_by"])


@usecase(May.SEE_PARTS)
def versions(work: Work, design_id: int, wanted: Listing) -> Page[VersionLine]:
    """The versions of a design, newest first."""
    design(work, design_id)
    statement = LINE.where(VersionRow.design_id == design_id).order_by(NEWEST_FIRST)
    if wanted.cursor is not None:
        statement = statement.where(VersionRow.number < decode(wanted.cursor, (int,))[0])
    rows = list(work.session.execute(statement.limit(wanted.limit + 1)).mappings())
    shown = [line(row) for row in rows[: wanted.limit]]
    return Page(items=shown, next=encode((shown[-1].number,)) if len(rows) > len(shown) else None)


@usecase(May.SEE_PARTS)
def version(work: Work, version_id: int) -> VersionView:
    """One version; raises NotFound for none, and for a private one whose case is not among those they may see."""
    row = work.session.execute(VERSION.where(VersionRow.id == version_id, seen(work))).mappings().one_or_none()
    if row is None:
        raise NotFound("There is no part version with this number among those you may see.")
    if row["recipient_id"] is not None:
        work.read.add(row["recipient_id"])
    return whole(work, row)


@usecase(May.SEE_PARTS)
def version_facts(work: Work, version_ids: Collection[int]) -> dict[int, VersionFacts]:
    """Versions as other rooms need them, by id; what the actor may not see is left out."""
    rows = list(work.session.execute(VERSION.where(VersionRow.id.in_(version_ids), seen(work))).mappings())
    return {each.id: each for each in facts(work, rows)}


@usecase(May.SEE_PARTS)
def released_versions(work: Work, kinds: Collection[PartKind]) -> list[VersionFacts]:
    """Every version of a design of some kinds that may be printed now, by name and the newest first."""
    statement = VERSION.where(DesignRow.kind.in_(kinds), VersionRow.state == VersionState.RELEASED)
    rows = work.session.execute(statement.order_by(DesignRow.search_name, NEWEST_FIRST)).mappings()
    return facts(work, list(rows))


@usecase(May.SEE_PARTS)
def possible_successors(work: Work, version_id: int) -> list[VersionFacts]:
    """The versions that could be printed instead of one: released, of its kind, or sockets of the same person."""
    this = version(work, version_id)
    of_kind = DesignRow.kind == this.kind if this.recipient is None else ShapeRow.recipient_id == this.recipient
    statement = VERSION.where(of_kind, VersionRow.state == VersionState.RELEASED, VersionRow.id != version_id)
    rows = work.session.execute(statement.order_by(DesignRow.search_name, VersionRow.id.desc())).mappings()
    return facts(work, list(rows))


@usecase(May.SEE_CASES)
def shapes(work: Work, case_number: str) -> list[ShapeView]:
    """The shapes of a recipient's limbs, the newest first, struck ones too."""
    recipient = seen_recipient(work, case_number)
    work.read.add(recipient.id)
    return _shapes(work, case_number=recipient.case_number, where=ShapeRow.recipient_id == recipient.id)


@usecase(May.SEE_CASES)
def shape(work: Work, case_number: str, shape_id: int) -> ShapeView:
    """One shape; raises NotFound unless it belongs to the case."""
    recipient = seen_recipient(work, case_number)
    work.read.add(recipient.id)
    of_case = sa.and_(ShapeRow.id == shape_id, ShapeRow.recipient_id == recipient.id)
    found = _shapes(work, case_number=recipient.case_number, where=of_case)
    if not found:
        raise NotFound("There is no such shape in this case.")
    return found[0]


@usecase(May.KEEP_PARTS)
def may_add_design(_work: Work) -> None:
    """Whether to show the form for a design at all; refuses as `add_design` would."""


@usecase(May.KEEP_PARTS)
def may_add_version(work: Work, design_id: int) -> None:
    """Whether a file is worth reading; refuses as `add_version` would before it looks at one."""
    design(work, design_id)


@usecase(May.KEEP_PARTS)
def may_change_version(work: Work, version_id: int) -> VersionView:
    """The draft of a design that is to be changed; refuses as `change_version` would."""
    found = version(work, version_id)
    if found.recipient is not None:
        raise NotFound("There is no version of a design with this number. Change a socket version in its case.")
    return _changeable(found)


@usecase(May.KEEP_SHAPES)
def may_add_shape(work: Work, case_number: str) -> None:
    """Whether a file is worth reading; refuses as `add_shape` would before it looks at one."""
    seen_recipient(work, case_number)


@usecase(May.KEEP_SHAPES)
def may_add_socket_version(work: Work, case_number: str, shape_id: int) -> ShapeView:
    """The shape that a socket version is to be made from; refuses as `add_socket_version` would."""
    found = shape(work, case_number, shape_id)
    if found.struck is not None:
        raise Conflict("This shape was struck through, as recorded by mistake, so nothing is made from it.")
    return found


@usecase(May.KEEP_SHAPES)
def may_change_socket_version(work: Work, case_number: str, shape_id: int, version_id: int) -> VersionView:
    """The draft of a socket that is to be changed; refuses as `change_socket_version` would."""
    may_add_socket_version(work, case_number, shape_id)
    found = version(work, version_id)
    if found.shape != shape_id:
        raise NotFound("There is no such version of this shape.")
    return _changeable(found)


@usecase(May.RELEASE_PARTS)
def may_release(work: Work, version_id: int) -> VersionView:
    """The version that is to be released or withdrawn; refuses by role and by case as those acts would."""
    return version(work, version_id)


def _changeable(found: VersionView) -> VersionView:
    if (problem := change_problem(found.state)) is not None:
        raise Conflict(problem)
    return found


def _wanted(wanted: DesignFilter) -> list[sa.ColumnElement[bool]]:
    chosen = ((column, getattr(wanted, column.key)) for column in (DesignRow.kind, DesignRow.digit, DesignRow.side))
    return [
        *(_holds(word) for word in fold(wanted.q).split()),
        *(column == value for column, value in chosen if value is not None),
    ]


def _holds(word: str) -> sa.ColumnElement[bool]:
    """A design that has a word in its name or interface, or is of a kind, digit or side called so."""
    return sa.or_(
        DesignRow.search_name.contains(word, autoescape=True),
        DesignRow.interface.icontains(word, autoescape=True),
        DesignRow.kind.in_([kind for kind in PartKind if word in kind.label]),
        DesignRow.digit.in_([digit for digit in Digit if word in digit]),
        DesignRow.side.in_([side for side in Side if word in side]),
    )


def _shapes(work: Work, *, case_number: str, where: sa.ColumnElement[bool]) -> list[ShapeView]:
    statement = sa.select(ShapeRow.__table__).where(where).order_by(ShapeRow.taken_on.desc(), ShapeRow.id.desc())
    rows: list[Mapping[Any, Any]] = list(work.session.execute(statement).mappings())
    versions = lines_of(work, VersionRow.shape_id, [row["id"] for row in rows])
    return [shape_view({**row, "case_number": case_number}, versions[row["id"]]) for row in rows]
