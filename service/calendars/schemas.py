"""Views of feeds."""

from __future__ import annotations

from datetime import datetime

from service.kit.schema import View


class FeedView(View):
    """Whether there is a feed, since when, and when it was last fetched."""

    stands: bool
    made_at: datetime | None
    fetched_at: datetime | None


class MadeFeed(View):
    """A new feed. `url` is shown this once: only a hash of it is kept."""

    url: str
