"""The rules of the house that can be read off one file of source, each as a function from the file to its complaints.

They take text, not a path to open, so that a test can hand them a fault and see them object.
"""

from __future__ import annotations

import ast
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]

LONGEST_FILE = 320
LONGEST_ROUTE = 6

DATABASE = "service/kit/db.py"
TRANSACTION_CALLS = {"commit", "rollback", "begin", "Session", "sessionmaker"}  # a savepoint ends nothing
EDGES = {
    "service/web/edge.py": "a request",
    "service/worker.py": "a job",
    "service/cli.py": "a console command",
    "service/demo/__init__.py": "a console command",
    "service/web/health.py": "asks the database whether it is there, and nothing else",
    "service/migrate.py": "asks which revision the database is at",
}
CLOCK = "service/kit/clock.py"
CLOCK_CALLS = (
    ".date.today",
    ".datetime.today",
    ".datetime.now",
    ".datetime.utcnow",
    ".time.time",
    ".func.now",
    ".func.current_date",
    ".func.current_timestamp",
)
PURE_FOLDERS = ("service/growth/model/", "service/sizing/model/", "service/anthropometry/", "service/statistics/")
USE_CASE_FILES = {"actions.py", "queries.py", "schemas.py", "tables.py"}

NOT_USE_CASES = {
    "service.audit.actions.note": "part of another act, which was permitted",
    "service.audit.actions.note_reads": "part of another act, which was permitted",
    "service.notifications.actions.tell": "part of another act, which was permitted",
    "service.notifications.actions.tell_family": "part of another act, which was permitted",
    "service.notifications.queries.wishes": "part of telling somebody something, which was permitted",
    "service.accounts.queries.identify": "finds out who acts, so there is nobody to ask about yet",
}


@dataclass(frozen=True)
class Source:
    """A file: its path from the project's root, and its text."""

    path: str
    text: str

    @property
    def name(self) -> str:
        return self.path.rpartition("/")[2]

    @property
    def module(self) -> str:
        return self.path.removesuffix(".py").replace("/", ".")

    @cached_property
    def tree(self) -> ast.Module:
        return ast.parse(self.text)

    def calls(self) -> Iterator[tuple[ast.Call, str]]:
        """Every call with the dotted name of what is called, `?` standing for whatever is not a name."""
        for node in ast.walk(self.tree):
            if isinstance(node, ast.Call):
                yield node, dotted(node.func)


Checker = Callable[[Source], Iterator[str]]


def sources(*folders: str) -> list[Source]:
    """Every Python file below the folders."""
    found = [path for folder in folders for path in sorted((ROOT / folder).rglob("*.py"))]
    return [Source(path.relative_to(ROOT).as_posix(), path.read_text()) for path in found]


def dotted(node: ast.expr) -> str:
    """`a.b.c` for a chain of names; `?` for any other beginning."""
    if isinstance(node, ast.Name):
        return node.id
    return f"{dotted(node.value)}.{node.attr}" if isinstance(node, ast.Attribute) else "?"


def transactions_stay_at_the_edges(source: Source) -> Iterator[str]:
    """Sessions are made in the database module and opened at the edges; nobody in between commits half a change."""
    for call, name in source.calls():
        last = name.rpartition(".")[2]
        if last in TRANSACTION_CALLS and source.path != DATABASE:
            yield f"{source.path}:{call.lineno} calls {name}(): only {DATABASE} ends or begins a transaction"
        if last in {"reading", "writing"} and source.path not in {*EDGES, DATABASE}:
            yield f"{source.path}:{call.lineno} calls {name}(): only an edge opens a session"


def time_comes_in_as_an_argument(source: Source) -> Iterator[str]:
    """Only the clock looks at the clock; the database's own clock is one too."""
    if source.path == CLOCK:
        return
    called_time = imports(source, "time", "time")
    for call, name in source.calls():
        if f".{name}".endswith(CLOCK_CALLS) or (name == "time" and called_time):
            yield f"{source.path}:{call.lineno} asks {name}() for the time: take it from `work.now` or an argument"


