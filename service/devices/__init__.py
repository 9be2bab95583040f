"""What a recipient wears: a device for one side and purpose, the socket in place in it, and the socks worn in that.

Words: a *device* lives on across sockets and is in use, spare or stopped (with a reason); a *socket in place* has a
day it was fitted and *limits*: the bare-limb size, per dimension, side and level, at which it is tight (`tight_at_mm`,
mm); a *sock report* says which plies were worn together on a day and how the socket fitted; *control settings* are a
dated list in the volunteers' own words.

Invariants: a device has at most one socket in place; sockets of a device do not overlap in time; a socket that came
off says why; a sock report belongs to a device and counts for the socket in place that day.
"""
