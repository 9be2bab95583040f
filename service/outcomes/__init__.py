"""How people get on with what they wear: follow-ups of a device, and the recipient's own goals.

Words: an *ask* is a day on which it is asked how somebody gets on with a device, counted from the day the device was
first fitted; an *answer* is what was said then, or that somebody declined; a *try* is that nobody was reached. An ask
is *lost* once it was open too long without an answer. A *goal* is the recipient's own, agreed beforehand with five
levels in words; a *score* is the level that was reached, in somebody's own judgement.

Invariants: where an ask stands is worked out, never stored, so one that nobody answered is counted and not forgotten;
every question may be skipped; harm and a lot of pain open what `safety/` has for them, in the same transaction; what
is said never alters a device by itself; a goal that was scored is not altered; of a licensed questionnaire only the
score is kept, never what it asks.

A check of a build is another thing (`handovers/`): there a volunteer looks at the skin and at what was made.
"""
