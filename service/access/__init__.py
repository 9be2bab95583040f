"""The vocabulary of permission: what may be done, who acts, and the one table that joins the two.

It imports no slice. A slice declares what each use case needs with `@usecase(May.X)`; which rows somebody may see is
decided in that slice's queries.
"""
