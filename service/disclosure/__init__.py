"""Nobody can be picked out: what trustees are told of counts, and what is worked out from that.

A low, pure room: it knows nothing of the register. Whoever counts hands over a `Population` (the same people or things,
cut in several ways) and a `Rule`, and gets back what may be told of every cell.

Words: a count is *told* (to the nearest 5), or hidden because it is *small* ("fewer than 8"), or *withheld* because
another number could be worked out from it. Nothing is told as 0.

Invariant: counts are the only things told, and everything else is arithmetic on told counts. So what cannot be found
from the told counts cannot be found at all. Amounts (device-years, money, mean scores) are told coarsely, and of few
things not at all.

- `cuts`: exact counts; `rules`: what is told of one; `telling`: a population as told; `disclose`: from one to the other
- `system`, `audit`, `withholding`, `protecting`: what could be worked out, and what is withheld so that it cannot
- `figures`: shares, rates and differences; `amounts`; `curves`: how long things last; `ratios`: of hazards

What it does not see: people in two populations; the same population on another day; somebody who does the choice of
what to withhold over again and asks which counts would have led to it. What all of a group have in common is told where
the others are nothing ("10 of 10 stopped"), as nothing is told.
"""

from service.disclosure.cuts import EVERYBODY, Cell, Population, Sum, Table, counted
from service.disclosure.disclose import disclose
from service.disclosure.rules import Hidden, Rule, Told, Window
from service.disclosure.telling import ToldPopulation, ToldTable

__all__ = [
    "EVERYBODY",
    "Cell",
    "Hidden",
    "Population",
    "Rule",
    "Sum",
    "Table",
    "Told",
    "ToldPopulation",
    "ToldTable",
    "Window",
    "counted",
    "disclose",
]
