"""Reads a calendar file with the package icalendar, and tells each event in one line.

    python reference/calendar_check.py FILE

Exits with 1 if the file is no calendar (RFC 5545), or an event lacks what it must have.
"""

import sys

from icalendar import Calendar


def main(file):
    with open(file, "rb") as content:
        calendar = Calendar.from_ical(content.read())
    seen = set()
    for event in calendar.walk("VEVENT"):
        uid, begins, ends = str(event["UID"]), event.decoded("DTSTART"), event.decoded("DTEND")
        if event.errors or uid in seen or ends <= begins or "DTSTAMP" not in event:
            print(f"{uid}: {event.errors}")
            return 1
        seen.add(uid)
        print(uid, begins.isoformat(), ends.isoformat(), event["SUMMARY"])
    return 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
