"""Reading cases, narrowed to what the actor may see."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa

from service.access.permissions import May
from service.access.usecase import usecase
from service.access.work import Work
from service.accounts.queries import site_choice
from service.accounts.tables import AccountRow, SiteRow, TownRow
from service.kit.clock import age_on
from service.kit.errors import Invalid, NotFound
from service.kit.paging import Page, after, decode, encode
from service.recipients.languages import LANGUAGES
from service.recipients.rules import (
    REVIEW_AGES,
    Responsibility,
    birthday,
    limb_in_words,
    read_case_number,
    still_needed,
)
from service.recipients.schemas import (
    ConsentView,
    ContactView,
    HelperView,
    LimbView,
    RecipientFilter,
    RecipientLine,
    RecipientView,
    ReviewView,
    SeenRecipient,
    SuitabilityView,
)
from service.recipients.scope import named, visible
from service.recipients.tables import (
    ConsentRow,
    ContactRow,
    HelperRow,
    LimbRow,
    RecipientRow,
    ReviewRow,
    SuitabilityRow,
)


@usecase(May.SEE_CASES)
def seen_recipient(work: Work, case_number: str) -> SeenRecipient:
    """The recipient of a case number, if the actor may see the case; raises NotFound otherwise."""
    row = work.session.execute(
        sa.select(RecipientRow.__table__).where(_is(case_number), visible(work.actor, work.today))
    ).one_or_none()
    if row is None:
        raise _no_such_case()
    limbs = work.session.execute(sa.select(LimbRow.side, LimbRow.level).where(LimbRow.recipient_id == row.id))
    return SeenRecipient.model_validate({**row._mapping, "limbs": {limb.side: limb.level for limb in limbs}})


@usecase(May.SEE_CASES)
def recipients(work: Work, wanted: RecipientFilter) -> Page[RecipientLine]:
    """Recipients by name; `q` finds the beginning of any name, or a case number from its first digits."""
    order = (RecipientRow.search_name, RecipientRow.id)
    statement = (
        sa.select(*_LINE, RecipientRow.id, RecipientRow.search_name)
        .join(SiteRow, SiteRow.id == RecipientRow.site_id)
        .where(visible(work.actor, work.today), *_wanted(work, wanted))
        .order_by(*order)
        .limit(wanted.limit + 1)
    )
    if wanted.cursor is not None:
        statement = statement.where(after(order, _place(work, wanted.cursor)))
    rows = work.session.execute(statement).all()
    shown = rows[: wanted.limit]
    more = encode((shown[-1].id,)) if len(rows) > len(shown) else None
    return Page(items=[RecipientLine.model_validate(row._mapping) for row in shown], next=more)


@usecase(May.SEE_CASES)
def recipient(work: Work, case_number: str) -> RecipientView:
    """A case's particulars; opening it is recorded."""
    row = work.session.execute(
        sa.select(RecipientRow.__table__, *_SITE, TownRow.name.label("town_name"))
        .join(SiteRow, SiteRow.id == RecipientRow.site_id)
        .outerjoin(TownRow, TownRow.id == RecipientRow.town_id)
        .where(_is(case_number), visible(work.actor, work.today))
    ).one_or_none()
    if row is None:
        raise _no_such_case()
    work.read.add(row.id)

    limbs = [
        LimbView.model_validate({**each, "words": limb_in_words(each["side"], each["cause"], each["level"])})
        for each in _of(work, LimbRow, row.id, order_by=LimbRow.side)
    ]
    contacts = [ContactView.model_validate(each) for each in _of(work, ContactRow, row.id, order_by=ContactRow.id)]
    current = [contact for contact in contacts if contact.ended_on is None]
    consents = [ConsentView.model_validate(each) for each in _of(work, ConsentRow, row.id, order_by=ConsentRow.id)]
    notes = [
        SuitabilityView.model_validate(each)
        for each in _of(work, SuitabilityRow, row.id, order_by=(SuitabilityRow.noted_on, SuitabilityRow.id))
    ]
    missing = still_needed(
        age=age_on(row.birth_date, work.today),
        limbs=len(limbs),
        guardians=sum(contact.responsibility is Responsibility.YES for contact in current),
        consents=frozenset((each.kind, each.purpose) for each in consents if each.withdrawn_on is None),
        suitability=notes[-1].verdict if notes else None,
        prescriber=row.prescriber_name,
        latex_asked=row.latex_allergy is not None,
    )
    return RecipientView.model_validate(
        {
            **row._mapping,
            "limbs": limbs,
            "contacts": current,
            "former_contacts": [contact for contact in contacts if contact.ended_on is not None],
            "town": row.town_id,
            "language_name": LANGUAGES.get(row.language, row.language),
            "consents": consents,
            "suitability": notes,
            "helpers": _helpers(work, row.id),
            "reviews": _reviews(work, row),
            "missing": missing,
        }
    )


