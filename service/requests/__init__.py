"""All that is asked for, in one list: by a family, a volunteer, a coordinator, or by the forecast.

Words: a *request* asks for a first device, the next socket, replacement parts, an adjustment, a new colour or advice;
it is *open*, then *agreed* (somebody makes it), then *answered* (handed over) or *closed* (without, with the reason).
*Triage* says which comes first and why. The *waiting clock* runs from the day it was asked until it is answered and
stands still while somebody waits for the family. A *need* is what a request is about: one is open for each need at
most.

Invariants: exactly one open request for each need; the carer's own words are kept as they were; triage is a sentence
with its rank, and an overridden one says who decided and why; a request that the forecast opened closes by itself when
a new measurement takes the need away.
"""
