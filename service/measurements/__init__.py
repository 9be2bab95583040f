"""Dated sessions of readings taken from a recipient.

Words: a *session* is one visit, letter or message with its *readings*; a *reading* is one dimension on one side,
at one level if it is a girth, taken one to three times; its *value* is the median, its *spread* the range.

Invariants: a reading is never changed: a correction strikes it through, with who and why, and puts a new one beside
it; an impossible value is refused; a surprising one is stored only when somebody confirmed it, and marked.
"""
