"""What is left of a photograph that came from anywhere: its picture, and nothing else.

Words: a photograph is *plain* once it was decoded and drawn anew as a JPEG of bounded size: what a telephone wrote into
it (where and when it was taken, by which telephone, a smaller copy of it), what somebody hid in it or hung on to it,
and whatever else its file was, are gone.

Invariants: this room knows nothing of the register; it is called in a process that may die (`geometry.bounded`); it
gives a JPEG that we wrote ourselves, or a refusal that says what to do.
"""
