# ruff: noqa: T201 - a script prints
"""How long the demo takes to make, and where the time goes: `python -m tests.benchmarks.demo`.

The files it draws are read by other processes meanwhile; with two processors free they keep ahead of the story.
"""

from __future__ import annotations

import os
import tempfile
import time
from collections import Counter
from contextlib import closing
from pathlib import Path
from zoneinfo import ZoneInfo

from service import demo
from service.demo.story import read_story
from service.kit.clock import clock_in
from service.kit.db import Database
from service.kit.files import Files
from service.migrate import upgrade
from service.settings import Settings


def main() -> None:
    """Make a demo in a folder that is thrown away, and print what it took."""
    events = Counter(event["what"] for person in read_story() for event in person)
    drawn = sum("drawn" in event for person in read_story() for event in person)
    with tempfile.TemporaryDirectory() as folder:
        settings = Settings(data=Path(folder), database_url=None, files_url=None)
        upgrade(settings.database)
        with closing(Database(settings.database)) as db:
            wall, processor = time.perf_counter(), time.process_time()
            demo.build(db, clock_in(ZoneInfo("UTC")), Files(settings.files))
            wall, processor = time.perf_counter() - wall, time.process_time() - processor
        size = sum(path.stat().st_size for path in Path(folder).rglob("*") if path.is_file())
    load, _, _ = os.getloadavg()
    print(f"made in {wall:.1f} s, of which this process worked {processor:.1f} s; load of the machine {load:.1f}")
    print(f"{events.total()} events, {drawn} files read, {size / 1e6:.1f} MB kept")


if __name__ == "__main__":
    main()
