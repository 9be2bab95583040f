"""How much of a file is read before it is refused. A printed part is far below each of these."""

from __future__ import annotations

MOST_BYTES = 64 * 1024 * 1024  # of a file; the edge lets no more in than that either
MOST_TRIANGLES = 2_000_000
MOST_CORNERS = 3 * MOST_TRIANGLES  # as many as triangles could use

MOST_ENTRIES = 1_000  # of a zip
MOST_UNPACKED = 512 * 1024 * 1024  # what all entries of a zip say they hold; bytes
MOST_XML = 320 * 1024 * 1024  # of one model in it: two million triangles take about half of that; bytes
MOST_LIST = 1024 * 1024  # of the list of what belongs together; bytes
MOST_TIMES_SMALLER = 250  # how well an entry may be packed; models are packed five to thirty times smaller
PACKED_ANYHOW = 4 * 1024 * 1024  # an entry that holds less than this may be packed as well as it likes; bytes

MOST_DEEP = 32  # of elements inside each other, and of objects made from objects
MOST_OTHER_ELEMENTS = 4 * MOST_TRIANGLES  # besides corners and triangles: places on a picture, colours
MOST_OBJECTS = 10_000  # made or put somewhere, in one model
LONGEST_WORD = 1024 * 1024  # a name, a value or a comment; bytes
MOST_PARTS = 64  # models in one 3MF
MOST_PIECES = 2_000  # objects to print, each placed where it goes

FARTHEST_MM = 5_000.0  # from the origin, as an axis may be (answers.Coordinate)
SMALLEST_MM = 0.1  # the longest edge of what a printer could make at all

MOST_FIGURES = 8 * 1024 * 1024  # of an answer in JSON; bytes
MOST_ANSWER = 256 * 1024 * 1024  # of an answer's file or picture; bytes
