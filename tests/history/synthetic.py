"""Makes logs of invented runs line by line, fast, for tests and timings of the index."""

import datetime as dt
import hashlib
import json
import random
from pathlib import Path

from benchrun.history.index import History

ZEROS = "0" * 64
ENCODER = json.JSONEncoder(sort_keys=True, separators=(",", ":"), ensure_ascii=False)
STEPS = tuple(f"bore-{number}" for number in range(1, 21))


class Log:
    """A log in the making; `write` puts it on the disk, chained as the format says."""

    def __init__(
        self, name, begins="2026-03-02T08:00:00", procedure="seats", parts=("hub",), rehearsal=""
    ):
        self.name = name
        self.at = dt.datetime.fromisoformat(begins)
        self.up_ms = 60_000
        self.boot = f"boot-{name}"
        self.lines = []
        self.head = ZEROS
        about = {"id": procedure, "revision": 1, "title": "Measure seats", "status": "draft"}
        specs = [{"part": part, "identity": f"cast {part}"} for part in parts]
        opened = {"procedure": about, "parts": specs, "run": name, "format": 1}
        opened |= {"rehearsal": rehearsal} if rehearsal else {}
        self.add("open", {**opened, "procedure_sha256": ZEROS})

    def add(self, kind, data, after_ms=60_000, by="ann"):
        n = len(self.lines)
        if n:
            self.at += dt.timedelta(milliseconds=after_ms)
            self.up_ms += after_ms
        utc = f"{self.at:%Y-%m-%dT%H:%M:%S}.{self.at.microsecond // 1000:03d}Z"
        at = {"utc": utc, "up_ms": self.up_ms, "boot": self.boot, "sync": True}
        line = {"n": n, "at": at, "by": by, "kind": kind, "data": data, "prev": self.head}
        raw = ENCODER.encode(line).encode() + b"\n"
        self.head = hashlib.sha256(raw).hexdigest()
        self.lines.append(raw)
        return n

    def read(self, step, values, place="", low="61.949", high="61.979", tool=None):
        """A reading of several parts in one entry: a map of part and number."""
        each = {}
        for part, number in values.items():
            inside = float(low) <= float(number) <= float(high)
            verdict = "inside" if inside else "outside"
            value = {"typed": number, "number": number, "unit": "mm"}
            each[part] = {"value": value, "low": low, "high": high, "verdict": verdict}
        data = {"step": step, "parts": list(values), "each": each}
        data |= {"place": place} if place else {}
        data |= {"tool": {"name": tool}} if tool else {}
        return self.add("do", data)

    def close(self, **reasons):
        of = self.add("close", {"reasons": reasons, "says": "Ann: done."})
        self.add("sign", {"of": of, "who": "ann@shed", "sshsig": "none"}, after_ms=0)

    def write(self, runs: Path, *, sealed=True):
        folder = runs / self.name
        folder.mkdir(parents=True, exist_ok=True)
        (folder / "log.jsonl").write_bytes(b"".join(self.lines))
        if sealed:
            (folder / "log.jsonl.sig").write_bytes(b"")
        return folder


def many(runs: Path, count, lines=50, seed=7):
    """Many closed runs with two readings a line; what they hold is drawn at random."""
    chance = random.Random(seed)
    for number in range(count):
        day = dt.date(2020, 1, 1) + dt.timedelta(days=number // 5)
        parts = (f"hub {number % 400}", f"hub {number % 400 + 400}")
        name = f"{day}-seats-{number:05d}"[:60] + "-aaaa"
        log = Log(name, f"{day}T08:00:00", "seats", parts)
        for line in range(lines):
            values = {part: f"{61.949 + chance.random() * 0.0320:.3f}" for part in parts}
            tool = f"bore gauge {line % 4}"
            log.read(STEPS[line % len(STEPS)], values, "AB"[line // 20 % 2], tool=tool)
        if number % 10 == 0:
            log.add("skip", {"step": STEPS[0], "parts": [parts[0]], "reason": "no light"})
        log.close()
        log.write(runs)


def asked(shop, question, *args, **more):
    """Answer one question after reading what is new."""
    with History(shop) as history:
        history.refresh()
        return question(history, *args, **more)
