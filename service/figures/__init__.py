"""What trustees are told: does it do good, how surely is that known, and nobody can be picked out.

A *sheet* is everything that is told at once: it is worked out by a job up to the last day of a whole quarter, and then
kept as it is. Figures that moved from day to day would tell by their steps what each of them hides. A *section* of it
answers one question (still worn? how long a wait?). Its *tables* count people or things by one *cut* each, such as by
site; its *figures* are arithmetic on those tables as told, so they give away no more than the tables do. The report of
a year is the sheet of its last quarter.

Invariants: nothing told rests on a number that `disclosure` did not let through; there are no other cuts than those in
`cuts.py`; a sheet is never altered; exact figures are a coordinator's, of their own sites, and each look is on record.
Whoever took back their yes to being counted is counted by none of it but safety.
"""