_SITE = (SiteRow.code.label("site"), SiteRow.name.label("site_name"))
_LINE = (
    RecipientRow.case_number,
    RecipientRow.given_name,
    RecipientRow.family_name,
    RecipientRow.birth_date,
    RecipientRow.state,
    *_SITE,
)


def _is(case_number: str) -> sa.ColumnElement[bool]:
    number = read_case_number(case_number)
    if number is None:
        raise NotFound(
            "This is not a case number: it has seven digits, and the last one must fit. Check it for a slip."
        )
    return RecipientRow.case_number == number


def _no_such_case() -> NotFound:
    return NotFound("There is no case with this number among those you may see.")


def _place(work: Work, cursor: str) -> tuple[str, int]:
    """Where a page ended. The cursor itself holds no name: addresses end up in logs."""
    (last,) = decode(cursor, (int,))
    row = work.session.execute(
        sa.select(RecipientRow.search_name, RecipientRow.id).where(
            RecipientRow.id == last, visible(work.actor, work.today)
        )
    ).one_or_none()
    if row is None:
        raise Invalid.at("cursor", "This cursor is not valid any more. Start again from the first page.")
    return row.search_name, row.id


def _wanted(work: Work, wanted: RecipientFilter) -> list[sa.ColumnElement[bool]]:
    conditions = named(wanted.q)
    if wanted.site:
        conditions.append(RecipientRow.site_id == site_choice(work, wanted.site))
    if wanted.state:
        conditions.append(RecipientRow.state == wanted.state)
    return conditions


def _of(work: Work, table: Any, recipient_id: int, *conditions: Any, order_by: Any) -> list[sa.RowMapping]:
    order = order_by if isinstance(order_by, tuple) else (order_by,)
    statement = sa.select(table.__table__).where(table.recipient_id == recipient_id, *conditions).order_by(*order)
    return list(work.session.execute(statement).mappings())


def _helpers(work: Work, recipient_id: int) -> list[HelperView]:
    now_helping = sa.or_(HelperRow.until.is_(None), HelperRow.until > work.today)
    rows = work.session.execute(
        sa.select(HelperRow.account_id.label("account"), AccountRow.name, HelperRow.since)
        .join(AccountRow, AccountRow.id == HelperRow.account_id)
        .where(HelperRow.recipient_id == recipient_id, now_helping)
        .order_by(AccountRow.name)
    )
    return [HelperView.model_validate(row._mapping) for row in rows]


def _reviews(work: Work, row: Any) -> list[ReviewView]:
    held = {each["age"]: each for each in _of(work, ReviewRow, row.id, order_by=ReviewRow.age)}
    return [
        ReviewView(
            age=age,
            due_on=birthday(row.birth_date, age),
            held_on=held[age]["held_on"] if age in held else None,
            outcome=held[age]["outcome"] if age in held else "",
        )
        for age in REVIEW_AGES
    ]
