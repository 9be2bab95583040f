"""From exact counts to what may be told of them."""

from __future__ import annotations

from service.disclosure.cuts import Population
from service.disclosure.rules import Rule
from service.disclosure.telling import ToldPopulation, ToldTable


def disclose(population: Population, rule: Rule) -> ToldPopulation:
    """Small counts hidden, the others rounded, each by itself; that nothing can be worked out is not yet seen to."""
    exact = population.exact()
    return ToldPopulation(
        name=population.name,
        columns=population.columns,
        tables=tuple(ToldTable(each.name, each.rows) for each in population.tables),
        sums=population.sums,
        rule=rule,
        told={cell: rule.tell(count) for cell, count in exact.items()},
        told_sums={each.name: rule.tell(sum(exact[cell] for cell in each.of)) for each in population.sums},
        withheld_from=rule.threshold,
    )
