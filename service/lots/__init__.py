"""What parts are made of: spools of filament and batches of bought hardware, by lot.

Words: a *lot* is one spool or one batch, from one maker with one batch number, received on a day at a site, in some
quantity, with what is known of its safety (does it hold latex, what may touch the skin). It is *in use*, *used up*,
*held* (set aside until somebody has looked) or *withdrawn*.

Invariants: a lot's maker, batch and what it is never change once a part was made from it; a held or withdrawn lot goes
into nothing new; state changes say why.
"""
