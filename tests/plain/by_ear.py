"""The plain face as it is heard: what is said from one key to the next, and how long that takes.

Nobody listens to a terminal here: `Heard` stands where a person sits, waits as the script says,
speaks up when a clock does, and keeps apart what was said after each answer.
"""

import io
import re
import shutil
import subprocess
import tempfile
import wave
from collections.abc import Callable, Sequence
from pathlib import Path
from unittest import mock

from benchrun.plain.start import open_plain
from benchrun.plain.talk import Gone, Speak, Talk
from benchrun.record.clock import VirtualClock
from benchrun.shop.folder import Shop

Rule = Callable[[str, Sequence[str]], tuple[str, int] | None]
SPEAKER = shutil.which("espeak-ng")
MOST_S = 12.0
"""How long an act may take to hear."""


class Letters(io.StringIO):
    """What takes every letter and sign, as terminals of today do."""

    encoding = "utf-8"


class Heard(Talk):
    """Hears what is said and answers by a rule.

    Args:
        clock: Goes on while the person thinks, and as far as the rule says.
        answer: Gives the answer to a prompt from the lines heard before it, with milliseconds that
            go by before it is typed; None: nobody answers any more.
    """

    def __init__(self, clock: VirtualClock, answer: Rule) -> None:
        super().__init__(io.StringIO(), Letters())
        self._clock = clock
        self._answer = answer
        self.turns: list[list[str]] = [[]]
        self.answers: list[str] = []

    @property
    def answered(self) -> bool:
        """Whether any line was read."""
        return bool(self.answers)

    def say(self, text: str = "") -> None:
        """Hear one line."""
        super().say(text)
        line = self.line(text).strip()
        if line:
            self.turns[-1].append(line)

    def ask_while(self, prompt: str, speak: Speak) -> str:
        """Hear a prompt, and what is said while nobody types."""
        said, _ = speak()
        for line in said:
            self.say(line)
        self.say(prompt)
        given = self._answer(prompt, self.turns[-1])
        if given is None:
            raise Gone
        until = self._clock.now().up_ms + given[1]
        while self._clock.now().up_ms < until:
            self._clock.wait(min(1000, until - self._clock.now().up_ms))
            said, _ = speak()
            if said:
                self.turns.append([*map(self.line, said), self.line(prompt)])
                self.answers.append("(waits)")
        self.turns.append([])
        self.answers.append(given[0])
        self.said_s = 0.0
        return given[0]

    def ask_secret(self, prompt: str) -> str:
        """Hear what a passphrase is asked for, and type it."""
        return self.ask(prompt)

    def heard(self, seconds: float) -> str | None:
        """Nothing comes by itself."""
        raise Gone


def listen(shop: Shop, heard: Heard, clock: VirtualClock, procedure: Path | None = None) -> None:
    """Go on until the answers end; of a run's four signs none is a figure, which is said longer."""
    with mock.patch("benchrun.record.folder._TAG_LETTERS", "hkmprt"):
        open_plain(shop.path, procedure=procedure, talk=heard, clock=clock)


def spoken(lines: Sequence[str]) -> str:
    """Lines as they go to the synthesiser: what is no letter, digit or stop is not said."""
    return "\n".join(line for line in lines if re.search(r"\w", line))


def seconds(lines: Sequence[str]) -> float:
    """How long the speech synthesiser takes to say lines, by its default voice and speed."""
    assert SPEAKER is not None
    text = spoken(lines)
    if not text:
        return 0.0
    with tempfile.TemporaryDirectory() as folder:
        sound = Path(folder) / "said.wav"
        subprocess.run([SPEAKER, "-w", sound, "--stdin"], input=text.encode(), check=True)
        with wave.open(str(sound)) as file:
            return file.getnframes() / file.getframerate()
