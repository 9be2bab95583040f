"""What parts are made of: spools of filament and batches of bought hardware, by lot.

Words: a *lot* is one spool or one batch, from one maker with one batch number, received on a day at a site, in some
quantity, with what is known of its safety (does it hold latex, what may touch the skin). It is *in use*, *used up*,
*held* (set aside until somebody has looked) or *withdrawn*. What it is *called by* is what it is, its colour, maker and
batch: the words on the label.

Invariants: what a lot is called by never changes, for parts are traced by it; one that was mistyped is withdrawn with
that reason and recorded anew. A site has no two lots called alike. Only a lot in use goes into something new; one that
was withdrawn is held before it is used again; changes of state say why, and the audit keeps each.
"""
