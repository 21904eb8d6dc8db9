"""The rules of RFC 5545 that a calendar file must keep, checked by its octets and lines alone.

Clauses: 3.1 content lines and folding, 3.2 parameters, 3.3.4 and 3.3.5 dates and times in UTC,
3.3.6 durations, 3.3.11 escaped text, 3.4 the object, 3.6 and 3.6.1 what a calendar and an event
need, 3.6.6 alarms, 3.8.2.2 the end of an event, 3.8.4.7 identities.
"""

import re

NAME = re.compile(r"[A-Z][A-Z0-9-]*")
DATE = re.compile(r"\d{4}(0[1-9]|1[0-2])(0[1-9]|[12]\d|3[01])")
UTC = re.compile(DATE.pattern + r"T([01]\d|2[0-3])[0-5]\d[0-6]\dZ")
DURATION = re.compile(r"[+-]?P(\d+W|\d+D(T(\d+H)?(\d+M)?(\d+S)?)?|T(\d+H)?(\d+M)?(\d+S)?)")
TEXT = re.compile(r"(?:[^\x00-\x08\x0a-\x1f\x7f\\;,]|\\[\\;,nN])*")
TEXTS = {"SUMMARY", "DESCRIPTION", "UID", "PRODID", "VERSION", "TRANSP", "ACTION"}
ONCE = {"UID", "DTSTAMP", "DTSTART", "DTEND", "SUMMARY", "DESCRIPTION", "TRANSP"}
NEEDED = {
    "VCALENDAR": {"PRODID", "VERSION"},
    "VEVENT": {"UID", "DTSTAMP", "DTSTART"},
    "VALARM": {"ACTION", "TRIGGER", "DESCRIPTION"},
}
WITHIN = {"VCALENDAR": "", "VEVENT": "VCALENDAR", "VALARM": "VEVENT"}


def broken_rules(content: bytes) -> list[str]:
    """What a file breaks, in words; nothing for a file as the standard wants it."""
    faults = []
    if not content.endswith(b"\r\n"):
        faults.append("3.1: the last line does not end in CRLF")
    octets = content.removesuffix(b"\r\n").split(b"\r\n")
    for number, line in enumerate(octets, 1):
        if len(line) > 75:
            faults.append(f"3.1: line {number} has {len(line)} octets")
        if b"\r" in line or b"\n" in line:
            faults.append(f"3.1: line {number} holds a CR or LF that is no line end")
        try:
            line.decode("utf-8")
        except UnicodeDecodeError:
            faults.append(f"3.1: line {number} is folded within a character, or is no UTF-8")
    unfolded = content.replace(b"\r\n ", b"").replace(b"\r\n\t", b"").decode("utf-8", "replace")
    return faults + _objects(unfolded.removesuffix("\r\n").split("\r\n"))


def _objects(lines: list[str]) -> list[str]:
    faults, open_ones, uids = [], [], set()
    if lines[0] != "BEGIN:VCALENDAR" or lines[-1] != "END:VCALENDAR":
        faults.append("3.4: it is no calendar object")
    for line in lines:
        head, colon, value = line.partition(":")
        name, *parameters = head.split(";")
        if not colon or not NAME.fullmatch(name):
            faults.append(f"3.1: no content line: {line!r}")
        elif name == "BEGIN":
            within = open_ones[-1][0] if open_ones else ""
            if WITHIN.get(value) != within:
                faults.append(f"3.6: {value} within {within}")
            open_ones.append((value, []))
        elif name == "END":
            kind, found = open_ones.pop() if open_ones else ("", [])
            faults += _component(kind, found, uids) if kind == value else [f"3.4: END:{value}"]
        elif not open_ones:
            faults.append(f"3.4: outside of any object: {line!r}")
        else:
            open_ones[-1][1].append((name, parameters, value))
            faults += _value(name, parameters, value)
    return faults + [f"3.4: {kind} has no end" for kind, _ in open_ones]


def _component(kind: str, found: list, uids: set[str]) -> list[str]:
    names = [name for name, _, _ in found]
    values = {name: (parameters, value) for name, parameters, value in found}
    faults = [f"3.6: {kind} without {one}" for one in NEEDED[kind] - set(names)]
    faults += [f"3.6: {one} twice" for one in ONCE if names.count(one) > 1]
    if kind == "VCALENDAR" and values.get("VERSION", ([], ""))[1] != "2.0":
        faults.append("3.7.4: the version is another")
    if kind == "VEVENT":
        uid = values.get("UID", ([], ""))[1]
        faults += [f"3.8.4.7: {uid} twice"] if uid in uids else []
        uids.add(uid)
        if "DTEND" in values and "DURATION" in values:
            faults.append("3.6.1: an end and a duration")
        if "DTEND" in values:
            start, end = values["DTSTART"], values["DTEND"]
            if start[0] != end[0] or not start[1] < end[1]:
                faults.append("3.8.2.2: the end is of another kind, or not behind the start")
    return faults


def _value(name: str, parameters: list[str], value: str) -> list[str]:
    if name in ("DTSTART", "DTEND") and parameters == ["VALUE=DATE"]:
        good = DATE.fullmatch(value)
    elif name in ("DTSTAMP", "DTSTART", "DTEND"):
        good = not parameters and UTC.fullmatch(value)
    elif name == "TRIGGER":
        good = not parameters and DURATION.fullmatch(value)
    elif name in TEXTS:
        good = TEXT.fullmatch(value)
    else:
        good = None
    return [] if good else [f"3.3: {name}{parameters} is {value!r}"]
