"""A calendar as the standard wants it.

Source: RFC 5545 (iCalendar): 3.1 lines end in CRLF and are folded at 75 octets; 3.6 PRODID and VERSION are required;
3.6.1 so are UID and DTSTAMP of each event; 3.8.2.2 the end of whole days is the day after the last, not included;
3.3.11 commas, semicolons and backslashes in text are escaped.
"""

from __future__ import annotations

from datetime import UTC, date, datetime

import icalendar

from service.calendars.rules import Entry, as_calendar

NOW = datetime(2026, 3, 2, 9, 30, tzinfo=UTC)
LONG = "Ein Tag mit vielen Wörtern, mit Kommata; mit Strichpunkten und mit \\ Strichen, damit die Zeile umbrochen wird"
ENTRIES = [
    Entry("job-7", date(2026, 3, 12), LONG, "/assignments"),
    Entry("away-3", date(2026, 3, 20), "Away", "/volunteering", date(2026, 3, 24)),
]
MADE = as_calendar(ENTRIES, name="A charity", base_url="https://hands.example.org", now=NOW)


def test_lines_end_in_crlf_and_have_75_octets_at_most():
    assert MADE.endswith(b"\r\n")
    lines = MADE.split(b"\r\n")
    assert b"\n" not in b"".join(lines)
    assert b"\r" not in b"".join(lines)
    assert max(map(len, lines)) <= 75


def test_what_is_required_is_there():
    text = MADE.replace(b"\r\n ", b"").decode()
    assert text.startswith("BEGIN:VCALENDAR\r\n")
    assert "\r\nVERSION:2.0\r\n" in text
    assert "\r\nPRODID:" in text
    assert text.count("\r\nUID:") == text.count("\r\nDTSTAMP:20260302T093000Z\r\n") == 2
    assert "\r\nUID:job-7@hands.example.org\r\n" in text


def test_whole_days_end_on_the_day_after():
    text = MADE.replace(b"\r\n ", b"").decode()
    assert "DTSTART;VALUE=DATE:20260320\r\nDTEND;VALUE=DATE:20260325\r\n" in text
    assert "DTSTART;VALUE=DATE:20260312\r\nDTEND;VALUE=DATE:20260313\r\n" in text


def test_text_is_escaped_and_comes_back_as_it_was():
    unfolded = MADE.replace(b"\r\n ", b"").decode()
    assert r"Wörtern\, mit Kommata\; mit Strichpunkten und mit \\ Strichen" in unfolded
    (first, _) = icalendar.Calendar.from_ical(MADE).walk("VEVENT")
    assert str(first["summary"]) == LONG
