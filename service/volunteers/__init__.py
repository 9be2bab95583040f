"""Who makes and fits: where roughly, with which printers and materials, when, and what they are vetted for.

Words: a *volunteer* belongs to a site and lives near a *town*; a *printer* has a usable volume and a nozzle; *stock* is
what they have on hand, by lot where it is known; an *absence* is days away; *training* is what they may do; a *vetting*
is a safeguarding check with a day when its review is due by policy: it does not expire by law; a *visit* says who was
there, with which guardian.

Invariants: nobody but the volunteer and the coordinators of the site is shown where they are more exactly than 5 km;
a vetting that is due for review is never called expired.
"""
