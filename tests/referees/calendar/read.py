# A calendar file from the standard input, its events as JSON, each time twice in UTC: as the zone's
# name says it ("named"), and as the file's own VTIMEZONE says it ("explained").
# Belongs here: reading it by another library. Does not belong here: what it should say.
import json
import sys
from datetime import timezone

import icalendar

calendar = icalendar.Calendar.from_ical(sys.stdin.buffer.read())
zones = {zone.tz_name: zone.to_tz(lookup_tzid=False) for zone in calendar.timezones}


def moment(prop):
    at, tzid = prop.dt, prop.params.get("TZID")
    explained = at.replace(tzinfo=zones[tzid], fold=0) if tzid else at
    return {
        "wall": at.replace(tzinfo=None).isoformat(),
        "tzid": tzid,
        "named": at.astimezone(timezone.utc).isoformat(),
        "explained": explained.astimezone(timezone.utc).isoformat(),
    }


print(
    json.dumps(
        {
            "method": calendar.get("METHOD"),
            "zones": sorted(zones),
            "events": [
                {
                    "uid": str(event["UID"]),
                    "stamped": event["DTSTAMP"].dt.isoformat(),
                    "summary": str(event["SUMMARY"]),
                    "description": str(event.get("DESCRIPTION", "")),
                    "busy": str(event.get("TRANSP", "OPAQUE")) == "OPAQUE",
                    "start": moment(event["DTSTART"]),
                    "end": moment(event["DTEND"]),
                    "errors": [str(error) for error in event.errors],
                }
                for event in calendar.events
            ],
        }
    )
)
