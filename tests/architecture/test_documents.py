"""What the documents tell people to type is what there is."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
import typer

from service.cli import cli
from tests.architecture.sources import ROOT, sources

README, DEVELOPERS = (ROOT / "README.md").read_text(), (ROOT / "DEVELOPERS.md").read_text()
FENCED = re.compile(r"^```[a-z]*\n(.*?)^```$", flags=re.DOTALL | re.MULTILINE)


def readme_commands(text: str) -> Iterator[str]:
    """Two commands for a fresh machine, one line each: the demo, then the tests."""
    blocks = FENCED.findall(text)[:2]
    for block, runs in zip(blocks, ("handspan demo", "pytest"), strict=False):
        if block.count("\n") != 1:
            yield "a command is not one line"
        if runs not in block:
            yield f"no command runs {runs}"
    if len(blocks) != 2:
        yield "there are not two commands"


def commands_are_ours(text: str) -> Iterator[str]:
    """Each `handspan …` in a document is a command of the console script."""
    known = {*typer.main.get_group(cli).commands, "--help"}
    yield from (
        f"there is no command `handspan {each}`"
        for each in re.findall(r"\bhandspan ([a-z-]+)", text)
        if each not in known
    )


def paths_are_there(text: str) -> Iterator[str]:
    """Each path in backquotes is a file or a folder, from the root or from the service."""
    for path in re.findall(r"`([a-z_.]+/(?:[a-z_./]+)?)`", text):
        if not ((ROOT / path).exists() or (ROOT / "service" / path).exists()):
            yield f"there is no {path}"


def checkers_are_there(text: str) -> Iterator[str]:
    """Each name with underscores in backquotes that stands in the table of checkers is a function of one."""
    known = {
        name
        for source in sources("tests/architecture")
        for name in re.findall(r"^def (\w+)", source.text, re.MULTILINE)
    }
    table = text.partition("## Rules, each with its checker")[2].partition("\n## ")[0]
    yield from (
        f"there is no checker {each}" for each in re.findall(r"`([a-z]+(?:_[a-z]+){2,})`", table) if each not in known
    )


def test_the_readme_has_the_two_commands():
    assert not list(readme_commands(README))


@pytest.mark.parametrize("text", [README, DEVELOPERS], ids=["README", "DEVELOPERS"])
@pytest.mark.parametrize("check", [commands_are_ours, paths_are_there, checkers_are_there])
def test_what_a_document_names_exists(check, text):
    assert not list(check(text))


@pytest.mark.parametrize(
    ("check", "fault"),
    [
        (readme_commands, "```\nhandspan demo\n```\n"),
        (readme_commands, "```\npip install .\nhandspan demo\n```\n```\npytest\n```\n"),
        (readme_commands, "```\nhandspan demo\n```\n```\ntox\n```\n"),
        (commands_are_ours, "run `handspan toil`"),
        (paths_are_there, "see `service/nowhere.py`"),
        (checkers_are_there, "## Rules, each with its checker\n`no_such_checker`"),
    ],
)
def test_a_planted_fault_is_noticed(check, fault):
    assert list(check(fault))
