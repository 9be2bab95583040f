"""From the bench to the limb: three facts with three dates, and what follows from each.

Words: *delivered* is at the door or by post; *fitted* is put on and checked by somebody entitled to, or by the family
with the guided check and somebody on the telephone; *worn* is after the first days. A *follow-up* is a day on which
somebody asks how it goes. The *passport* of a device is what its family keeps: parts, lots, limits, cautions, contacts.

Invariants: only *fitted* changes parts in place, all of them in one transaction, and only after the gate was passed; a
fitting that fails changes none, and sends the build back with what was found; the skin is looked at after twenty
minutes of wearing and not before; who sends the same twice has recorded it once.
"""
