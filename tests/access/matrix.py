"""The permissions that follow from the policy, as a table to read: `python -m tests.access.matrix` writes it anew."""

from __future__ import annotations

import importlib
from collections.abc import Iterator
from pathlib import Path

from service.access.permissions import Role
from service.access.policy import allows
from service.access.usecase import USE_CASES
from tests.architecture.sources import sources

FILE = Path(__file__).with_name("permissions.txt")
HEADING = """\
Who may do what: every use case, what it asks for, and the roles that have it.
It says what a role covers, not whose rows; which cases somebody sees is decided in the queries.
Changed on purpose? Write it anew with `python -m tests.access.matrix` and read the difference aloud.
"""


def load_use_cases() -> None:
    """Import every module that declares one."""
    for source in sources("service"):
        if source.name in {"actions.py", "queries.py"}:
            importlib.import_module(source.module)


def matrix() -> str:
    """The table as text."""
    load_use_cases()
    return HEADING + "".join(f"{line.rstrip()}\n" for line in _lines())


def _lines() -> Iterator[str]:
    widths = [max(map(len, names)) for names in zip(*(_words(name) for name in USE_CASES), strict=True)]
    room = ""
    for name, may in sorted(USE_CASES.items()):
        if name.split(".")[1] != room:
            room = name.split(".")[1]
            yield ""
            yield _row((room, "asks for"), widths, [role.label for role in Role])
        yield _row(_words(name), widths, ["yes" if allows(frozenset({role}), may) else "-" for role in Role])


def _words(use_case: str) -> tuple[str, str]:
    return use_case.split(".", 2)[2], USE_CASES[use_case].value


def _row(words: tuple[str, str], widths: list[int], answers: list[str]) -> str:
    cells = [*zip(words, widths, strict=True), *zip(answers, map(len, Role), strict=True)]
    return "  ".join(f"{word:{width}}" for word, width in cells)


if __name__ == "__main__":
    FILE.write_text(matrix())
