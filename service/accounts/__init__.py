"""People who sign in: sites, accounts with their roles, sessions, API tokens.

Invariants: a password is kept only as an argon2 hash; a session or a token only as a hash of its random text; both
can be ended at once; an address signs in one account; every account belongs to at least one site.
"""
