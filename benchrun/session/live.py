"""The live run: clock, disk and rules meet.

Everything that changes a run goes through one dedicated thread, in order: decide, keep, fold. What
is handed out (`run`, `entries`) is immutable, so that a face may read it at any time. Only what is
on the disk is ever folded.
"""

from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path
from typing import Final

from benchrun.errors import BenchrunError
from benchrun.moment import Moment
from benchrun.pictures.files import newest_picture
from benchrun.procedure.route import Hold, Procedure
from benchrun.record.clock import Clock
from benchrun.record.folder import RunFolder
from benchrun.record.register import Register
from benchrun.record.seals import sign_data
from benchrun.record.sshsig import SIGN
from benchrun.record.trouble import NotKept, WrongPassphrase
from benchrun.record.wire import SigningKey
from benchrun.record.writer import LogWriter
from benchrun.run import commands as c
from benchrun.run import entries as e
from benchrun.run.commands import Command, Hand, Refusal
from benchrun.run.decide import decide
from benchrun.run.state import Run
from benchrun.session.books import TOUCHING
from benchrun.session.keeping import Keeping
from benchrun.session.sitting import UNNAMED, Kept, Reply
from benchrun.shop.folder import Shop
from benchrun.shop.people import Person
from benchrun.shop.settings import watched_folder
from benchrun.signing_keys import STATION, hand_of, person_key, principal, sign_refusal

BEAT_MS: Final = 60_000
STEP_MS: Final = 2_000  # a wall clock that is off by more has been set, not drifted
DRIFT_PPM: Final = 500  # the most that two sound clocks drift apart, NTP's own bound (RFC 5905)


def closing_statement(hand: Hand) -> str:
    """The meaning of the signature under a closed run, in the words that are signed."""
    return f"{hand.name or hand.id}: I carried out this run as it is recorded here."


def wants_another(run: Run, command: c.Do | c.Close) -> bool:
    """Whether a command is a hold that somebody else than the worker is to sign."""
    step = run.route.steps.get(command.step) if isinstance(command, c.Do) else None
    return step is not None and isinstance(step.detail, Hold) and step.detail.other


