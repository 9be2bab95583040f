"""The fields of the files that are taken away, as a Table Schema has them. Pure."""

from __future__ import annotations

from typing import Final, NamedTuple


class Field(NamedTuple):
    """One column: its name, how people call it, its type in a Table Schema, and what it holds."""

    name: str
    title: str
    type: str
    description: str


_KEY: Final = Field("key", "Key", "string", "What is told of: the key of its definition in dictionary.csv.")
_CUT: Final = Field("cut", "Cut", "string", "By what `of` parts people or things, such as by site; empty for none.")
_OF: Final = Field("of", "Of", "string", "Whom or what it is about: everybody, or a row of the cut.")
_UNIT: Final = Field("unit", "Unit", "string", "The unit of the value and its interval; a share is between 0 and 1.")
_VALUE: Final = Field("value", "Value", "number", "The value as told; empty where it is not told.")
_LOW: Final = Field("low", "Low", "number", "The low end of its interval, 95 in 100 sure; empty where there is none.")
_HIGH: Final = Field(
    "high", "High", "number", "The high end of its interval, 95 in 100 sure; empty where there is none."
)
_HIDDEN: Final = Field(
    "suppressed", "Suppressed", "boolean", "Whether it is withheld, so that nobody can be picked out."
)
_METHOD: Final = Field("method", "Method", "string", "How it was worked out.")
_SECTION: Final = Field("section", "Section", "string", "The key of the section, as in sections.csv.")

FIGURES: Final = (
    _KEY,
    _CUT,
    _OF,
    _UNIT,
    _VALUE,
    _LOW,
    _HIGH,
    Field("n", "Rests on", "integer", "The count that it rests on, as told; empty where that is not told."),
    _HIDDEN,
    Field("why", "Why not", "string", "Why something is not told, in a sentence."),
    _METHOD,
    Field("as_of", "As of", "date", "The last day that is counted."),
    Field("said", "As read", "string", "The value as the page and the report say it."),
    Field("interval", "Interval as read", "string", "The interval as the page and the report say it."),
)
CURVE: Final = (
    _CUT,
    _OF,
    Field("unit", "Unit", "string", "The unit of `at`: months or weeks."),
    Field("count", "Count", "integer", "How many they are, as told; empty where that is not told."),
    Field("at", "At", "integer", "How long after the beginning."),
    Field("value", "Value", "number", "The share (0 to 1) that has not ended by then; empty where it is not told."),
    _LOW,
    _HIGH,
    Field("n", "Followed", "integer", "At least so many are still followed."),
    _METHOD,
)
COMPARED: Final = (
    _KEY,
    _OF,
    Field("against", "Against", "string", "What it is compared with."),
    Field("value", "Ratio", "number", "How many times as fast it ends; empty where it is not told."),
    _LOW,
    _HIGH,
    Field("p", "p", "string", "The log-rank test's p, as told."),
    _HIDDEN,
    Field("said", "As read", "string", "The ratio with its interval, as the page and the report say it."),
    Field("verdict", "Verdict", "string", "What it means, in a sentence."),
)
RUN: Final = (
    Field("quarter", "Quarter", "string", "The quarter."),
    _UNIT,
    _VALUE,
    Field("said", "As read", "string", "The value as the page and the report say it."),
    Field("mean", "Mean", "number", "The mean of all quarters; empty where there are too few."),
    Field("low", "Lower natural limit", "number", "The least that is usual; empty where there are too few quarters."),
    Field("high", "Upper natural limit", "number", "The most that is usual; empty where there are too few quarters."),
)
FINDINGS: Final = (
    _KEY,
    Field("finding", "Finding", "string", "What is more than the usual ups and downs, or why not."),
)
SECTIONS: Final = (
    Field("key", "Key", "string", "The key of the section."),
    Field("title", "Title", "string", "Its title."),
    Field("lead", "Answer", "string", "What it answers, in sentences."),
)
NOTES: Final = (_SECTION, Field("note", "Note", "string", "What to bear in mind when reading the section."))
DICTIONARY: Final = (
    Field("key", "Key", "string", "The key of a figure."),
    Field("title", "Title", "string", "What it is called."),
    Field("unit", "Unit", "string", "The unit of its value; a share is between 0 and 1."),
    Field("population", "Population", "string", "Who or what is in it."),
    Field("denominator", "Divided by", "string", "What it is divided by."),
    Field("missing", "Missing", "string", "What is not in it, and which way that leans."),
    Field("method", "Method", "string", "How it is worked out, and how it is told."),
)

FILES: Final = (
    ("figures/", FIGURES),
    ("curves/", CURVE),
    ("comparisons/", COMPARED),
    ("runs/, of one figure", RUN),
    ("runs/, findings", FINDINGS),
    ("sections.csv", SECTIONS),
    ("notes.csv", NOTES),
    ("dictionary.csv", DICTIONARY),
)
"""Which files have which fields; those of tables/ have a field for each column of the table."""
