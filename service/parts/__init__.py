"""What can be printed: part designs and their versions, and the shapes of limbs that sockets are made from.

Words: a *part design* (palm, finger, wrist coupling …) has *part versions*, numbered, each with one file, which is read
when it comes in. A *shape* is a cast or a scan of one recipient's limb; a *socket version* derives from a shape and is
private to that recipient. A version is a draft, then released, then perhaps withdrawn, with a reason. *Fixed features*
are what must not scale: bores, holes, channels, pockets, couplings. An *interface* is a letter or a word: what carries
the same one mates.

Invariants: a version that was released never changes (the database refuses it); one that was withdrawn is never
released again; shapes and private versions are seen only with the case and never listed among designs; a file is kept
once, under the hash of its content.

Beside the files every room has: `upload.py` and `browsing.py` take files in, from programs and from pages, before the
transaction of the act opens; `downloads.py` hands them out after it has closed; `keeping.py` is what the acts on
versions share, `rows.py` what the queries do; `at_scale.py` says what follows from two scales for printing.
"""
