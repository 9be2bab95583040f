"""What a template must and must not do, each as a function from its text to its complaints."""

from __future__ import annotations

import ast
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cached_property

from jinja2 import TemplateSyntaxError, nodes

from service.web.render import environment
from tests.architecture.sources import ROOT, sources

FOLDER = ROOT / "templates"

# The content security policy lets neither run, and a page that half works is worse than one that is refused here.
FORBIDDEN = {
    r"<[a-z][^>]*\sstyle\s*=": "an inline style: the policy refuses it, use a class",
    r"<style\b": "an inline stylesheet: the policy refuses it",
    r"<[a-z][^>]*\son[a-z]+\s*=\s*[\"']": "an inline handler: the policy refuses it",
    r"<script(?![^>]*\ssrc=)": "an inline script: the policy refuses it",
    r"javascript:": "an address that is a script",
    r"\|\s*safe\b": "`safe`: what somebody typed may come through it",
    r"\bautoescape\b": "`autoescape`: what somebody typed may come through it",
    r"(?:src|href)\s*=\s*[\"']?(?:https?:)?//": "something from another server: pages load nothing from elsewhere",
}


@dataclass(frozen=True)
class Template:
    """A template: its name as code says it, and its text."""

    name: str
    text: str

    @cached_property
    def tree(self) -> nodes.Template:
        return environment().parse(self.text)


Lint = Callable[[Template], Iterator[str]]
Reference = nodes.Extends | nodes.Include | nodes.Import | nodes.FromImport


def templates() -> list[Template]:
    """Every template there is."""
    found = sorted(path for path in FOLDER.rglob("*") if path.is_file() and not path.name.startswith("."))
    return [Template(path.relative_to(FOLDER).as_posix(), path.read_text()) for path in found]


def compiles(template: Template) -> Iterator[str]:
    """It is a template at all, and every block it opens is closed."""
    try:
        environment().compile(template.text, template.name)
    except TemplateSyntaxError as error:
        yield f"{template.name}:{error.lineno} {error.message}"


def names_only_what_exists(template: Template) -> Iterator[str]:
    """Filters, tests, templates and macros are looked up late: a misspelt one would fail before somebody's eyes."""
    for node in template.tree.find_all((nodes.Filter, nodes.Test)):
        known = environment().filters if isinstance(node, nodes.Filter) else environment().tests
        if node.name not in known:
            yield f"{template.name}:{node.lineno} there is no {type(node).__name__.lower()} {node.name!r}"
    for name in template.tree.find_all(nodes.Name):
        if name.ctx == "load" and name.name[0].isupper() and name.name not in environment().globals:
            yield f"{template.name}:{name.lineno} there is no global {name.name!r}"
    for reference in references(template):
        yield from _refers_to_something(template, reference)


def keeps_the_policy(template: Template) -> Iterator[str]:
    """No style, script or markup that the content security policy or the escaping would have to trust."""
    # Comments are blanked, not cut, so that line numbers stay true.
    text = re.sub(r"\{#.*?#\}", lambda found: "\n" * found[0].count("\n"), template.text, flags=re.DOTALL)
    for pattern, what in FORBIDDEN.items():
        for found in re.finditer(pattern, text, flags=re.IGNORECASE):
            yield f"{template.name}:{text.count(chr(10), 0, found.start()) + 1} has {what}"


def macros_say_what_they_take(template: Template) -> Iterator[str]:
    """A file of macros opens with a comment that names each macro others import."""
    if template.name.startswith("_macros/") and not re.match(r"\s*\{#", template.text):
        yield f"{template.name} does not begin with a comment that says what it takes"


def is_used(template: Template, used: set[str]) -> Iterator[str]:
    """Nothing lies about that no page shows."""
    if template.name not in used:
        yield f"{template.name} is neither shown by the service nor used by another template"


LINTS: tuple[Lint, ...] = (compiles, names_only_what_exists, keeps_the_policy, macros_say_what_they_take)


def named_in_code() -> dict[str, str]:
    """Every template that the service names, with the file that does."""
    return {
        node.value: source.path
        for source in sources("service")
        for node in ast.walk(source.tree)
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and _TEMPLATE_NAME.fullmatch(node.value)
    }


def named_in_templates() -> set[str]:
    """Every template that another one extends, includes or imports from."""
    found = (reference.template for each in templates() for reference in references(each))
    return {name.value for name in found if isinstance(name, nodes.Const)}


def references(template: Template) -> Iterator[Reference]:
    """Where a template names another."""
    yield from template.tree.find_all(nodes.Extends)
    yield from template.tree.find_all(nodes.Include)
    yield from template.tree.find_all(nodes.Import)
    yield from template.tree.find_all(nodes.FromImport)


def offers(template: Template) -> set[str]:
    """What others can import from a template: its macros and what it sets."""
    set_here = {name.name for name in template.tree.find_all(nodes.Name) if name.ctx == "store"}
    return {macro.name for macro in template.tree.find_all(nodes.Macro)} | set_here


_TEMPLATE_NAME = re.compile(r"[a-z_]+/[a-z_/]+\.(html|txt|svg|typ|xml)")


def _refers_to_something(template: Template, reference: Reference) -> Iterator[str]:
    where = f"{template.name}:{reference.lineno}"
    if not isinstance(reference.template, nodes.Const):
        yield f"{where} works out the name of a template: write it out, so that it can be checked"
        return
    name = reference.template.value
    if not (FOLDER / name).is_file():
        yield f"{where} there is no template {name!r}"
    elif isinstance(reference, nodes.FromImport):
        offered = offers(Template(name, (FOLDER / name).read_text()))
        for wanted in (each if isinstance(each, str) else each[0] for each in reference.names):
            if wanted not in offered:
                yield f"{where} {name} has no {wanted!r}"
