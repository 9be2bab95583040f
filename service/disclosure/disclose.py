"""From exact counts to what may be told of them.

Small counts are hidden and the others rounded, each by itself. Then it is asked of every number that is not nothing
which counts it may be, given all that is told; one that may be fewer than three is protected by withholding another,
the one whose loss costs a reader least. Withheld is only what is not small, and the question assumes that everybody
knows that. Where small counts alone give each other away (six of a row's seven are not nothing, and it has fewer than
eight), one of them is withheld too, and a withheld number of that population may be any but 0.

What is withheld follows from what is told, never from the counts behind it: counts that are told alike stay alike. In
the end this cannot fail: with everything but the nothings withheld, one more person may be in any row.
"""

from __future__ import annotations

from service.disclosure.cuts import EVERYBODY, Cell, Population
from service.disclosure.protecting import Protecting
from service.disclosure.rules import Rule, Told
from service.disclosure.system import Place, system
from service.disclosure.telling import ToldPopulation, ToldTable


def disclose(population: Population, rule: Rule, *, secondary: bool = True) -> ToldPopulation:
    """What may be told. `secondary` False withholds nothing: for tests, to see that something is found then."""
    exact = population.exact()
    told: dict[Place, Told] = {cell: rule.tell(count) for cell, count in exact.items()}
    told |= {each: rule.tell(sum(exact[cell] for cell in each.of)) for each in population.sums}
    if secondary and exact[EVERYBODY]:
        work = Protecting(system(population, told), rule, told, population.keep)
        work.protect_all()
        told = work.told
    return ToldPopulation(
        name=population.name,
        columns=population.columns,
        tables=tuple(ToldTable(each.name, each.rows) for each in population.tables),
        sums=population.sums,
        rule=rule,
        told={place: each for place, each in told.items() if isinstance(place, Cell)},
        told_sums={each.name: told[each] for each in population.sums},
    )
