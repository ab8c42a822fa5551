"""A strict reader of iCalendar text, written from the grammar of RFC 5545 (2009) alone.

Sections: 3.1 content lines (CRLF, folding at 75 octets, name, parameters, value), 3.3.4 DATE,
3.3.5 DATE-TIME, 3.3.11 TEXT escapes, 3.4 object, 3.6 calendar properties, 3.6.1 VEVENT.
"""

from __future__ import annotations

import datetime as dt
import re

NAME = r"[A-Za-z0-9-]+"
SAFE = r"[^\x00-\x08\x0a-\x1f\x7f\";:,]*"
QUOTED = r"\"[^\x00-\x08\x0a-\x1f\x7f\"]*\""
PARAMETER = rf";{NAME}=(?:{QUOTED}|{SAFE})(?:,(?:{QUOTED}|{SAFE}))*"
LINE = re.compile(rf"({NAME})((?:{PARAMETER})*):([^\x00-\x08\x0a-\x1f\x7f]*)")
TEXT = re.compile(r"(?:[^\\;,\x00-\x08\x0a-\x1f\x7f]|\\[\\;,nN])*")
EVENT_ONCE = {"UID", "DTSTAMP", "DTSTART", "DTEND", "SUMMARY", "DESCRIPTION", "LOCATION", "TRANSP"}


def lines(data: bytes) -> list[tuple[str, str, str]]:
    """Unfolded content lines as (name, parameters, value); AssertionError where one is not."""
    assert data.endswith(b"\r\n"), "the last line has no CRLF"
    raw = data.split(b"\r\n")[:-1]
    assert all(b"\r" not in line and b"\n" not in line for line in raw), "a bare CR or LF"
    assert all(len(line) <= 75 for line in raw), "a line longer than 75 octets"
    unfolded: list[bytes] = []
    for line in raw:
        if line[:1] in (b" ", b"\t"):
            unfolded[-1] += line[1:]
        else:
            unfolded.append(line)
    found = []
    for line in unfolded:
        match = LINE.fullmatch(line.decode("utf-8"))
        assert match, f"no content line: {line!r}"
        found.append((match[1].upper(), match[2], match[3]))
    return found


def events(data: bytes) -> list[dict[str, object]]:
    """The events of one VCALENDAR, every property read by its type; AssertionError if not valid."""
    content = lines(data)
    assert content[0] == ("BEGIN", "", "VCALENDAR")
    assert content[-1] == ("END", "", "VCALENDAR")
    head: dict[str, str] = {}
    found: list[dict[str, object]] = []
    own: dict[str, object] | None = None
    for name, parameters, value in content[1:-1]:
        if (name, value) == ("BEGIN", "VEVENT"):
            assert own is None
            own = {}
        elif (name, value) == ("END", "VEVENT"):
            assert own is not None
            assert {"UID", "DTSTAMP", "DTSTART"} <= set(own)
            assert own["DTSTART"] < own["DTEND"]  # type: ignore[operator]
            found.append(own)
            own = None
        elif own is None:
            assert name not in head
            head[name] = value
        else:
            assert name in EVENT_ONCE, f"{name} is no property of an event that we write"
            assert name not in own, f"{name} twice in one event"
            own[name] = _value(name, parameters, value)
    assert own is None
    assert head["VERSION"] == "2.0"
    assert head["PRODID"]
    uids = [event["UID"] for event in found]
    assert len(uids) == len(set(uids)), "two events share a UID"
    return found


def _value(name: str, parameters: str, value: str) -> object:
    if name == "DTSTAMP":
        assert not parameters
        return dt.datetime.strptime(value, "%Y%m%dT%H%M%SZ")
    if name in ("DTSTART", "DTEND"):
        assert parameters == ";VALUE=DATE"
        assert re.fullmatch(r"\d{8}", value)
        return dt.date.fromisoformat(value)
    assert TEXT.fullmatch(value), f"{name} is not TEXT: {value!r}"
    return re.sub(r"\\(.)", lambda m: "\n" if m[1] in "nN" else m[1], value)
