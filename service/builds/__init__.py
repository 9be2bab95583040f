"""What is being made for somebody: which parts at which scale, by whom, from which lots, and how far it is.

Words: a *build* answers one request; an *item* of it is a part to be made or bought, so many of it; a *print* is one go
at an item on a printer, which came out or failed for a reason; a *use* is what of a lot went into an item; a *round*
begins anew when a build is sent back.

Invariants: a state changes only by `rules.MOVES`, and each move is kept with who made it and when; nothing is removed,
a failed print is a fact; a request has one build that was not dropped; what came out counts until somebody says that
it was discarded, but a bench check counts for its round alone. Which moves are *allowed* is for `gate/` to say: nothing
here moves a build by itself once it is begun.
"""
