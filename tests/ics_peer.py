"""Reads calendar files (RFC 5545) with an independent library and tells what is in them, as JSON: one list of entries per file."""

from __future__ import annotations

import json
import sys
from datetime import datetime, timezone

from icalendar import Calendar


def said(value: object) -> str:
    value = getattr(value, "dt", value)
    if isinstance(value, datetime):
        return value.astimezone(timezone.utc).isoformat()
    return value.isoformat() if hasattr(value, "isoformat") else str(value)


def told(path: str) -> dict:
    with open(path, "rb") as file:
        calendar = Calendar.from_ical(file.read())
    entries = []
    for event in calendar.walk("VEVENT"):
        assert not event.errors, event.errors
        entries.append({str(name).lower(): said(value) for name, value in event.property_items() if name not in ("BEGIN", "END")})
    return {"method": str(calendar.get("METHOD")), "version": str(calendar.get("VERSION")), "prodid": str(calendar.get("PRODID")), "entries": entries}


if __name__ == "__main__":
    json.dump([told(path) for path in sys.argv[1:]], sys.stdout)
