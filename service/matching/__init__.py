"""Who makes what: reasons for and against each volunteer, the plan for all open requests at once, and the offers.

Words: a *candidate* is a volunteer beside a request, with *reasons* (what fits, what stands in the way, what would make
it fit) and a *cost*; a *plan* assigns requests to volunteers at the least total cost, says whether that is proved
least, and by how much at most it is not (*gap*); an *offer* asks a volunteer, who accepts or declines it with a tap, or
lets it lapse; an accepted offer is an *assignment*.

Invariants: eligibility is a list of reasons, never a silent filter; an accepted or started job never moves by itself;
what a volunteer is shown of a job is what they need for it: no surname, no address before they deliver.
`model/` is mathematics only.
"""
