"""The live run: clock, disk and rules meet.

Everything that changes a run goes through one dedicated thread, in order: decide, keep, fold. What
is handed out (`run`, `entries`) is immutable, so that a face may read it at any time. Only what is
on the disk is ever folded.
"""

from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from pathlib import Path
from typing import Final, TypeVar

from benchrun.errors import BenchrunError
from benchrun.gc_pause import no_collecting
from benchrun.load_run import entry_of
from benchrun.moment import Moment
from benchrun.pictures.files import newest_picture
from benchrun.procedure.route import Procedure
from benchrun.record.chain import FORMAT
from benchrun.record.clock import Clock
from benchrun.record.folder import RunFolder
from benchrun.record.register import Register, RunState
from benchrun.record.sealing import seal_data, seal_whole, sign_data
from benchrun.record.signers import Signer
from benchrun.record.sshsig import SEAL, SIGN
from benchrun.record.trouble import NotKept, WrongPassphrase
from benchrun.record.wire import PublicKey, SigningKey
from benchrun.record.writer import LogWriter
from benchrun.run import commands as c
from benchrun.run import entries as e
from benchrun.run.commands import Command, Hand, Refusal
from benchrun.run.decide import decide
from benchrun.run.fold import fold
from benchrun.session.books import TOUCHING
from benchrun.session.sitting import Kept, Reply
from benchrun.session.window import RunSitting
from benchrun.shop.folder import Shop
from benchrun.shop.people import Person
from benchrun.shop.settings import watched_folder
from benchrun.signing_keys import STATION, person_key, principal, station_key

BEAT_MS: Final = 60_000
SEAL_MS: Final = 15 * 60_000
STEP_MS: Final = 2_000  # a wall clock that is off by more has been set, not drifted
DRIFT_PPM: Final = 500  # the most that two sound clocks drift apart, NTP's own bound (RFC 5905)

T = TypeVar("T")


def closing_statement(hand: Hand) -> str:
    """The meaning of the signature under a closed run, in the words that are signed."""
    return f"{hand.name or hand.id}: I carried out this run as it is recorded here."


