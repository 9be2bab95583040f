"""When will the socket in place be outgrown, and how sure are we?

`model/` is pure mathematics (its docstring is a page of it); this room loads what the register knows of a socket in
place, has it computed, and stores the answer with the model's version and a hash of its inputs, so that its record
can be judged later. A *forecast* belongs to a socket in place; the newest counts; one whose inputs have changed since
is marked as being worked on until its job has run. From it follows by when to act: *start by* keeps the chance of a
tight socket before the next arrives at what the site accepts, *measure by* is when a reading would help that decision
most (`acting.py`). When a socket comes off, what was forecast for it is judged: its *record* (`record.py`).
"""
