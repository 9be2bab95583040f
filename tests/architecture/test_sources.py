"""The service keeps the rules of its house, and each rule's checker notices when it does not."""

from __future__ import annotations

import importlib

import pytest

from service.access.usecase import USE_CASES
from tests.architecture import sources as house

SERVICE = house.sources("service")


@pytest.mark.parametrize("checker", house.CHECKERS, ids=lambda checker: checker.__name__)
def test_the_service_keeps_the_rule(checker):
    complaints = [complaint for source in SERVICE for complaint in checker(source)]
    assert not complaints, "\n".join(complaints)


def test_tests_and_migrations_are_small_files_too():
    complaints = [each for source in house.sources("tests", "seed_data") for each in house.files_are_small(source)]
    assert not complaints, "\n".join(complaints)


ROUTE = "@router.get('/x')\n@reads\n"
PLANTED = [
    (house.transactions_stay_at_the_edges, "service/devices/actions.py", "work.session.commit()"),
    (house.transactions_stay_at_the_edges, "service/devices/actions.py", "session.rollback()"),
    (house.transactions_stay_at_the_edges, "service/devices/queries.py", "with Session(engine) as session: pass"),
    (house.transactions_stay_at_the_edges, "service/devices/pages.py", "with session.begin(): pass"),
    (house.transactions_stay_at_the_edges, "service/devices/pages.py", "with frame.db.writing() as session: pass"),
    (house.transactions_stay_at_the_edges, "service/worker.py", "session.commit()"),
    (house.time_comes_in_as_an_argument, "service/devices/rules.py", "date.today()"),
    (house.time_comes_in_as_an_argument, "service/devices/actions.py", "datetime.datetime.now(UTC)"),
    (house.time_comes_in_as_an_argument, "service/growth/model/curve.py", "time.time()"),
    (house.time_comes_in_as_an_argument, "service/growth/jobs.py", "from time import time\ntime()"),
    (house.time_comes_in_as_an_argument, "service/devices/queries.py", "sa.select(sa.func.now())"),
    (house.chance_comes_in_as_an_argument, "service/devices/actions.py", "import random"),
    (house.chance_comes_in_as_an_argument, "service/recipients/rules.py", "from secrets import randbelow"),
    (house.chance_comes_in_as_an_argument, "service/growth/model/curve.py", "rng = np.random.default_rng()"),
    (house.use_cases_are_declared, "service/devices/actions.py", "def add(work): ..."),
    (house.use_cases_are_declared, "service/devices/queries.py", "@cache\ndef devices(work): ..."),
    (house.routes_are_short_and_plain, "service/devices/api.py", ROUTE + "async def x(work: Work) -> View: ..."),
    (house.routes_are_short_and_plain, "service/devices/api.py", ROUTE + "def x(work: Work): ..."),
    (
        house.routes_are_short_and_plain,
        "service/devices/pages.py",
        ROUTE + "def x(work: Work) -> Response:\n    if a:\n" + "        b()\n" * house.LONGEST_ROUTE,
    ),
    (house.refusals_are_ours, "service/devices/api.py", "raise HTTPException(404)"),
    (house.refusals_are_ours, "service/devices/api.py", "raise fastapi.HTTPException(status_code=404)"),
    (house.files_are_small, "service/devices/actions.py", "\n" * (house.LONGEST_FILE + 1)),
    (house.related_rows_are_joined, "service/devices/tables.py", "sockets = relationship()"),
    (house.related_rows_are_joined, "service/devices/tables.py", "sockets = orm.relationship(lazy='select')"),
]


@pytest.mark.parametrize(("checker", "path", "fault"), PLANTED)
def test_a_planted_fault_is_noticed(checker, path, fault):
    (complaint,) = checker(house.Source(path, fault))
    assert path in complaint


def test_every_rule_has_a_planted_fault():
    assert {checker for checker, _, _ in PLANTED} == set(house.CHECKERS)


def test_what_is_declared_is_registered():
    """The decorator that the checker sees in the source is the one that guards the call."""
    declared = set()
    for source in SERVICE:
        if source.name in {"actions.py", "queries.py"}:
            module = importlib.import_module(source.module)
            public = {name for name, each in vars(module).items() if getattr(each, "__module__", "") == source.module}
            functions = {name for name in public if not name.startswith("_") and callable(getattr(module, name))}
            classes = {name for name in functions if isinstance(getattr(module, name), type)}
            declared |= {f"{source.module}.{name}" for name in functions - classes}
    assert declared - set(house.NOT_USE_CASES) == set(USE_CASES)


def test_exceptions_to_the_rules_still_exist():
    known = {source.path for source in SERVICE}
    absent = [path for path in (house.DATABASE, house.CLOCK, *house.EDGES) if path not in known]
    assert not absent, f"take these out of the lists of exceptions: {absent}"
    for name in house.NOT_USE_CASES:
        module, _, function = name.rpartition(".")
        assert hasattr(importlib.import_module(module), function), f"{name} is gone: take it out of NOT_USE_CASES"
