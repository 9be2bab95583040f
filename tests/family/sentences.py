"""Every sentence that a family may read, gathered from the templates and from the tables of words."""

from __future__ import annotations

from jinja2 import nodes

from service.family.how_words import EVERY as HOW_IT_GOES
from service.family.rules import ASKED_FOR, HAPPENED, HOW_FAR, NOTICE_ANSWERS, PARTS, STOPPED, STOPS
from service.notifications.families import FAMILY
from service.outcomes.rules import DOCTOR, TAKE_OFF, WE_CALL
from service.safety.rules import MAY_NOT_SHOW, PLAN_FIRST, SIGNS, SKIN
from service.web.render import environment
from tests.architecture.sources import ROOT

STAFF = {"links.html"}
ELSEWHERE = (ROOT / "templates" / "notifications" / "unsubscribe.html",)


def in_templates() -> set[str]:
    """What templates say in the family's language."""
    found = set()
    folder = ROOT / "templates"
    for path in sorted((*(folder / "family").glob("*.html"), *(folder / "_mail").glob("*.txt"), *ELSEWHERE)):
        if path.name in STAFF:
            continue
        for call in environment().parse(path.read_text()).find_all(nodes.Call):
            if isinstance(call.node, nodes.Name) and call.node.name == "_":
                found |= {each.value for each in call.args if isinstance(each, nodes.Const)}
    return found


def every_sentence() -> set[str]:
    """All of it."""
    said = {words for _, words in SIGNS.values()}
    for advice in SKIN.values():
        said |= {advice.say, advice.then}
    said |= {each for text in FAMILY.values() for each in (text.subject, *text.sentences)}
    said |= {*STOPS.values(), *STOPPED.values(), *HOW_FAR.values(), *NOTICE_ANSWERS.values()}
    said |= {*HOW_IT_GOES, DOCTOR, TAKE_OFF, WE_CALL}
    return in_templates() | said | {MAY_NOT_SHOW, PLAN_FIRST, *PARTS.values(), *HAPPENED.values(), *ASKED_FOR.values()}
