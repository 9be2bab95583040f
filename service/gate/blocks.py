"""What stands in the way of a build, worked out from facts. Pure: `LIFTS` is the one table of what lifts what."""

from __future__ import annotations

import enum
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from service.assembly.rules import TOUCHES_SKIN
from service.builds.rules import HANDS, BuildState
from service.lots.rules import LotState
from service.parts.rules import PartKind, VersionState
from service.recipients.rules import Verdict

SMALL_CHILD_MONTHS: Final = 36
"""Small parts are kept from children under so many months (16 CFR 1501.2, borrowed: a device is not a toy)."""


class BlockCode(enum.StrEnum):
    """What can stand in the way."""

    BENCH_CHECK = "bench_check"
    CONSENT = "consent"
    VERSION = "version"
    NOTICE = "notice"
    LOT = "lot"
    PRESCRIPTION = "prescription"
    SUITABILITY = "suitability"
    ALLERGY = "allergy"
    SMALL_CHILD = "small_child"
    SCALE = "scale"


class Stage(enum.IntEnum):
    """The moves that blocks stop, in their order: what stops one stops all that follow."""

    START = 1
    CLEAR = 2
    DELIVER = 3
    FIT = 4


STAGE_OF: Final[Mapping[BuildState, Stage]] = MappingProxyType(
    {
        BuildState.MAKING: Stage.START,
        BuildState.CLEARED: Stage.CLEAR,
        BuildState.DELIVERED: Stage.DELIVER,
        BuildState.FITTED: Stage.FIT,
    }
)
"""The stage that a move to a state has to pass; the other moves lead away from a limb, or are past it."""


@dataclass(frozen=True, slots=True)
class Lift:
    """From which move on a block stops, what it is about, and what alone lifts it."""

    stops: Stage
    about: str
    lifted_by: str


LIFTS: Final[Mapping[BlockCode, Lift]] = MappingProxyType(
    {
        BlockCode.BENCH_CHECK: Lift(
            Stage.CLEAR,
            "no bench check passed, or signed by the maker",
            "A bench check by another person; nothing else.",
        ),
        BlockCode.CONSENT: Lift(Stage.START, "consent missing or withdrawn", "Consent; nothing else."),
        BlockCode.VERSION: Lift(Stage.START, "version withdrawn, or never released", "Another version; nothing else."),
        BlockCode.NOTICE: Lift(
            Stage.CLEAR, "an open safety notice on a version, lot or printer", "Another version or lot; nothing else."
        ),
        BlockCode.LOT: Lift(Stage.CLEAR, "a lot that is held or withdrawn", "Another lot; nothing else."),
        BlockCode.PRESCRIPTION: Lift(
            Stage.START,
            "no written prescription",
            "The prescription, or the site's recorded legal basis with the trustee's name.",
        ),
        BlockCode.SUITABILITY: Lift(
            Stage.START,
            "no note that a first device is suitable",
            "A clinician's note, or, while there is none, the site's recorded rule.",
        ),
        BlockCode.ALLERGY: Lift(
            Stage.CLEAR,
            "a material that clashes with an allergy",
            "Another material, or a clinician's written acceptance.",
        ),
        BlockCode.SMALL_CHILD: Lift(
            Stage.CLEAR,
            "under 36 months: a small part, or a printed hand at all",
            "A clinician's written acceptance.",
        ),
        BlockCode.SCALE: Lift(
            Stage.CLEAR,
            "a fixed feature or a wall out of limits at this scale",
            "Another scale, or the finding that it was drilled and gauged.",
        ),
    }
)

ACCEPTED_IN_WRITING: Final = frozenset({BlockCode.ALLERGY, BlockCode.SMALL_CHILD})
"""The blocks that a clinician's written acceptance lifts."""


