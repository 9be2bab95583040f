"""What a recipient wears: a device for one side and purpose, the socket in place in it, and the socks worn in that.

Words: a *device* lives on across sockets and is in use, spare or stopped (with a reason); a *socket in place* has a
day it was fitted and *limits*: the bare-limb size, per dimension, side and level, at which it is tight (`tight_at_mm`,
mm); a *sock report* says which plies were worn together on a day and how the socket fitted; *control settings* are a
dated list in the volunteers' own words.

Invariants: a device has at most one socket in place; sockets of a device do not overlap in time; a socket that came
off says why; a sock report belongs to the socket that was in place when it was recorded, and moves to another only when
it turns out that this one was worn that day. Nothing is removed: a socket recorded by mistake and a report that was
wrong are struck through, with who and why, and count no more. A limit that cannot be is refused; a surprising one is
stored only when somebody confirmed it, and marked.
"""
