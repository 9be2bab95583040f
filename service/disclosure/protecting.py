"""Number by number: is it safe, and if not, what else is withheld."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from service.disclosure.audit import Audit
from service.disclosure.cuts import Cell
from service.disclosure.rules import WITHHELD, Hidden, Rule, Told
from service.disclosure.system import Place, System
from service.disclosure.withholding import Choice, cheapest_help, losses


class Protecting:
    """A population on its way: what is told so far, and what can be worked out from it. It sees no true count."""

    def __init__(self, of: System, rule: Rule, told: dict[Place, Told], keep: tuple[str, ...] = ()) -> None:
        self.system, self.rule, self.told = of, rule, told
        self.withheld_from = rule.threshold
        windows = [rule.window(told[place]) for place in of.places]
        least = np.array([each.low for each in windows])
        self.small = np.array([told[place].hidden is Hidden.SMALL for place in of.places])
        self.loss = losses(of.places, least, self.small, keep)
        # A withheld number has no upper end; one that is far above all that are told stands in for it.
        self.endless = max(each.high or 0 for each in windows) + 100 * rule.base
        self.audit = Audit(of, least, np.array([each.high or self.endless for each in windows]))

    def protect_all(self) -> None:
        """Number by number: what is safe stays safe while more is withheld, so once through is enough."""
        self.audit.look_about(np.random.default_rng(0))
        for at in self.audit.unsure().tolist():
            while (pinned := self.audit.pinned(at)) is not None and self._protect(at, pinned):
                pass

    def _protect(self, at: int, pinned: tuple[int, int]) -> bool:
        """Withhold what widens a number's range at least loss: something that is not small, else a small count too.

        Where nothing is found to help, all of its table is withheld, then everything. False if everything is already.
        """
        kept = self._told_or_small()
        for low, may in ((self.withheld_from, kept & ~self.small), (1, kept)):
            reach = self.rule.threshold + 4 * self.rule.base
            found = cheapest_help(self.audit, at, pinned, Choice(may, low, reach, self.loss))
            if found is not None and found.withheld:
                self._withhold(found.withheld, low)
                self.audit.note(found.counts)
                return True
        place = self.system.places[at]
        table = place.table if isinstance(place, Cell) else None
        beside = [isinstance(each, Cell) and table is not None and each.table == table for each in self.system.places]
        those = np.flatnonzero(kept & np.array(beside))
        self._withhold((those if len(those) else np.flatnonzero(kept)).tolist(), 1)
        return bool(kept.any())

    def _told_or_small(self) -> NDArray[np.bool_]:
        return np.array([self.told[place].hidden is not Hidden.WITHHELD for place in self.system.places])

    def _withhold(self, those: Iterable[int], low: int) -> None:
        """Withhold numbers; `low` is the least that any withheld number of the population may be from now on."""
        self.withheld_from = low
        for at in those:
            self.told[self.system.places[at]] = WITHHELD
        withheld = ~self._told_or_small()
        self.audit.high[withheld] = self.endless
        self.audit.low[withheld] = low
