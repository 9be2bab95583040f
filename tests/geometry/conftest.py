"""What reading a file took, as the service logs it; and children of a test's own, ended with it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from structlog.testing import capture_logs

from service.geometry.bounded import Children


@pytest.fixture
def logged() -> Iterator[list[Any]]:
    with capture_logs() as entries:
        yield entries


@pytest.fixture
def children() -> Iterator[Callable[..., Children]]:
    made: list[Children] = []

    def make(**bounds: Any) -> Children:
        made.append(Children(**bounds))
        return made[-1]

    yield make
    for each in made:
        each.close()
