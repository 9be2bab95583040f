"""The linters read this project's settings and object to what they should; they come with the extra `check`."""

from __future__ import annotations

import subprocess
import sys

import pytest

from tests.architecture.sources import ROOT

RUFF = ("ruff", "check", "--quiet", "--stdin-filename", "service/planted.py", "-")
FORMAT = ("ruff", "format", "--check", "--quiet", "--stdin-filename", "service/planted.py", "-")
MYPY = ("mypy", "--no-incremental", "-c")


def objects(command: tuple[str, ...], text: str) -> bool:
    """Whether a linter objects to a file with this text."""
    pytest.importorskip(command[0], reason="install the extra `check`")
    on_stdin = command[-1] == "-"
    result = subprocess.run(
        [sys.executable, "-m", *command, *([] if on_stdin else [text])],
        input=text if on_stdin else None,
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert result.returncode in {0, 1}, result.stderr
    return result.returncode == 1


@pytest.mark.parametrize(
    ("command", "fault"),
    [
        (RUFF, '"""Says what it is."""\n\nimport os\n'),
        (RUFF, '"""Says what it is."""\n\n\ndef undocumented() -> int:\n    return 1\n'),
        (RUFF, f'"""{"long " * 30}."""\n'),
        (FORMAT, "x = {  'a':1 }\n"),
        (MYPY, "def untyped(x):\n    return x"),
        (MYPY, "from service.kit.clock import age_on\nage_on('2020-01-01', '2021-01-01')"),
    ],
)
def test_a_planted_fault_is_noticed(command, fault):
    assert objects(command, fault)


@pytest.mark.parametrize("command", [RUFF, FORMAT, MYPY], ids=lambda command: " ".join(command[:2]))
def test_what_is_sound_is_let_through(command):
    assert not objects(command, '"""Says what it is."""\n\nNUMBER: int = 1\n')
