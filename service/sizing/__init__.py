"""How big should the next socket be?

A socket is printed from a *base* file, scaled *across* (girths, breadths) and *along* (lengths, and where each level
lies): girth grows, a short forearm hardly lengthens, so the two are never one factor. Words: the *inside profile* is
the base's inside girth at levels along its axis (mm); the *last print* is the base at the scales worn now; *room* is
what the inside leaves beside the bare limb and the liner; *day one* is the day the next socket is fitted.

The base is the file of the version that the socket worn now was printed from. Where the register does not hold it, that
socket itself stands for it, by the sizes at which it is tight; scales are then beside that print only. A version can
also be laid beside the limb before anybody prints it.

Invariants: a size is proposed only from levels at which the limb was measured and the inside is known; what is missing
is said and asked for. Nothing is stored: the size is worked out anew from what is known on the day.
`model/` is mathematics only.
"""
