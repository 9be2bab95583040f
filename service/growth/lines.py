"""Forecasts as a stream: JSON lines in, JSON lines out, in order and in constant memory, over every core."""

from __future__ import annotations

import json
import os
from collections import deque
from collections.abc import Iterable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from itertools import chain, islice

from pydantic import ValidationError

from service.growth.schemas import ForecastCase
from service.growth.stateless import answer
from service.web.validation import field_errors

BATCH = 200
"""Lines handed to a core at a time; a file no longer than this is answered without starting others."""

LONGEST_ECHO = 100
"""Characters of a case's id that are repeated beside what was wrong with it."""

Answered = tuple[str, bool]
"""A line of JSON, and whether it is a forecast (True) or says what was wrong with its case (False)."""


def answer_lines(lines: Iterable[bytes], *, cores: int | None = None) -> Iterator[Answered]:
    """Answer each line that is not blank; each is a case, or an object whose member `case` is one."""
    numbered = ((number, line) for number, line in enumerate(lines, start=1) if line.strip())
    first = list(islice(numbered, BATCH))
    more = next(numbered, None)
    if more is None:
        yield from _answer_batch(first)
        return
    yield from _in_parallel(chain(first, [more], numbered), cores or os.cpu_count() or 1)


def _in_parallel(numbered: Iterator[tuple[int, bytes]], cores: int) -> Iterator[Answered]:
    running: deque[Future[list[Answered]]] = deque()
    with ProcessPoolExecutor(cores) as pool:
        while batch := list(islice(numbered, BATCH)):
            running.append(pool.submit(_answer_batch, batch))
            if len(running) > 2 * cores:  # a bound on what waits in memory
                yield from running.popleft().result()
        while running:
            yield from running.popleft().result()


def _answer_batch(batch: list[tuple[int, bytes]]) -> list[Answered]:
    return [_answer_line(number, line) for number, line in batch]


def _answer_line(number: int, line: bytes) -> Answered:
    case_id = None
    try:
        given = json.loads(line.decode("utf-8-sig"))  # a byte order mark may stand before the first
        given = given["case"] if isinstance(given, dict) and "case" in given else given
        case_id = given.get("case_id") if isinstance(given, dict) else None
        return answer(ForecastCase.model_validate(given)).model_dump_json(ensure_ascii=True), True
    except ValidationError as error:
        problems = [f"{each.field}: {each.message}" for each in field_errors(error.errors())]
    except (ValueError, RecursionError):
        problems = ["This line is not JSON in UTF-8. Each line must be one case, written as a JSON object."]
    return json.dumps(
        {
            "case_id": str(case_id)[:LONGEST_ECHO] if case_id is not None else None,
            "line": number,
            "error": "; ".join(problems),
        }
    ), False