class Session(Keeping):
    """A run that is being carried out.

    Make one with `begin` or `take_up`; end it with `leave`, or by signing its close.
    """

    def __init__(
        self,
        shop: Shop,
        folder: RunFolder,
        writer: LogWriter,
        procedure: Procedure,
        person: Person | None,
        clock: Clock,
        thread: ThreadPoolExecutor,
    ) -> None:
        super().__init__(shop, folder, writer, procedure, person, clock)
        self._thread = thread
        self._tick: Future[None] | None = None
        self._slept = clock.slept_ms()
        self._opened: tuple[str, SigningKey, Moment] | None = None

    def send(self, command: Command) -> "Future[Reply]":
        """Give a command."""
        return self._thread.submit(self._send, command)

    def copy_photo(
        self,
        source: Path | None = None,
        step: str = "",
        parts: tuple[str, ...] = (),
        *,
        any_age: bool = False,
        keep_position: bool = False,
        unsure: bool = False,
    ) -> c.KeepPhoto:
        """Copy a picture into the run's folder."""
        if source is None:
            since = None if any_age else self._entries[0].at.utc_ms
            source = newest_picture(watched_folder(self.shop), since)
        kept = self.folder.keep_photo(_at_home(source), keep_position=keep_position, unsure=unsure)
        position = e.Position(kept.position)
        return c.KeepPhoto(kept.file, kept.sha256, kept.size, step, source.name, parts, position)

    def sign(self, command: c.Do | c.Close, passphrase: str) -> "Future[Reply]":
        """Give a command that is signed in its own next line."""
        return self._thread.submit(self._sign, command, passphrase)

    def tick(self) -> "Future[None]":
        """Let a second pass: heartbeats while something soaks, seals, clock steps noticed."""
        if self._tick is None or self._tick.done():
            self._tick = self._thread.submit(self._on_tick)
        return self._tick

    def leave(self) -> None:
        """Go away from an open run: seal it and let go of it."""
        if not self.left:
            self.left = True
            self._thread.submit(self._suspend).result()
        self._thread.shutdown()
        self._writer.close()

    def _send(self, command: Command) -> Reply:
        if self._person is None:
            return Refusal(UNNAMED)
        try:
            now = self.now()
            self._seal_when_due(now)
            command = self.books.with_tins(self.run, command, now)
            hand, now = self.hand, self.now()
            data = decide(self.run, command, now, hand)
            if isinstance(data, Refusal):
                return data
            entry = self._enter(data, hand.id, now)
        except NotKept as error:
            return Refusal(error.message)
        if isinstance(command, c.Stop | c.Resume | c.Settle):
            self._seal_if_room(entry.kind)
        if isinstance(command, TOUCHING):
            self._follow_soon()
        self._name_set_aside_if_room()
        return Kept((entry,))

    def _follow_soon(self) -> None:
        """Let the books follow after the answer, as what was kept stands by itself."""
        try:
            self._thread.submit(self._follow)
        except RuntimeError:
            self._follow()  # the run is being left: nothing more is taken on

    def _sign(self, command: c.Do | c.Close, passphrase: str) -> Reply:
        person = self._person
        if person is None:
            return Refusal(UNNAMED)
        try:
            key = self._key(command, person, passphrase)
            self._seal_when_due(self.now())
            return self._signed(command, person, key)
        except WrongPassphrase:
            # The person knows their key by their name, not by where its file lies.
            said = f"This passphrase does not open the key of {person.name}"
            return Refusal(f"{said}: nothing was signed. Type it again.")
        except BenchrunError as error:
            return Refusal(error.message)

    def unlocked(self, person: Person) -> bool:
        """Whether a person's key was unlocked here so short a time ago that it still is."""
        return self._unlocked_key(person) is not None

    def _unlocked_key(self, person: Person) -> SigningKey | None:
        if self._opened is None:
            return None
        who, key, at = self._opened
        now = self.now()
        since = now.up_ms - at.up_ms if now.boot == at.boot else self.unlocked_ms
        return key if who == person.id and 0 <= since < self.unlocked_ms else None

    def _key(self, command: c.Do | c.Close, person: Person, passphrase: str) -> SigningKey:
        """The key that signs: unlocked by its passphrase, or still unlocked.

        A hold that wants another person is never signed without the passphrase.
        """
        held = self._unlocked_key(person)
        if held is not None and not passphrase and not wants_another(self.run, command):
            return held
        key = person_key(person).unlock(passphrase)
        if self.unlocked_ms and not wants_another(self.run, command):
            self._opened = (person.id, key, self.now())
        return key

    def hand_over(self, person: Person | None) -> None:
        """Let somebody else go on; no key stays unlocked over that."""
        if person != self._person:
            self._opened = None
        super().hand_over(person)

    def _signed(self, command: c.Do | c.Close, person: Person, key: SigningKey) -> Reply:
        hand, own, now = hand_of(person), principal(self.shop, person.id), self.now()
        command = replace(command, remarks=self.remarks(command))
        data = decide(self.run, command, now, hand)
        if isinstance(data, Refusal):
            return data
        if not getattr(data, "says", ""):
            return Kept((self._enter(data, hand.id, now),))
        opened = self._entries[0].data
        about = opened.about if isinstance(opened, e.Opened) else {}
        says = getattr(data, "says", "")
        register = Register(self.shop.path)
        refused = sign_refusal(register, self.shop, person, key.public, says, about, now)
        if refused:
            return Refusal(refused)
        self._know(own, key.public, SIGN)
        stated = self._enter(data, hand.id, now)
        signed = sign_data(self._writer, key, own)
        second = self._keep(c.SignOff(own, str(signed["sshsig"])), hand, self.now())
        if isinstance(second, Refusal):
            return second
        self.has_signed = True
        self._after_signing(register)
        return Kept((stated, *second.entries))

    def _after_signing(self, read: Register) -> None:
        """Seal or finish after a signature; it stands, whatever the disk says of this."""
        if not self.run.ended:
            self._seal_if_room("hold")
            self._name_set_aside_if_room()
            return
        try:
            self._finish(read=read)
        except BenchrunError as error:
            self.trouble = f"The run is closed and signed; its seal is still to be made: {error}"

    def _on_tick(self) -> None:
        if self.left:
            return
        try:
            self.trouble = self._writer.away()
            if self.trouble:
                return
            if self.run.ended:
                self._finish()
                return
            self._beat_when_due(self.now())
            self._seal_when_due(self.now())
            self._name_set_aside()
        except BenchrunError as error:
            self.trouble = error.message

    def _beat_when_due(self, now: Moment) -> None:
        last = self._entries[-1].at
        slept, self._slept = self.clock.slept_ms() - self._slept, self.clock.slept_ms()
        stepped = _stepped(last, now)
        soaking = any(marker.soak is not None for marker in self.run.each())
        due = soaking and (now.boot != last.boot or now.up_ms - last.up_ms >= BEAT_MS)
        if stepped or slept > STEP_MS or due:
            self._keep(c.KeepBeat(max(0, slept), stepped), Hand(STATION), now)


def _stepped(last: Moment, now: Moment) -> int:
    """By how many milliseconds the wall clock was set between two moments of one boot, or 0."""
    if last.boot != now.boot:
        return 0
    passed = now.up_ms - last.up_ms
    step = (now.utc_ms - last.utc_ms) - passed
    return step if abs(step) > STEP_MS + abs(passed) * DRIFT_PPM // 1_000_000 else 0


def _at_home(path: Path) -> Path:
    try:
        return path.expanduser()
    except RuntimeError:
        return path  # nobody of that name has a home; the path as typed is told to be missing
