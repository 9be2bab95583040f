"""The linters read this project's settings and object to what they should; they come with the extra `check`."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from tests.architecture.sources import ROOT

pytestmark = pytest.mark.linters


def objects(command: list[str], text: str) -> bool:
    """Whether a linter objects, given the text on standard input."""
    result = subprocess.run(
        [sys.executable, "-m", *command], input=text, cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert result.returncode in {0, 1}, result.stderr
    return result.returncode == 1


def style(text: str, _folder: Path) -> bool:
    return objects(["ruff", "check", "--stdin-filename", "service/planted.py", "-"], text)


def layout(text: str, _folder: Path) -> bool:
    return objects(["ruff", "format", "--check", "--stdin-filename", "service/planted.py", "-"], text)


def types(text: str, folder: Path) -> bool:
    (folder / "planted.py").write_text(text)
    return objects(["mypy", str(folder / "planted.py")], "")


@pytest.mark.parametrize(
    ("linter", "fault"),
    [
        (style, '"""Says what it is."""\n\nimport os\n'),
        (style, '"""Says what it is."""\n\n\ndef undocumented() -> int:\n    return 1\n'),
        (style, f'"""{"long " * 30}."""\n'),
        (layout, "x = {  'a':1 }\n"),
        (types, "def untyped(x):\n    return x\n"),
        (types, "from service.kit.clock import age_on\n\nage_on('2020-01-01', '2021-01-01')\n"),
    ],
)
def test_a_planted_fault_is_noticed(linter, fault, tmp_path):
    assert linter(fault, tmp_path)


@pytest.mark.parametrize("linter", [style, layout, types])
def test_what_is_sound_is_let_through(linter, tmp_path):
    assert not linter('"""Says what it is."""\n\nNUMBER: int = 1\n', tmp_path)
