"""Imports point one way, as the contracts in pyproject.toml say, and a wrong one is noticed."""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.architecture.sources import ROOT

PLANTED = [
    ("Rooms have one order", "recipients/queries.py", "import service.growth.tables"),
    ("Rooms have one order", "kit/clock.py", "import service.access.actor"),
    ("Rooms have one order", "pottery.py", '"""A room that nobody put in its place."""'),
    ("Each slice has one order", "recipients/rules.py", "import service.recipients.tables"),
    ("Each slice has one order", "devices/actions.py", "import service.devices.api"),
    ("Pure code does no I/O", "recipients/rules.py", "import sqlalchemy"),
    ("Pure code does no I/O", "anthropometry/units.py", "import service.settings"),
    ("Pure code does no I/O", "growth/model/case.py", "import fastapi"),
    ("Pure code does no I/O", "statistics/intervals.py", "import service.settings"),
    ("Rooms have one order", "statistics/intervals.py", "import service.growth.record"),
    ("Use cases know no web", "recipients/queries.py", "import fastapi"),
    ("Use cases know no web", "devices/tables.py", "import service.web.words"),
]


def lint_imports(root: Path) -> subprocess.CompletedProcess[str]:
    """Run the linter on a tree, in a process of its own: it keeps what it imported."""
    command = [sys.executable, "-c", "from importlinter.cli import lint_imports_command as run; run()", "--no-cache"]
    return subprocess.run(
        command, cwd=root, env={"PYTHONPATH": str(root), "COLUMNS": "200"}, capture_output=True, text=True, check=False
    )


def test_the_contracts_are_kept():
    result = lint_imports(ROOT)
    assert result.returncode == 0, result.stdout + result.stderr


@pytest.mark.parametrize(("contract", "path", "fault"), PLANTED)
def test_a_planted_import_is_noticed(tmp_path, contract, path, fault):
    shutil.copytree(ROOT / "service", tmp_path / "service", ignore=shutil.ignore_patterns("__pycache__", "static"))
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    with (tmp_path / "service" / path).open("a") as file:
        file.write(f"\n{fault}\n")
    result = lint_imports(tmp_path)
    assert result.returncode == 1
    assert f"{contract} BROKEN" in result.stdout, result.stdout + result.stderr
