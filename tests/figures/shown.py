"""Sheets in a register, for whoever may see them."""

from __future__ import annotations

from service.access.actor import SYSTEM
from service.access.work import Work
from service.figures.actions import keep_sheet
from service.figures.sheets import SheetView
from tests.conftest import Register


def kept(register: Register, *sheets: SheetView) -> None:
    """Keep some sheets, as the register itself does."""
    with register.db.writing() as session:
        for each in sheets:
            assert keep_sheet(Work(session, SYSTEM, register.clock()), each)
