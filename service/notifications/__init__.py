"""Messages to people: written in the transaction of what they tell of, sent afterwards, once.

Words: a *message* goes to one person, by *mail*, or as a *call* or a *letter* for somebody at the charity to make when
the person has no mail; it is *waiting*, *sent*, *done* (a call was made), *failed* or *dropped*. Its *key* says what it
is about, so that the same thing is told once.

Invariants: a message carries no diagnosis, no limb, no family name and no address; a safety message says to stop using
it and whom to ring; nobody who can be reached only by telephone is left in silence: a call waits on the work list.
"""
