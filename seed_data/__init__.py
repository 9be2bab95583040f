"""The demo register's data and the script that makes it: an invented charity and ninety-four invented people.

`cast.csv` is written by hand: who they are and what their story shall be. `python -m seed_data.make` gives each a
growing body and a history that fits the story, and writes `register.json`. Nothing in it is a date: everything
happened so many days ago, so the demo is never old. The random seed is fixed: the same cast gives the same file.

What is printed stands in `library.toml`, what lies on the shelves in `lots.csv`, both by hand too; what devices were
made of follows from fittings, chance and these. The files of parts, limbs and sockets are drawn by numbers when a demo
is made (`drawings.py`), so none is kept here; `register.json` says what is drawn, with which arguments.

What families asked for is told by hand in `asking.toml`, what was made for them, checked, held up and handed over in
`building.toml`, what went wrong over the years in `troubles.toml`, person by person. Requests of the years before that
follow from what broke and what was fitted (`past.py`).

Columns of `cast.csv`: `age` in years; `years` since the family first asked; `fitted`, days since the socket in place
was fitted; `due`, days until the limb truly reaches its tight-at (negative: it has; empty: not for years); `tags`,
turns of the story, each read in exactly one place of this package; `notes`, as a coordinator would write them.

Of two versions of a coupling the second lasts exactly twice as long (`wear.py`): whoever asks the register finds about
that. One site entered its parts late (`entering.py`), so it knows nothing of what had come off before.

Columns of `lots.csv`: `key`, what the story calls it; `used_for`, the kind of bought part it is, empty for filament;
`ago` and `ended`, days since it came and since it was no longer in use, then `state` and `why`; `learned`, that it
holds latex after all. A test holds spools to the plastic they held.
"""