def chance_comes_in_as_an_argument(source: Source) -> Iterator[str]:
    """Pure code and use cases draw nothing at random unless they were handed what to draw from."""
    pure = source.path.startswith(PURE_FOLDERS) or source.name == "rules.py"
    if not pure and source.name not in USE_CASE_FILES:
        return
    for node in ast.walk(source.tree):
        if isinstance(node, ast.Import | ast.ImportFrom):
            names = {alias.name for alias in node.names} | {getattr(node, "module", None)}
            banned = names & ({"random", "secrets"} if pure else {"random"})
            if banned:
                yield f"{source.path}:{node.lineno} imports {banned.pop()}: take a generator as an argument"
    for call, name in source.calls():
        if name.startswith(("np.random.", "numpy.random.")) and not call.args:
            yield f"{source.path}:{call.lineno} calls {name}() without a seed: take a generator as an argument"


def use_cases_are_declared(source: Source) -> Iterator[str]:
    """Whatever a face can call says what it needs."""
    if source.name not in {"actions.py", "queries.py"}:
        return
    for node in source.tree.body:
        if not isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef) or node.name.startswith("_"):
            continue
        declared = any(isinstance(each, ast.Call) and dotted(each.func) == "usecase" for each in node.decorator_list)
        if not declared and f"{source.module}.{node.name}" not in NOT_USE_CASES:
            yield f"{source.path}:{node.lineno} {node.name}() is public and not declared with @usecase(May.…)"


def routes_are_short_and_plain(source: Source) -> Iterator[str]:
    """A route parses, calls and answers: sync, a few statements, with a declared answer."""
    for node in ast.walk(source.tree):
        if not isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef) or not _is_route(node):
            continue
        where = f"{source.path}:{node.lineno} {node.name}()"
        if isinstance(node, ast.AsyncFunctionDef):
            yield f"{where} is async: it would hold up every other request while it waits for the database"
        if node.returns is None:
            yield f"{where} does not say what it answers"
        statements = (
            sum(isinstance(each, ast.stmt) for each in ast.walk(node)) - 1 - (ast.get_docstring(node) is not None)
        )
        if statements > LONGEST_ROUTE:
            yield f"{where} has {statements} statements, more than {LONGEST_ROUTE}: move them into the use case"


def refusals_are_ours(source: Source) -> Iterator[str]:
    """A refusal says what happened and what to do; a bare status does not."""
    for node in ast.walk(source.tree):
        if isinstance(node, ast.Raise) and node.exc is not None:
            raised = node.exc.func if isinstance(node.exc, ast.Call) else node.exc
            if dotted(raised).endswith("HTTPException"):
                yield f"{source.path}:{node.lineno} raises HTTPException: raise a refusal of service.kit.errors"


def files_are_small(source: Source) -> Iterator[str]:
    """A long file is two rooms with the wall taken out."""
    lines = source.text.count("\n")
    if lines > LONGEST_FILE:
        yield f"{source.path} has {lines} lines, more than {LONGEST_FILE}: find the two things it does"


def related_rows_are_joined(source: Source) -> Iterator[str]:
    """A relationship that loads itself is a query in a loop that nobody sees."""
    for call, name in source.calls():
        if name.rpartition(".")[2] == "relationship":
            lazy = next((each.value for each in call.keywords if each.arg == "lazy"), None)
            if not (isinstance(lazy, ast.Constant) and lazy.value == "raise"):
                yield f"{source.path}:{call.lineno} relationship() without lazy='raise': join in the query instead"


CHECKERS: tuple[Checker, ...] = (
    transactions_stay_at_the_edges,
    time_comes_in_as_an_argument,
    chance_comes_in_as_an_argument,
    use_cases_are_declared,
    routes_are_short_and_plain,
    refusals_are_ours,
    files_are_small,
    related_rows_are_joined,
)


def imports(source: Source, module: str, name: str) -> bool:
    """Whether the file says `from module import name`."""
    return any(
        isinstance(node, ast.ImportFrom) and node.module == module and any(each.name == name for each in node.names)
        for node in ast.walk(source.tree)
    )


def _is_route(node: ast.FunctionDef | ast.AsyncFunctionDef) -> bool:
    methods = ("router.get", "router.post", "router.patch", "router.put", "router.delete")
    return any(isinstance(each, ast.Call) and dotted(each.func).endswith(methods) for each in node.decorator_list)
