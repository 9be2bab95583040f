"""The person who wears a device, of any age, and those who speak for them.

Words: *case number* (six random digits and a check digit, readable over the phone); *limb*, one per affected side;
*contact*, a guardian or other family contact, with or without parental responsibility; *consent* by a person for a
purpose, and a child's own *assent*; *suitability*, a clinician's note before the first device; *helper*, a volunteer
asked to help with this case.

Invariants: a case belongs to one site; nobody outside that site sees it; of that site's volunteers only its helpers
do; a closed case has a reason; nothing is deleted.
"""
