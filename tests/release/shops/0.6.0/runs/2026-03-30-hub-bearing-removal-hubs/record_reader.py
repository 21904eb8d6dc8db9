"""Reads a run's record with Python and ssh-keygen alone: `python3 record_reader.py [RUN [SHOP]]`.

RUN is the run's folder, else this one; SHOP the shop's, else the one two folders above if it holds
`signers`. Checked is how the record is kept, as FORMAT.md says: canonical lines, their chain,
signatures with whose they are, the files beside the log, the shop's register. Not checked: clocks,
and whether the rules could have made each entry. Exit code: 0 whole, 1 not whole, 2 cannot tell.
"""

import base64
import datetime as dt
import hashlib
import json
import os
import re
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any

FORMAT, MOST_BYTES = 5, 1 << 20
BEGIN, END = "-----BEGIN SSH SIGNATURE-----\n", "-----END SSH SIGNATURE-----\n"
PLAIN, TOKEN = b"\0\0\0\x0bssh-ed25519\0\0\0 ", b"\0\0\0\x1ask-ssh-ed25519@openssh.com\0\0\0 "
OPTION = r'(?:namespaces="[\w.@,-]+"|valid-(?:after|before)="(?:\d{8}|\d{12}|\d{14})Z")'
KEY = r"(?:ssh-ed25519|sk-ssh-ed25519@openssh\.com) ([A-Za-z0-9+/=]+)"
SIGNER = re.compile(rf"(?a)([\w.+-]+@[\w.-]+) (?:({OPTION}(?:,{OPTION})*) )?{KEY}(?: .*)?")
ENDED = re.compile(rf"(?a)# compromised \S+ \S+ (?:(SHA256:[\w+/]{{43}})|{KEY})(?: .*)?")
UTC = re.compile(r"(?a)\d{4}-\d\d-\d\dT\d\d:\d\d:[0-5]\d\.\d{3}Z")
LINE = {"n": int, "at": dict, "by": str, "kind": str, "data": dict, "prev": str}
AT = {"utc": str, "up_ms": int, "boot": str, "sync": bool}
STATES = ("opened", "marked", "closed")
WRONG = (ValueError, KeyError, TypeError, AttributeError, RuntimeError)
Line = dict[str, Any]


def file_bytes(path: Path) -> bytes | None:
    """The bytes of a plain file, None where there is none; no pipe or device is waited for."""
    if path.exists() and not path.is_file():
        raise OSError(f"{path} is no plain file")
    return path.read_bytes() if path.exists() else None


def _written(value: Any) -> bytes:
    text = json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return text.encode() + b"\n"


def fits(value: Any) -> bool:
    """Whether numbers are whole and small enough, and keys sort alike by any rule."""
    if isinstance(value, dict):
        return all(max(key, default="") < "\ue000" and fits(item) for key, item in value.items())
    if isinstance(value, list):
        return all(map(fits, value))
    return not isinstance(value, int | float) or (type(value) is not float and abs(value) < 2**53)


def next_line(raw: bytes, head: str, number: int) -> Line:
    """One line: canonical, of its form, and following from the line before."""
    line = json.loads(raw.decode())
    at, kind = line["at"], line["kind"]
    kinds = [{key: type(value) for key, value in place.items()} for place in (line, at)]
    if len(raw) > MOST_BYTES or _written(line) != raw or not fits(line) or kinds != [LINE, AT]:
        raise ValueError("its bytes are not the canonical form of a line")
    word = kind.isascii() and kind.isalpha() and kind.islower()
    if not word or not UTC.fullmatch(at["utc"]) or at["up_ms"] < 0 or not at["boot"]:
        raise ValueError("its kind or its time is out of form")
    if line["n"] != number or line["prev"] != head:
        raise ValueError("it does not follow from the line before: something was changed")
    if type(later := line["data"].get("format")) is int and later > FORMAT:
        raise OSError(f"from entry {number} on it is of format {later}; this knows {FORMAT}")
    ms = round(dt.datetime.fromisoformat(at["utc"]).timestamp() * 1000)
    return {**line, "ms": ms, "head": hashlib.sha256(raw).hexdigest()}


