"""When will the socket in place be outgrown, and how sure are we?

`model/` is pure mathematics (its docstring is a page of it); this room loads what the register knows of a socket in
place, has it computed, and stores the answer with the model's version and a hash of its inputs, so that its record
can be judged later. A *forecast* belongs to a socket in place; the newest counts; one whose inputs have changed since
is marked as being worked on until its job has run.
"""
