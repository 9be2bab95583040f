"""Somebody who reads what is told, and the rule, and tries to work out a number that is not told.

It knows nothing of how the service protects its numbers: it reads what `ToldPopulation.as_data` gives (or whatever was
read from the API, brought into that shape), writes down every count as an unknown, with what is told of it and what
adds up to what, and has a constraint solver find the least and the greatest of each.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from ortools.sat.python import cp_model

ENDLESS = 100_000
"""No register holds more; stands in for "no upper end is told"."""

MORE = "more gone by "

Label = str
Equation = tuple[tuple[Label, ...], Label]
"""What adds up, and to what."""


@dataclass(frozen=True)
class Found:
    """A number that is not nothing, and all it may be."""

    label: Label
    least: int
    most: int

    def __str__(self) -> str:
        exactly = f"is {self.least}" if self.least == self.most else f"is {self.least} to {self.most}"
        return f"{self.label} {exactly}"


@dataclass
class Puzzle:
    """Unknown whole numbers, each with the least and the greatest it may be, and what adds up to what."""

    windows: dict[Label, tuple[int, int]] = field(default_factory=dict)
    equations: list[Equation] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.model = cp_model.CpModel()
        self.unknown = {label: self.model.new_int_var(*ends, label) for label, ends in self.windows.items()}
        for parts, whole in self.equations:
            self.model.add(sum(self.unknown[each] for each in parts) == self.unknown[whole])
        self.solver = cp_model.CpSolver()
        self.solver.parameters.num_workers = 1
        self.seen: dict[Label, set[int]] = {label: set() for label in self.windows}

    def least(self, label: Label) -> int:
        self.model.minimize(self.unknown[label])
        return self._solved(label)

    def most(self, label: Label) -> int:
        self.model.maximize(self.unknown[label])
        return self._solved(label)

    def value(self, label: Label) -> int:
        """In the answer last found."""
        return self.solver.value(self.unknown[label])

    def _solved(self, label: Label) -> int:
        outcome = self.solver.solve(self.model)
        assert outcome == cp_model.OPTIMAL, self.solver.status_name(outcome)  # else what is told contradicts itself
        for each, unknown in self.unknown.items():
            self.seen[each].add(self.solver.value(unknown))
        return self.value(label)

    def few(self, fewer_than: int) -> list[Found]:
        """The numbers other than nothing that may be fewer different counts than that."""
        found = []
        for label, window in self.windows.items():
            if window == (0, 0) or len(self.seen[label]) >= fewer_than:
                continue
            least, most = self.least(label), self.most(label)
            if sum(self._may_be(label, count) for count in range(least, min(most + 1, least + 50))) < fewer_than:
                found.append(Found(label, least, most))
        return found

    def _may_be(self, label: Label, count: int) -> bool:
        if count in self.seen[label]:
            return True
        only = self.model.clone()
        only.clear_objective()
        only.add(only.get_int_var_from_proto_index(self.unknown[label].index) == count)
        return self.solver.solve(only) in {cp_model.OPTIMAL, cp_model.FEASIBLE}


def said(count: int, threshold: int, base: int) -> int | str:
    """What the published rule says of a count."""
    if count == 0:
        return 0
    if count < threshold:
        return "small"
    multiples = [each for each in range(0, count + 2 * base, base) if each >= threshold]
    return min(multiples, key=lambda each: (abs(each - count), -each))


def window(told: int | str, threshold: int, base: int, withheld_from: int) -> tuple[int, int]:
    """The counts of which this would be said."""
    if told == "withheld":
        return withheld_from, ENDLESS
    near = range(threshold) if told == "small" else range(max(0, int(told) - 2 * base), int(told) + 2 * base)
    counts = [count for count in near if said(count, threshold, base) == told]
    assert counts, f"{told} is never said"
    return counts[0], counts[-1]


def puzzle(told: Mapping[str, Any], withheld_from: int = 1) -> Puzzle:
    """One population as told, as unknowns and equations.

    A withheld number is not nothing. Whoever guesses, rightly, that none is small takes them from the threshold.
    """
    windows: dict[Label, tuple[int, int]] = {}
    equations: list[Equation] = []

    def unknown(label: Label, count: int | str) -> Label:
        windows[label] = window(count, told["threshold"], told["base"], withheld_from)
        return label

    def named(table: str | None, row: str | None, column: str | None) -> Label:
        return " / ".join((table or "all", row or "all", column or "all"))

    columns = told["columns"]
    totals = [
        unknown(named(None, None, *pair[:1]), pair[1]) for pair in zip(columns, told["column_totals"], strict=True)
    ]
    equations.append((tuple(totals), unknown(named(None, None, None), told["total"])))
    for table in told["tables"]:
        inner = [
            [unknown(named(table["name"], row, column), count) for column, count in zip(columns, counts, strict=True)]
            for row, counts in zip(table["rows"], table["counts"], strict=True)
        ]
        for row, count, labels in zip(table["rows"], table["row_totals"], inner, strict=True):
            equations.append((tuple(labels), unknown(named(table["name"], row, None), count)))
        equations += [(labels, total) for labels, total in zip(zip(*inner, strict=True), totals, strict=True)]
    for each in told.get("sums", ()):
        equations.append((tuple(named(*cell) for cell in each["of"]), unknown(f"sum / {each['name']}", each["count"])))
    return Puzzle(windows, equations)


def curve(told: Mapping[str, Any]) -> Puzzle:
    """A survival curve as told: `things`, and `points` with `gone` and `at_least_at_risk`; with `threshold` and `base`.

    The worst reader knows that nobody was lost: the gone and the watched make up all, and the gone only grow.
    """
    rule = told["threshold"], told["base"], 1
    windows, equations = {"all": window(told["things"], *rule)}, list[Equation]()
    for at, point in enumerate(told["points"]):
        windows |= {f"gone {at}": window(point["gone"], *rule), f"watched {at}": (point["at_least_at_risk"], ENDLESS)}
        equations.append(((f"gone {at}", f"watched {at}"), "all"))
        if at:
            windows[f"{MORE}{at}"] = (0, ENDLESS)
            equations.append(((f"gone {at - 1}", f"{MORE}{at}"), f"gone {at}"))
    return Puzzle(windows, equations)


def found_out(
    populations: Iterable[Mapping[str, Any]], fewer_than: int = 2, curves: Iterable[Mapping[str, Any]] = ()
) -> list[str]:
    """What can be worked out of all that is told: numbers pinned to one count, or to fewer than so many."""
    return [
        f"{told.get('name', 'curve')}: {found}"
        for solve, many in ((puzzle, populations), (curve, curves))
        for told in many
        for found in solve(told).few(fewer_than)
        if not found.label.startswith(MORE)
    ]
