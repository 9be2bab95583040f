"""By when somebody who asks what is known of them is answered.

Source: Information Commissioner's Office (UK), guidance on the right of access: the corresponding date of the next
month; where there is none, the last day of that month; where that is a weekend, the next working day.
"""

from __future__ import annotations

from datetime import date

import pytest

from service.family.rules import answer_by


@pytest.mark.parametrize(
    ("asked", "answered"),
    [
        (date(2025, 9, 3), date(2025, 10, 3)),  # the guidance's own example: 3 September, so 3 October
        (date(2026, 3, 31), date(2026, 4, 30)),  # April has no 31st
        (date(2027, 1, 31), date(2027, 3, 1)),  # 28 February 2027 is a Sunday
        (date(2028, 1, 31), date(2028, 2, 29)),  # a leap year
        (date(2026, 9, 3), date(2026, 10, 5)),  # 3 October 2026 is a Saturday
        (date(2026, 12, 15), date(2027, 1, 15)),
    ],
)
def test_the_same_date_next_month(asked, answered):
    assert answer_by(asked) == answered
