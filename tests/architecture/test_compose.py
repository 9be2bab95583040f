"""The container set-up, read rather than run: it keeps no secret, waits for the migrations and does not run as root."""

from __future__ import annotations

import copy
import re
from collections.abc import Iterator
from typing import Any

import pytest
import typer
import yaml

from service.cli import cli
from tests.architecture.sources import ROOT

COMPOSE: dict[str, Any] = yaml.safe_load((ROOT / "docker-compose.yml").read_text())
OURS = ("migrate", "service", "worker")


def secrets_have_no_default(compose: dict[str, Any]) -> Iterator[str]:
    for name, service in compose["services"].items():
        for variable, value in service["environment"].items():
            secret = re.search("SECRET|PASSWORD|DATABASE_URL", variable)
            if secret and not re.search(r"\$\{HANDSPAN_[A-Z_]+:\?[^}]+\}", value):
                yield f"{name} would start with a {variable} that nobody set"


def migrations_come_first(compose: dict[str, Any]) -> Iterator[str]:
    for name in ("service", "worker"):
        if compose["services"][name]["depends_on"].get("migrate") != {"condition": "service_completed_successfully"}:
            yield f"{name} does not wait for the migrations"
    if compose["services"]["migrate"]["depends_on"] != {"database": {"condition": "service_healthy"}}:
        yield "the migrations do not wait for the database"


def recipes_end_as_somebody_else_than_root(compose: dict[str, Any]) -> Iterator[str]:
    for name in OURS:
        recipe = compose["services"][name]["build"]["dockerfile_inline"]
        users = re.findall(r"^USER (\S+)", recipe, flags=re.MULTILINE)
        if not users or users[-1] in {"root", "0"}:
            yield f"{name} runs as root"


def recipes_copy_what_exists(compose: dict[str, Any]) -> Iterator[str]:
    for name in OURS:
        recipe = compose["services"][name]["build"]["dockerfile_inline"]
        for line in re.findall(r"^COPY (.+)", recipe, flags=re.MULTILINE):
            yield from (f"{name} copies {each}" for each in line.split()[:-1] if not (ROOT / each).exists())


def commands_exist(compose: dict[str, Any]) -> Iterator[str]:
    known = set(typer.main.get_group(cli).commands)
    for name in OURS:
        command = compose["services"][name]["command"]
        if command[0] != "handspan" or command[1] not in known:
            yield f"{name} runs {command}, which is no command of ours"


def data_is_kept_and_asked_after(compose: dict[str, Any]) -> Iterator[str]:
    if not any(each.split(":")[0] in compose["volumes"] for each in compose["services"]["database"]["volumes"]):
        yield "the database is not kept on a volume"
    for name in ("database", "service"):
        if not compose["services"][name].get("healthcheck", {}).get("test"):
            yield f"{name} has no health check"


def files_are_kept_where_the_service_may_write(compose: dict[str, Any]) -> Iterator[str]:
    kept = compose["services"]["service"]["environment"].get("HANDSPAN_FILES_URL", "")
    for name in ("service", "worker"):
        service = compose["services"][name]
        if service["environment"].get("HANDSPAN_FILES_URL") != kept:
            yield f"{name} keeps files elsewhere than the service does"
        mounted = [each.split(":") for each in service.get("volumes", [])]
        if not any(volume in compose["volumes"] and kept == place for volume, place, *_ in mounted):
            yield f"{name} keeps files in {kept!r}, which is no volume: they would be gone with the container"
        made = [line for line in service["build"]["dockerfile_inline"].splitlines() if line.endswith(f" {kept}")]
        if not any("--owner handspan" in line for line in made):
            yield f"{name} could not write to {kept!r}: nothing in the image gives it to the account it runs as"


CHECKS = (
    secrets_have_no_default,
    migrations_come_first,
    recipes_end_as_somebody_else_than_root,
    recipes_copy_what_exists,
    commands_exist,
    data_is_kept_and_asked_after,
    files_are_kept_where_the_service_may_write,
)


@pytest.mark.parametrize("check", CHECKS)
def test_the_set_up_is_sound(check):
    assert not list(check(COMPOSE))


@pytest.mark.parametrize(
    ("check", "service", "part", "fault"),
    [
        (secrets_have_no_default, "worker", "environment", {"HANDSPAN_SECRET_KEY": "change-me"}),
        (secrets_have_no_default, "database", "environment", {"POSTGRES_PASSWORD": "${PASSWORD:-handspan}"}),
        (migrations_come_first, "worker", "depends_on", {"database": {"condition": "service_healthy"}}),
        (migrations_come_first, "migrate", "depends_on", {"database": {"condition": "service_started"}}),
        (recipes_end_as_somebody_else_than_root, "service", "build", {"dockerfile_inline": "FROM python\nRUN pip"}),
        (recipes_copy_what_exists, "service", "build", {"dockerfile_inline": "COPY no-such-file ./\nUSER handspan"}),
        (commands_exist, "worker", "command", ["handspan", "toil"]),
        (data_is_kept_and_asked_after, "database", "volumes", []),
        (data_is_kept_and_asked_after, "service", "healthcheck", {}),
        (files_are_kept_where_the_service_may_write, "worker", "volumes", []),
        (files_are_kept_where_the_service_may_write, "service", "volumes", ["/files:/files"]),
        (files_are_kept_where_the_service_may_write, "service", "environment", {}),
        (files_are_kept_where_the_service_may_write, "worker", "environment", {"HANDSPAN_FILES_URL": "/tmp/files"}),
        (files_are_kept_where_the_service_may_write, "service", "build", {"dockerfile_inline": "RUN mkdir /files"}),
    ],
)
def test_a_planted_fault_is_noticed(check, service, part, fault):
    planted = copy.deepcopy(COMPOSE)
    planted["services"][service][part] = fault
    assert list(check(planted))
