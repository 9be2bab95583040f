"""Working a size out from figures somebody sends."""

from __future__ import annotations

from service.access.permissions import May
from service.access.usecase import usecase
from service.access.work import Work
from service.sizing.answers import SizeAnswer
from service.sizing.schemas import AskSize
from service.sizing.stateless import size


@usecase(May.ASK_FORECASTS)
def ask(_work: Work, command: AskSize) -> SizeAnswer:
    """The next size from figures given; nothing is read from the register or stored."""
    return size(command)
