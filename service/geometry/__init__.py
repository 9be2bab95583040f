"""What a shape in a file is like: its size, walls and inside, and whether a child could choke on it.

Words: a *mesh* is a surface of triangles, in mm once its unit is known; *across* and *along* are the two scales a part
is printed at, along its own *axis* and square to it; the *inside profile* is the inner girth of a socket at levels
along that axis. A file comes from anywhere, so it is read in a process of its own, with bounds on time and memory, and
what is odd about it comes back as sentences.

From the outside in: `reading` is what other rooms ask; `bounded` keeps the processes; `nursery` is the one that forks a
child for each file, and `frames` what they say to each other; `job` is what a child does, from `stl` or `three_mf`
(`package`, `model_part`) by way of `units` to the figures; `writing` makes a 3MF. `limits` has every bound. Photographs
(`pictures`) come from anywhere too, and are decoded by the same children.

Invariants: this room knows nothing of the register; lengths are mm; whoever reads a file here gets figures or a refusal
that says what is wrong with it, never a crash; nothing that a file shaped is unpickled, run or written to a disk.
"""
