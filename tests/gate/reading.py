"""Pages as somebody reads them: a browser of an account there is already, and the words of a page."""

from __future__ import annotations

import re
import secrets
from datetime import timedelta
from hashlib import sha256
from html import unescape

import sqlalchemy as sa
from fastapi.testclient import TestClient

from service.accounts.tables import AccountRow, SessionRow
from service.web.form_token import SESSION_COOKIE
from tests.conftest import Register


def browser_of(register: Register, name: str) -> TestClient:
    """A browser in which the account of that name is signed in."""
    browser = register.browser()
    with register.db.writing() as session:
        account = session.scalars(sa.select(AccountRow.id).where(AccountRow.name == name).limit(1)).one()
        key, now = secrets.token_hex(), register.clock()
        hashed, until = sha256(key.encode()).hexdigest(), now + timedelta(days=7)
        opened = SessionRow(account_id=account, token_hash=hashed, browser="a test", created_at=now, expires_at=until)
        session.add(opened)
    browser.cookies.set(SESSION_COOKIE, key)
    return browser


def words(html: str) -> str:
    """What a page says to people below its head, in one line."""
    main = html[html.index("<main") :]
    apart = re.sub(r"</(p|li|dt|dd|h\d|td|th|caption|figcaption|span|div)>", " ", main)
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", "", apart)))
