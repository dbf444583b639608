"""Reads a calendar with icalendar (PyPI) and prints its events as JSON.

agenda.py FILE: each event with its title, its description and, in UTC, when it takes place up to forty times, by
dateutil and by the calendar's own time zones alone.
"""

import json
import sys
from datetime import timezone

import icalendar
from dateutil.rrule import rrulestr


def main():
    with open(sys.argv[1], "rb") as file:
        calendar = icalendar.Calendar.from_ical(file.read())
    zones = {str(zone["TZID"]): zone.to_tz(lookup_tzid=False) for zone in calendar.walk("VTIMEZONE")}
    events = []
    for event in calendar.walk("VEVENT"):
        assert not event.errors, event.errors
        start = event["DTSTART"]
        zone = zones[start.params["TZID"]]
        first = start.dt.replace(tzinfo=None)
        times = [first]
        if "RRULE" in event:
            rule = event["RRULE"]
            until = rule.get("UNTIL")
            if until:
                rule["UNTIL"] = [until[0].astimezone(zone).replace(tzinfo=None)]
            text = rule.to_ical().decode().replace("Z", "")
            times = [time for time, _ in zip(rrulestr(text, dtstart=first), range(40))]
        left_out = event.get("EXDATE", [])
        left_out = left_out if isinstance(left_out, list) else [left_out]
        left_out = {date.dt.replace(tzinfo=None) for dates in left_out for date in dates.dts}
        events.append(
            {
                "uid": str(event["UID"]),
                "title": str(event["SUMMARY"]),
                "about": str(event.get("DESCRIPTION", "")),
                "minutes": event["DURATION"].dt.total_seconds() / 60,
                "times": [
                    time.replace(tzinfo=zone).astimezone(timezone.utc).strftime("%Y-%m-%d %H:%M")
                    for time in times
                    if time not in left_out
                ],
            }
        )
    print(json.dumps(events))


main()
