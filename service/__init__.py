"""Handspan: a register of upper-limb devices that knows when the next socket is due.

The register is a loop: a measurement moves the forecast, the forecast asks for a socket, the socket is worn and
measured again. Each package below is one room of it; `DEVELOPERS.md` has the map and the order of the rooms.
"""
