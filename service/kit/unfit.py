"""A file that cannot be taken."""

from __future__ import annotations


class Unfit(Exception):
    """The file is not what it says, is damaged, or is too much; `message` says what is wrong and what to do."""

    def __init__(self, message: str) -> None:
        super().__init__(message)
        self.message = message
