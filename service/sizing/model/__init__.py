"""The mathematics of the next size: no clock, no database.

At scales a (across) and l (along) of a base whose inside girth is b at each level, the inside at limb level x is
a * b(x / l), straight between known levels. A layer t mm thick (a liner, socks) takes 2 * pi * t of a girth and 2 * t
of a breadth. The socket fits on day one, with a set of socks, if at every place

    |a * b - limb - liner - socks| <= FIT_TOLERANCE_MM of girth    and    a * b >= limb + liner,

which bounds a from both sides for each set of socks (`fit.py`). The socket is outgrown when the bare limb and the
liner reach the inside anywhere: first passage over the forecast's paths (`wear.py`). A limb that is no scaled copy of
the base any more, beyond what the tape cannot tell, needs a new shape (`shape.py`). `hand.py` sizes a hand by
the sound one.
"""