class Session(RunSitting):
    """A run that is being carried out.

    Make one with `begin` or `take_up`; end it with `leave`, or by signing its close.

    Attributes:
        has_signed: Whether somebody has signed in this sitting: the first signature asks for who
            signs as well, later ones for the key alone.
    """

    def __init__(
        self,
        shop: Shop,
        folder: RunFolder,
        writer: LogWriter,
        procedure: Procedure,
        person: Person,
        clock: Clock,
    ) -> None:
        super().__init__(shop, folder, procedure, person, clock)
        self.has_signed = False
        self._writer = writer
        self._station: SigningKey = station_key(shop)
        self._thread = ThreadPoolExecutor(1, thread_name_prefix="log")
        self._sealed_at: Moment | None = None
        self._tick: Future[None] | None = None
        self._slept = clock.slept_ms()

    def send(self, command: Command) -> "Future[Reply]":
        """Give a command.

        Returns:
            What came of it, once it is on the disk or refused.
        """
        return self._submit(lambda: self._send(command))

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
        """Copy a picture into the run's folder; on the caller's thread, as it may be large.

        Args:
            source: The picture; None for the newest one of the shop's watched folder.
            step: The step that it belongs to.
            parts: The parts that it shows.
            any_age: Whether the newest one may be older than the run.
            keep_position: Whether the copy may tell where it was taken.
            unsure: Whether it is taken although it could not be looked into, or not in full.

        Returns:
            The command that names it in the log, still to be given.

        Raises:
            MayTell: It could not be looked into, and `unsure` is not said: ask.
            BenchrunError: There is no such picture, or the disk refused.
        """
        if source is None:
            since = None if any_age else self._entries[0].at.utc_ms
            source = newest_picture(watched_folder(self.shop), since)
        kept = self.folder.keep_photo(_at_home(source), keep_position=keep_position, unsure=unsure)
        position = e.Position(kept.position)
        return c.KeepPhoto(kept.file, kept.sha256, kept.size, step, source.name, parts, position)

    def sign(self, command: c.Do | c.Close, passphrase: str) -> "Future[Reply]":
        """Give a command that is signed in its own next line: a hold, or the close of the run.

        The key is opened first, so that a wrong passphrase leaves nothing behind.
        """
        return self._submit(lambda: self._sign(command, passphrase))

    def tick(self) -> "Future[None]":
        """Let a second pass: heartbeats while something soaks, seals, clock steps noticed."""
        if self._tick is None or self._tick.done():
            self._tick = self._submit(self._on_tick)
        return self._tick

    def leave(self) -> None:
        """Go away from an open run: seal it and let go of it. Leaving twice is harmless."""
        if not self.left:
            self.left = True
            try:
                self._submit(self._suspend).result()
            finally:
                self._thread.shutdown()
                self._writer.close()

    def _submit(self, work: Callable[[], T]) -> "Future[T]":
        return self._thread.submit(work)

    def _send(self, command: Command) -> Reply:
        try:
            command = self.books.with_tins(self.run, command, self.now())
            reply = self._keep(command, self.hand, self.now())
            if isinstance(reply, Kept) and isinstance(command, c.Stop | c.Resume | c.Settle):
                self._seal(reply.entries[-1].kind)
        except NotKept as error:
            return Refusal(error.message)
        if isinstance(reply, Kept) and isinstance(command, TOUCHING):
            self._follow_soon()
        return reply

    def _follow_soon(self) -> None:
        """Let the books follow after the answer, as what was kept stands by itself."""
        try:
            self._submit(self._follow)
        except RuntimeError:
            self._follow()  # the run is being left: nothing more is taken on

    def _follow(self) -> None:
        self.books.follow(self.run, self._entries)

    def _keep(self, command: Command, hand: Hand, at: Moment) -> Reply:
        data = decide(self.run, command, at, hand)
        if isinstance(data, Refusal):
            return data
        return Kept((self._enter(data, hand.id, at),))

    def _enter(self, data: e.Data, by: str, at: Moment) -> e.Entry:
        entry = e.Entry(self.run.n, at, by, data)
        after = fold(self.run, entry)
        self._writer.append(at, by, entry.kind, e.data_of(data))
        self.run = after
        self._entries.append(entry)
        return entry

    def _sign(self, command: c.Do | c.Close, passphrase: str) -> Reply:
        try:
            key = person_key(self._person).unlock(passphrase)
            return self._signed(command, key)
        except WrongPassphrase:
            # The person knows their key by their name, not by where its file lies.
            said = f"This passphrase does not open the key of {self._person.name}"
            return Refusal(f"{said}: nothing was signed. Type it again.")
        except BenchrunError as error:
            return Refusal(error.message)

    def _signed(self, command: c.Do | c.Close, key: SigningKey) -> Reply:
        hand, own = self.hand, principal(self.shop, self._person.id)
        first = self._keep(command, hand, self.now())
        if isinstance(first, Refusal):
            return first
        if self.run.unsigned is None:
            return first
        self._know(own, key.public, SIGN)
        signed = sign_data(self._writer, key, own)
        command_to_sign = c.SignOff(own, str(signed["sshsig"]))
        second = self._keep(command_to_sign, hand, self.now())
        if isinstance(second, Refusal):
            return second
        self.has_signed = True
        if self.run.ended:
            self._finish()
        else:
            self._seal("hold")
        return Kept((*first.entries, *second.entries))

    def _finish(self) -> None:
        self._follow()
        self._seal("close")
        seal_whole(self.folder, self._writer, self._station)
        self._register("closed")
        self.left = True
        self._writer.close()

    def _know(self, principal: str, key: PublicKey, namespace: str) -> None:
        """Keep a signer's public key in the run's own folder, so that the run stands alone."""
        kept = self.folder.read_signers()
        if all(row.key != key for row in kept.of(principal)):
            after = self.now().utc_ms // 1000 * 1000
            row = Signer(principal, key, (namespace,), after, None, "")
            for trusted in _shop_rows(self.shop, principal, key):
                row = trusted
            self.folder.write_signers(kept.add(row))

    def _seal(self, why: str, raised: int = 0) -> None:
        own = principal(self.shop, STATION)
        data = seal_data(self._writer, self._station, own, why)
        now = self.now()
        self._enter(e.Sealed(str(data["sshsig"]), own, why, raised), STATION, now)
        self._sealed_at = now

    def _register(self, kind: str) -> None:
        state = RunState(self.folder.run, self.run.n - 1, self._writer.head)
        Register(self.shop.path).enter(self.now(), STATION, kind, state)

    def _suspend(self) -> None:
        if not self.run.ended and self.run.n:
            try:
                self._seal("suspend")
                self._register("marked")
            except NotKept:
                return  # the log holds all that was acknowledged; the missing seal is told

    def _on_tick(self) -> None:
        if self.run.ended or self.left:
            return
        now, hand = self.now(), Hand(STATION)
        last = self._entries[-1].at
        slept, self._slept = self.clock.slept_ms() - self._slept, self.clock.slept_ms()
        stepped = _stepped(last, now)
        soaking = any(marker.soak is not None for marker in self.run.each())
        due = soaking and (now.boot != last.boot or now.up_ms - last.up_ms >= BEAT_MS)
        try:
            if stepped or slept > STEP_MS or due:
                self._keep(c.KeepBeat(max(0, slept), stepped), hand, now)
            if self._seal_is_due(now):
                self._seal("quarter hour")
        except NotKept:
            return  # the next command says it where somebody reads it

    def _seal_is_due(self, now: Moment) -> bool:
        sealed = self._sealed_at
        if sealed is None or self._entries[-1].kind == e.Sealed.KIND:
            return False
        if now.boot == sealed.boot and now.up_ms - sealed.up_ms < SEAL_MS:
            return False
        since = self._entries[max(0, self._last_seal()) + 1 :]
        return any(entry.kind != e.Beat.KIND for entry in since)

    def _last_seal(self) -> int:
        for entry in reversed(self._entries):
            if entry.kind == e.Sealed.KIND:
                return entry.n
        return 0

    def start(self, command: c.Open) -> None:
        """Write the first lines of a new run.

        Raises:
            BenchrunError: The batch is refused, or the disk refused.
        """
        reply = self._submit(lambda: self._start(command)).result()
        if isinstance(reply, Refusal):
            raise BenchrunError(reply.text)

    def _start(self, command: c.Open) -> Reply:
        reply = self._keep(command, self.hand, self.now())
        if isinstance(reply, Kept):
            self._know(principal(self.shop, STATION), self._station.public, SEAL)
            self._register("opened")
            self._seal("open")
            self._follow()
        return reply

    def go_on(self) -> None:
        """Fold what the log holds and take it up.

        Raises:
            BenchrunError: The log does not fit its procedure, or the run is closed.
        """
        self._submit(self._go_on).result()

    def _go_on(self) -> None:
        found = self._writer.take_found()
        with no_collecting():
            for line in found.lines:
                self._take(entry_of(line))
        if self.run.ended:
            if not self.folder.seal.is_file():
                self._finish()  # the power went between the close and the seal over the whole
            raise BenchrunError(f"the run {self.folder.run} is closed; benchrun show prints it")
        self._follow()
        if self._writer.set_aside:
            files = tuple(
                e.AsideFile(one.file, one.sha256, one.size) for one in self._writer.set_aside
            )
            self._enter(e.Recovered(files), STATION, self.now())
        self._seal("resume", FORMAT if found.format < FORMAT else 0)


def _shop_rows(shop: Shop, principal: str, key: PublicKey) -> tuple[Signer, ...]:
    from benchrun.record.signers import read_signers

    return tuple(row for row in read_signers(shop.signers).of(principal) if row.key == key)


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
