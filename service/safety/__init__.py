"""Harm and near-harm, what is seen on the skin, and worries about a child that only one person may read.

Words: an *incident* is harm, near-harm, a malfunction or something on the skin; a *named person* judges how serious it
is, and any regulatory clock runs from the day the charity became aware; a *review* asks a clinician or the coordinator
to look within so many days; a *concern* is a safeguarding worry, for the safeguarding lead alone.

Invariants: there is one table of what is said about the skin, the same on family pages, checks and follow-ups, and it
says when to stop wearing a device; a concern leaves no trace in the case, in its history, in the audit others read or
in messages. Orientation only: local rules and licensed practice decide.
"""
