"""What families read, in their language: on their pages, and in what is sent to them.

Words: a *language* is a file in `locale/`, `nl.po` is all there is to Dutch; a *sentence* is looked up by its English.

Invariants: the room knows nothing of the register, so that whatever speaks to a family may use it; a sentence that a
file lacks is said in English.
"""
