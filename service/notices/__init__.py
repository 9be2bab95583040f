"""A fault found anywhere, traced to every limb: safety notices on a part version, a lot, or a printer between two days.

Words: a *notice* says which parts and why, and what to do; a part is *affected* when it is of that version, made from
that lot, or came off that printer on those days; a notice *remains* with each device that is worn or kept as a spare
and still holds an affected part; it is *told*, *answered* and *replaced*.

Invariants: while a notice is open, nothing that it affects is cleared, delivered or fitted, and nothing new is begun of
it; it is closed only when no device holds an affected part any more; every family is told once, in the transaction
that opens it, whether or not anybody answers.
"""