def chained(raw: bytes) -> Iterator[tuple[int, Line]]:
    """The lines, each with where its bytes begin; a torn last one is left out."""
    head, at = "0" * 64, 0
    for number, row in enumerate(raw.split(b"\n")[:-1]):
        line = next_line(row + b"\n", head, number)
        yield at, line
        head, at = line["head"], at + len(row) + 1


def fingerprint(encoded: str) -> str:
    """The fingerprint of a key of a kind that is accepted, as stock tools print it."""
    blob = base64.b64decode(encoded, validate=True)
    size = 51 if blob.startswith(PLAIN) else 66 + int.from_bytes(blob[62:66], "big")
    if not blob.startswith((PLAIN, TOKEN)) or len(blob) != size:
        raise ValueError("a key is not of a kind that is accepted")
    return "SHA256:" + base64.b64encode(hashlib.sha256(blob).digest()).decode().rstrip("=")


class SignerRows:
    """A file of signers: rows of principal, fingerprint and first second; keys gone bad."""

    def __init__(self, path: Path) -> None:
        self.path, self.rows, self.bad = path, list[tuple[str, str, str]](), set[str]()
        for number, raw in enumerate((file_bytes(path) or b"").split(b"\n"), 1):
            try:
                row = raw.decode()
                if ended := ENDED.fullmatch(row):
                    self.bad.add(ended[1] or fingerprint(ended[2]))
                elif row.startswith("# compromised") or (row.strip() and not row.startswith("#")):
                    who, options, key = SIGNER.fullmatch(row.strip()).groups()  # type: ignore
                    after = re.search(r'after="(\d+Z)', options or "")
                    self.rows.append((who, fingerprint(key), after[1] if after else ""))
            except (ValueError, AttributeError):
                raise ValueError(f"{path} line {number} is out of form") from None

    def key(self, who: str, space: str, line: Line, armoured: str, message: bytes) -> str:
        """The fingerprint of the key of a signature that holds; `~` before one that was early."""
        at = "".join(re.findall(r"\d", line["at"]["utc"]))[:14] + "Z"
        blob = base64.b64decode(armoured[len(BEGIN) : -len(END)].replace("\n", ""), validate=True)
        text = base64.b64encode(blob).decode()
        rows = "".join(text[at : at + 70] + "\n" for at in range(0, len(text), 70))
        if BEGIN + rows + END != armoured or (TOKEN in blob and not blob[-5] & 1):
            raise ValueError("it is not as the stock tool writes it, or a token was not touched")
        with tempfile.NamedTemporaryFile("w") as file:
            file.write(armoured)
            file.flush()
            for stamp in [at, *(row[2] for row in self.rows if row[0] == who and row[2] > at)]:
                command = ["ssh-keygen", "-Y", "verify", "-f", str(self.path), "-I", who]
                command += ["-n", space, "-s", file.name, "-O", f"verify-time={stamp}"]
                done = subprocess.run(command, input=message, capture_output=True, check=False)  # noqa: S603
                key = done.stdout.decode().strip().rpartition(" ")[2]
                if done.returncode == 0 and key not in self.bad:
                    return key if stamp == at else f"~{key}"
        raise ValueError(f"no signature of {who}'s holds by {self.path}")


