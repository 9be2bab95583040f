"""What devices are made of: every part in its place, with its version, scale and lots, on any day.

Words: a *part* is a thing with an identity, printed (a part version at two scales, in a material and a colour) or
bought (a motor, a line, a strap), and made from *lots*; a *place* is a stay of a part in a device, from a day until it
came off, with the reason. The socket in place is a part too when it was printed from a version the register holds: its
stay is that of the socket, so its days are written down once. The *assembly* of a device is what was in place on a
day.

Invariants: a part is in one place at a time and stays of it do not overlap; a part is made of lots that may be used;
a part that moves from one device to another keeps its identity, so that its lots are found on the limb that wore it,
day by day; nothing is removed, a place recorded by mistake is struck through.
"""
