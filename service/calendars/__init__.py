"""Days that matter to one person, as a calendar that a telephone fetches by a secret link (RFC 5545).

Words: a *feed* belongs to an account; its random text is kept as a hash, and a new one ends the one before; an *entry*
is a whole day with a sentence and the page it leads to.

Invariants: no name of a recipient, no case number, no diagnosis and no address is in a feed, for it leaves the
register; what is in it is what the account may see today; a feed that is wrong, ended or of a closed account is
answered alike, and noted.
"""
