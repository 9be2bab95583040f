"""The gate: what has to be true before something made here reaches a limb, who checks it, and what alone lifts a block.

Words: a *block* stands in the way of a move, with why, and what lifts it; a *check* is a signed list of *findings*, on
the bench, at a fitting or afterwards; an *acceptance* is a clinician's written word on one block of one build; a *site
rule* is what the trustees of a site recorded, with a name under it.

Invariants: `blocks.LIFTS` is the one table of what lifts what, and nothing else does; blocks are worked out from the
facts each time a build is moved, never stored, so that a consent withdrawn after the bench check still stops it; the
bench check is signed by somebody who made nothing of the build, and holds for one round of it; a failed finding sends
the build back. The register supports judgement, it does not replace it: local rules and licensed practice go first.
"""
