"""Reading lots, narrowed to the actor's sites."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import Any

import sqlalchemy as sa

from service.access.actor import Actor
from service.access.permissions import May, Role
from service.access.usecase import usecase
from service.access.work import Work
from service.accounts.queries import site_choice
from service.accounts.tables import SiteRow
from service.audit.tables import AuditRow
from service.kit.errors import NotFound
from service.kit.paging import Page, decode, encode
from service.kit.schema import LARGEST_ID
from service.lots.rules import MOVES, LotState, why_not_used
from service.lots.schemas import LotEvent, LotFacts, LotFilter, LotLine, LotsHeld, LotView
from service.lots.tables import LotRow
from service.recipients.rules import fold

MOST_HELD_SHOWN = 12
KINDS_OFFERED = 6
"""So many of the things recorded last are offered as a start for the next lot."""

_SITE = (SiteRow.code.label("site"), SiteRow.name.label("site_name"))
_LINE = (
    *(LotRow.id, LotRow.kind, LotRow.what, LotRow.material, LotRow.colour, LotRow.maker, LotRow.batch),
    *(LotRow.received_on, LotRow.state, LotRow.state_why, LotRow.state_since),
    *_SITE,
)


@usecase(May.SEE_LOTS)
def lots(work: Work, wanted: LotFilter) -> Page[LotLine]:
    """Lots in the order they were recorded, the newest first."""
    statement = _lines(work).where(*_wanted(work, wanted))
    if wanted.cursor is not None:
        statement = statement.where(LotRow.id < decode(wanted.cursor, (int,))[0])
    rows = work.session.execute(statement.limit(wanted.limit + 1)).all()
    shown = [LotLine.model_validate(row._mapping) for row in rows[: wanted.limit]]
    return Page(items=shown, next=encode((shown[-1].id,)) if len(rows) > len(shown) else None)


@usecase(May.SEE_LOTS)
def lots_held(work: Work) -> LotsHeld:
    """The lots that are held at the actor's sites: somebody has to look at each."""
    held = (_at_own_sites(work.actor), LotRow.state == LotState.HELD)
    count = work.session.scalar(sa.select(sa.func.count()).select_from(LotRow).where(*held)) or 0
    rows = work.session.execute(_lines(work).where(*held).limit(MOST_HELD_SHOWN))
    return LotsHeld(count=count, items=[LotLine.model_validate(row._mapping) for row in rows])


@usecase(May.SEE_LOTS)
def lot(work: Work, lot_id: int) -> LotView:
    """One lot; raises NotFound for none, and for one of a site that is not the actor's."""
    row = work.session.execute(
        sa.select(LotRow.__table__, *_SITE)
        .join(SiteRow, SiteRow.id == LotRow.site_id)
        .where(LotRow.id == lot_id, _at_own_sites(work.actor))
    ).one_or_none()
    if row is None:
        raise NotFound("There is no lot with this number among those of your sites.")
    state = LotState(row.state)
    follows = {"why_not": why_not_used(state), "next_states": list(MOVES[state])}
    return LotView.model_validate({**row._mapping, **follows})


@usecase(May.SEE_LOTS)
def lot_history(work: Work, lot_id: int) -> list[LotEvent]:
    """What was done to a lot, newest first; raises NotFound as `lot` does."""
    lot(work, lot_id)
    rows = work.session.execute(
        sa.select(AuditRow.at, AuditRow.actor.label("by"), AuditRow.act, AuditRow.changes)
        .where(AuditRow.recipient_id.is_(None), AuditRow.subject == "lot", AuditRow.subject_id == lot_id)
        .order_by(AuditRow.id.desc())
    )
    return [LotEvent.model_validate(row._mapping) for row in rows]


@usecase(May.SEE_LOTS)
def recorded_last(work: Work) -> list[LotLine]:
    """The last lot of each of the things recorded last, the newest first: what the next one is probably like."""
    same = (LotRow.what, LotRow.colour, LotRow.maker)
    newest = (
        sa.select(sa.func.max(LotRow.id))
        .where(_at_own_sites(work.actor))
        .group_by(*same)
        .order_by(sa.func.max(LotRow.id).desc())
        .limit(KINDS_OFFERED)
    )
    rows = work.session.execute(_lines(work).where(LotRow.id.in_(newest)))
    return [LotLine.model_validate(row._mapping) for row in rows]


@usecase(May.SEE_CASES)
def lot_facts(work: Work, ids: Collection[int]) -> dict[int, LotFacts]:
    """Lots by id, of any site: for rooms that tell what somebody wears, which may have come from elsewhere.

    An id without a lot is left out. Whoever sees a case may know what its parts were made of.
    """
    rows = work.session.execute(sa.select(LotRow.__table__).where(LotRow.id.in_(ids))) if ids else ()
    return {
        row.id: LotFacts.model_validate({**row._mapping, "why_not": why_not_used(LotState(row.state))}) for row in rows
    }


@usecase(May.SEE_LOTS)
def called_alike(work: Work, site_id: int, called: Sequence[str]) -> int | None:
    """The id of a site's lot called by the same (what, colour, maker, batch), but for case and accents; or None."""
    words = tuple(fold(each) for each in called)
    candidates = sa.select(LotRow.id, LotRow.what, LotRow.colour, LotRow.maker, LotRow.batch).where(
        LotRow.site_id == site_id, LotRow.search_words.contains(words[-1], autoescape=True)
    )
    rows = work.session.execute(candidates.order_by(LotRow.id))
    return next((row.id for row in rows if tuple(fold(each) for each in row[1:]) == words), None)


def _lines(work: Work) -> sa.Select[*tuple[Any, ...]]:
    lines = sa.select(*_LINE).join(SiteRow, SiteRow.id == LotRow.site_id)
    return lines.where(_at_own_sites(work.actor)).order_by(LotRow.id.desc())


def _wanted(work: Work, wanted: LotFilter) -> list[sa.ColumnElement[bool]]:
    found = _named(fold(wanted.q).split())
    if wanted.kind:
        found.append(LotRow.kind == wanted.kind)
    if wanted.state:
        found.append(LotRow.state == wanted.state)
    if wanted.site:
        found.append(LotRow.site_id == site_choice(work, wanted.site))
    return found


def _named(words: list[str]) -> list[sa.ColumnElement[bool]]:
    """Lots with every word on their label; "lot 12" is that one alone, for so it is written on the spool."""
    match words:
        case ["lot", number] if number.isascii() and number.isdigit() and int(number) <= LARGEST_ID:
            return [LotRow.id == int(number)]
    return [LotRow.search_words.contains(word, autoescape=True) for word in words]


def _at_own_sites(actor: Actor) -> sa.ColumnElement[bool]:
    """The system sees every lot, a person those of their own sites."""
    return sa.true() if Role.SYSTEM in actor.roles else LotRow.site_id.in_(actor.sites)
