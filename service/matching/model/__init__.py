"""The mathematics of a plan: numbers in, an assignment out; no clock, no database.

`problem` says what a plan is made from and what one costs; `solve.least_plan` finds the least. First each job goes to
a seat, as a linear assignment (`seats`): where nobody's jobs are in each other's way that is the plan, proved.
Elsewhere a programme gives each worker one set of jobs (`columns`, over the sets that `bundles` lists). `greedy` is
what one would do by hand, to begin from and to compare with.
"""
