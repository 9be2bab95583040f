"""A family's own pages, behind a personal link: something broke, it is getting tight, it hurts, where is my request.

Words: a *link* belongs to one contact of one recipient; its random text is kept as a hash, it ends on a day, can be
revoked, and is sent again only to the contact on record. Before anything personal is shown the month and year of birth
are asked once in each browser.

Invariants: no surname, address or diagnosis is shown; everything works without script; a link that is wrong, old,
revoked or somebody else's answers the same 404, which still says when to stop wearing a device and whom to ring; search
engines and referrers learn nothing; words a family reads come from the catalogue of its language.
"""