@dataclass(frozen=True, slots=True)
class Block:
    """One thing that stands in the way."""

    code: BlockCode
    why: str
    early: bool = False

    @property
    def lifted_by(self) -> str:
        """What alone lifts it."""
        return LIFTS[self.code].lifted_by

    @property
    def stops(self) -> Stage:
        """The first move it stops; an `early` one stops the start already."""
        return Stage.START if self.early else LIFTS[self.code].stops


@dataclass(frozen=True, slots=True)
class LotFacts:
    """A lot that something is made from."""

    called: str
    what: str
    state: LotState
    latex_free: bool | None
    skin_contact: bool | None


@dataclass(frozen=True, slots=True)
class ItemFacts:
    """A part of the build; `out_of_limits` are sentences, `small` whether it may fit the small-parts cylinder."""

    name: str
    kind: PartKind
    printed: bool
    material: str = ""
    version_name: str = ""
    state: VersionState | None = None
    instead: str = ""
    out_of_limits: tuple[str, ...] = ()
    small: bool = False
    lots: tuple[LotFacts, ...] = ()


@dataclass(frozen=True, slots=True)
class NoticeFacts:
    """An open safety notice that a build meets."""

    why: str
    on_version: bool


@dataclass(frozen=True, slots=True)
class BenchFacts:
    """The newest bench check of this round."""

    passed: bool
    by_maker: bool
    gauged: bool
    signed_by: str


@dataclass(frozen=True, slots=True)
class Facts:
    """All that the gate looks at; `accepted` holds the very sentences that a clinician accepted in writing."""

    items: tuple[ItemFacts, ...]
    missing_consents: tuple[str, ...]
    prescription_lacks: tuple[str, ...]
    legal_basis: bool
    first_device: bool
    suitability: Verdict | None
    suitability_rule: bool
    latex_allergy: bool | None
    skin_allergies: str
    age_months: int
    notices: tuple[NoticeFacts, ...] = ()
    bench: BenchFacts | None = None
    accepted: frozenset[str] = frozenset()


def blocks(facts: Facts) -> list[Block]:
    """Everything that stands in the way of a build, in the order of `LIFTS`, whichever move it stops."""
    # A version that a notice is on is not begun; what came of a lot or a printer is made good, so that may go on.
    early = {each.why for each in facts.notices if each.on_version}
    found = [Block(code, why, code is BlockCode.NOTICE and why in early) for code, why in _found(facts)]
    order = list(LIFTS)
    return sorted(found, key=lambda each: order.index(each.code))


def stopping(found: list[Block], stage: Stage) -> list[Block]:
    """Those that stop a move: a block stops the move it names and all that follow."""
    return [each for each in found if each.stops <= stage]


def _found(facts: Facts) -> Iterator[tuple[BlockCode, str]]:
    yield from ((BlockCode.BENCH_CHECK, why) for why in _bench(facts.bench))
    for each in facts.missing_consents:
        yield BlockCode.CONSENT, f"There is no {each}, or it was withdrawn."
    for item in facts.items:
        yield from out_of_order(item)
    for notice in facts.notices:
        yield BlockCode.NOTICE, notice.why
    if facts.prescription_lacks and not facts.legal_basis:
        yield (
            BlockCode.PRESCRIPTION,
            f"No whole prescription is on record. Missing: {_listed(facts.prescription_lacks)}.",
        )
    yield from ((BlockCode.SUITABILITY, why) for why in _suitability(facts))
    for code, why in _acceptable(facts):
        if why not in facts.accepted:
            yield code, why
    if not (facts.bench is not None and facts.bench.gauged and facts.bench.passed and not facts.bench.by_maker):
        for item in facts.items:
            yield from ((BlockCode.SCALE, f"{_start(item.name)}: {why}") for why in item.out_of_limits)