class RegisterRows:
    """The shop's register: heads, runs, keys and people that it ever had."""

    def __init__(self, shop: Path, trusted: SignerRows) -> None:
        self.heads, self.runs = {"0" * 64}, list[Line]()
        self.keys, self.names, sealed = dict[Any, Any](), dict[str, Any](), Line()
        for _, line in chained(file_bytes(shop / "register.jsonl") or b""):
            self.heads.add(line["head"])
            self._take(line, shop)
            if "sshsig" in (sealed or line)["data"]:
                sealed = line  # the last, or the first without a seal behind one with it
        if sealed:
            data = {key: value for key, value in sealed["data"].items() if key != "sshsig"}
            message = _written({**{key: sealed[key] for key in LINE}, "data": data})
            seal = str(sealed["data"].get("sshsig"))
            trusted.key(str(data.get("who")), "seal@benchrun", sealed, seal, message)

    def _take(self, line: Line, shop: Path) -> None:
        data, kind = line["data"], line["kind"]
        if kind in STATES:
            self.runs.append({"run": data["run"], "n": int(data["n"]), "head": data["head"]})
        for row in data["changes"] if kind == "keys" else ():
            key = (row["principal"], fingerprint(row["key"].split()[1]))
            self.keys.setdefault(key, []).append((row["change"], line["ms"]))
        for row in data["people"] if kind == "people" else ():
            self.names.setdefault(row["person"], []).append((line["ms"] // 1000, row["name"]))
        if kind == "doubt" and "file" in data:
            path = shop / Path(data["file"]).name
            raw = file_bytes(path) or b""
            if hashlib.sha256(raw).hexdigest() != data["sha256"]:
                raise RuntimeError(f"the register set aside as {path.name} is not as it was")
            for earlier in raw.split(b"\n")[:-1]:
                self.heads.add(hashlib.sha256(earlier + b"\n").hexdigest())
                with suppress(ValueError, KeyError, TypeError):
                    old = json.loads(earlier)
                    if old["kind"] in STATES or "file" in old["data"]:
                        self._take(old, shop)


class Record:
    """One reading of a run's folder: what was found, and whose signatures hold."""

    def __init__(self, run: Path, shop: Path | None) -> None:
        self.run, self.faults, self.doubts = run, list[str](), list[str]()
        self.signed, self.latest, self.people = dict[str, str](), 0, dict[str, Any]()
        raw, whole = file_bytes(run / "log.jsonl"), file_bytes(run / "log.jsonl.sig")
        if raw is None:
            raise OSError(f"{run} holds no log.jsonl: is it a run?")
        self.trusted = SignerRows(shop / "signers") if shop else None
        book = shop and os.path.lexists(shop / "register.jsonl")
        self.book = self._tried("the register", RegisterRows, shop, self.trusted) if book else None
        none = Path(os.devnull, "none")
        self.kept = self._tried("the run", SignerRows, run / "signers") or SignerRows(none)
        self.lines = list[Line]()
        try:
            for at, line in chained(raw):
                last = self.lines[-1] if self.lines else line
                self._take(line, raw[:at], last)
                self.lines.append(line)
        except WRONG as error:
            self.faults.append(f"entry {len(self.lines)}: {error}; nothing behind it was judged")
        if self.lines and whole is not None:
            data = {**self.lines[-1]["data"], "sshsig": whole.decode("latin-1")}
            last = {**self.lines[-1], "data": data}
            self._tried("the seal", self._signature, last, "seal@benchrun", raw, last)
        elif not self.lines:
            self.faults.append("the log has no entry that holds")
        self.doubts += [] if whole else ["no log.jsonl.sig: it is open, or that is missing"]
        if self.book and shop and self.lines:
            self._registered(self.book, shop)

    def _tried(self, place: str, act: Callable[..., Any], *words: Any) -> Any:
        try:
            return act(*words)
        except WRONG as error:
            self.faults.append(f"{place}: {error}")

    def _take(self, line: Line, before: bytes, last: Line) -> None:
        n, data, kind, who = line["n"], line["data"], line["kind"], line["by"].split("@")[0]
        if n == 0:
            people, number = data.get("people"), data.get("format")
            self.people = people if isinstance(people, dict) else {}
            form = type(number) is int and number > 0 and {"run", "register_head"} <= data.keys()
            if kind != "open" or not form:
                self.faults.append("entry 0: it does not open a run")
            self._file("procedure.yaml", data.get("procedure_sha256"), self.faults)
            beside = [data["approval"]] if "approval" in data else []
            for row in [*beside, *data.get("drawings", {}).values()]:
                self._file(row["file"], row["sha256"], self.faults)
        known = {"station", *self.people, *(self.book.names if self.book else ())}
        if self.book and self.book.names and not {who, line["by"]} & known:
            self.faults.append(f"entry {n}: nobody knows {who}, who entered it")
        if kind == "photo":
            self._file(data.get("file"), data.get("sha256"), self.faults)
        for row in data.get("files", ()) if kind in ("recovered", "seal") else ():
            if row["sha256"] is not None:
                self._file(row["file"], row["sha256"], self.doubts)
        if kind == "sign" and data.get("of") != n - 1:
            self.faults.append(f"entry {n}: it should sign entry {n - 1}")
        elif kind in ("sign", "seal"):
            self._tried(f"entry {n}", self._signature, line, f"{kind}@benchrun", before, last)

    def _file(self, name: object, digest: object, lacking: list[str]) -> None:
        path = self.run / str(name)
        outside = ".." in str(name) or not path.resolve().is_relative_to(self.run.resolve())
        raw = None if outside else file_bytes(path)
        if outside or (raw is not None and hashlib.sha256(raw).hexdigest() != digest):
            self.faults.append(f"{name} is not the file that was entered")
        elif raw is None:
            lacking.append(f"{name} is missing")

    def _signature(self, line: Line, space: str, message: bytes, last: Line) -> None:
        n, by, armoured, book = line["n"], line["by"], str(line["data"].get("sshsig")), self.book
        who = line["data"].get("who", by)
        key = self.kept.key(who, space, line, armoured, message)
        known = any(row[0] == who for row in self.trusted.rows) if self.trusted else None
        if self.trusted and (known or key in self.trusted.bad):
            key = max(key, self.trusted.key(who, space, line, armoured, message))
        elif known is False:
            self.doubts.append(f"entry {n}: the shop does not know the key of {who}")
        for change, ms in book.keys.get((who, key.strip("~")), []) if book and known else []:
            if change == "compromised" or (change == "ended" and ms // 1000 < line["ms"] // 1000):
                raise ValueError(f"the register had ended the key of {who}")
        if key.startswith("~") and line["at"]["sync"] and line["ms"] >= self.latest:
            raise ValueError(f"the key of {who} was not good yet")
        says, own = last["data"].get("says"), self.people.get(by)
        own = str(own.get("name", "")) if isinstance(own, dict) else ""
        rows = book.names.get(by.partition("@")[0], []) if book else []
        then = [row for row in rows if row[0] <= line["ms"] // 1000] or rows[:1]
        names = {own, *(row[1] for row in then[-1:])} - {""}
        own_words = not says or not names or any(says.startswith(f"{name}: ") for name in names)
        stated = space == "seal@benchrun" or (last["by"] == by and own_words)
        if not stated or by not in (who, who.partition("@")[0]):
            raise ValueError(f"{by}, the words and the key of {who} are not one person's")
        self.signed[who] = key.strip("~") + ("" if known else ", NOT known to the shop")
        self.latest = max(self.latest, line["ms"])

    def _registered(self, book: RegisterRows, shop: Path) -> None:
        run, heads = self.lines[0]["data"].get("run"), [line["head"] for line in self.lines]
        for row in book.runs:
            if row["run"] == run and heads[row["n"] : row["n"] + 1] != [row["head"]]:
                self.faults.append(f"the register has another entry {row['n']}, or one more")
        for log in {*(shop / "runs").glob("[!.]*/log.jsonl"), self.run / "log.jsonl"}:
            with suppress(ValueError, KeyError, TypeError):
                opened = json.loads((file_bytes(log) or b"").split(b"\n")[0])
                if opened["data"]["register_head"] not in book.heads:
                    self.faults.append(f"{log.parent.name} was opened under another register")


def main(words: list[str]) -> int:
    """Print what reading a run comes to."""
    run = Path(words[0] if words else ".").absolute()
    shop = Path(words[1]) if words[1:] else run.parent.parent
    try:
        found = Record(run, shop if words[1:] or (shop / "signers").exists() else None)
    except (OSError, ValueError) as error:
        print(f"could not tell: {error}")
        return 2
    rows = [f"{run.name}: {'NOT WHOLE' if found.faults else 'whole'}"]
    rows += [f"  fault  {text}" for text in found.faults]
    rows += [f"  doubt  {text}" for text in dict.fromkeys(found.doubts)]
    print("\n".join(rows + [f"  signed by {who}, key {key}" for who, key in found.signed.items()]))
    return 1 if found.faults else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
