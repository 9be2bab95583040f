"""The demo register's data and the script that makes it: an invented charity and sixty invented people.

`cast.csv` is written by hand: who they are and what their story shall be. `python -m seed_data.make` gives each a
growing body and a history that fits the story, and writes `register.json`. Nothing in it is a date: everything
happened so many days ago, so the demo is never old. The random seed is fixed: the same cast gives the same file.

Columns of `cast.csv`: `age` in years; `years` since the family first asked; `fitted`, days since the socket in place
was fitted; `due`, days until the limb truly reaches its tight-at (negative: it has; empty: not for years); `tags`,
turns of the story, each read in exactly one place of this package; `notes`, as a coordinator would write them.
"""