def _acceptable(facts: Facts) -> Iterator[tuple[BlockCode, str]]:
    """What a clinician may accept, sentence by sentence: another part or material is another thing to accept."""
    for item in facts.items:
        yield from ((BlockCode.ALLERGY, why) for why in allergy_clashes(facts, item))
        if facts.age_months < SMALL_CHILD_MONTHS:
            yield from ((BlockCode.SMALL_CHILD, why) for why in _small(item))


def _bench(bench: BenchFacts | None) -> Iterator[str]:
    if bench is None:
        yield "Nobody has signed a bench check of it, as it is made now."
    elif bench.by_maker:
        yield f"{bench.signed_by} signed its bench check, and made it."
    elif not bench.passed:
        yield f"It did not pass the bench check that {bench.signed_by} signed."


def out_of_order(item: ItemFacts) -> Iterator[tuple[BlockCode, str]]:
    """What is wrong with the version and the lots of a part, whoever wears it."""
    yield from _version(item)
    yield from _lots(item)


def _version(item: ItemFacts) -> Iterator[tuple[BlockCode, str]]:
    if item.state is VersionState.WITHDRAWN:
        yield BlockCode.VERSION, f"{item.version_name} was withdrawn. {item.instead}".strip()
    elif item.state is VersionState.DRAFT:
        yield BlockCode.VERSION, f"{item.version_name} is a draft: nobody has released it."


def _lots(item: ItemFacts) -> Iterator[tuple[BlockCode, str]]:
    for lot in item.lots:
        if lot.state in {LotState.HELD, LotState.WITHDRAWN}:
            yield BlockCode.LOT, f"{lot.called}, which the {item.name} is made from, is {lot.state.label}."


def _suitability(facts: Facts) -> Iterator[str]:
    if not facts.first_device or facts.suitability is Verdict.SUITABLE:
        return
    if facts.suitability is None:
        if not facts.suitability_rule:
            yield "This is a first device, and no clinician has noted that one is suitable."
    else:
        said = "not yet suitable" if facts.suitability is Verdict.NOT_YET else "not suitable"
        yield f"This is a first device, and the newest note of a clinician says: {said}."


def allergy_clashes(facts: Facts, item: ItemFacts) -> Iterator[str]:
    """Where a part may clash with an allergy on record, in sentences.

    Latex counts in every lot; with an allergy nobody has asked about, a lot that is known to hold it is stopped too.
    Other allergies of the skin are words, so what lies on the skin is compared by the words of its material.
    """
    for lot in item.lots:
        if lot.latex_free is False and facts.latex_allergy is not False:
            known = "who wears it is allergic to it" if facts.latex_allergy else "nobody has asked about an allergy"
            yield f"{lot.called} holds latex, and {known}."
        elif lot.latex_free is None and facts.latex_allergy and not item.printed:
            yield f"Who wears it is allergic to latex, and nobody knows whether {lot.called} is free of it."
    if item.kind not in TOUCHES_SKIN or not facts.skin_allergies:
        return
    allergies = _words(facts.skin_allergies)
    for name in dict.fromkeys([item.material, *(lot.what for lot in item.lots)]):
        if _words(name) & allergies:
            yield f"The {item.name} is of {name}, and an allergy of the skin is on record: {facts.skin_allergies}."


def _small(item: ItemFacts) -> Iterator[str]:
    if item.printed and item.kind in HANDS:
        yield f"The {item.name} is part of a printed hand, from which pieces break off, and the wearer is under three."
    elif item.small:
        yield f"The {item.name} may be small enough to be swallowed, and the wearer is under three."


_TOO_COMMON = frozenset({"mm", "and", "the", "of", "to", "on", "with", "skin", "none", "no", "not", "known"})


def _words(text: str) -> set[str]:
    plain = "".join(letter if letter.isalnum() else " " for letter in text.casefold())
    return {each for each in plain.split() if len(each) > 2} - _TOO_COMMON


def _listed(words: tuple[str, ...]) -> str:
    return ", ".join(words)


def _start(name: str) -> str:
    return name[:1].upper() + name[1:]
