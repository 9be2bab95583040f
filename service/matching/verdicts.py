"""What a reason is: about what, which way it speaks, and a sentence. Pure."""

from __future__ import annotations

import enum
from dataclasses import dataclass


class Verdict(enum.StrEnum):
    """What a reason says: it fits, it stands in the way, or it is good to know."""

    FITS = "fits"
    IN_THE_WAY = "in_the_way"
    TO_KNOW = "to_know"


class Topic(enum.StrEnum):
    """What a reason is about."""

    SITE = "site"
    PRINTER = "printer"
    MATERIAL = "material"
    NOZZLE = "nozzle"
    COLOUR = "colour"
    TRAINING = "training"
    ABSENCE = "absence"
    HOURS = "hours"
    JOBS = "jobs"
    VETTING = "vetting"
    DISTANCE = "distance"
    ANSWER = "answer"
    CHECK = "check"


@dataclass(frozen=True)
class Reason:
    """One reason; `remedy` says what would make it fit, empty when nothing is in the way."""

    topic: Topic
    verdict: Verdict
    words: str
    remedy: str = ""


def fits(topic: Topic, words: str) -> Reason:
    """It fits."""
    return Reason(topic, Verdict.FITS, words)


def bars(topic: Topic, words: str, remedy: str) -> Reason:
    """It stands in the way, and what would make it fit."""
    return Reason(topic, Verdict.IN_THE_WAY, words, remedy)


def notes(topic: Topic, words: str) -> Reason:
    """It is good to know."""
    return Reason(topic, Verdict.TO_KNOW, words)
