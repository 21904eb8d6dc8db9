"""Signing through ssh-agent, which may keep keys in a hardware token and ask for a touch.

The protocol is draft-ietf-sshm-ssh-agent: list the keys (11, answered by 12), sign (13, answered
by 14); 5 means no.
"""

import os
import socket
from typing import Final

from benchrun.errors import BenchrunError, disk_said
from benchrun.lean_dataclass import lean_dataclass
from benchrun.record.wire import PublicKey, Reader, WireError, pack

_LIST, _LISTED, _SIGN, _SIGNED = 11, 12, 13, 14
_MOST_BYTES: Final = 256 * 1024
_SECONDS: Final = 60.0  # a person may have to find the token and touch it


@lean_dataclass(frozen=True, slots=True)
class AgentKey:
    """A key that an agent holds.

    Attributes:
        public: Its public half.
        comment: What the agent calls it.
        socket_path: Where the agent listens.
    """

    public: PublicKey
    comment: str
    socket_path: str

    def sign(self, message: bytes) -> bytes:
        """Have the agent sign a message; the result is SSH's wire form of a signature.

        Raises:
            BenchrunError: The agent refused, is gone, or nobody confirmed in time.
        """
        request = bytes([_SIGN]) + pack(self.public.blob, message) + bytes(4)
        kind, reader = _ask(self.socket_path, request)
        if kind != _SIGNED:
            raise BenchrunError("ssh-agent did not sign: is the key still loaded, was it touched?")
        try:
            signature = reader.string()
            reader.end()
        except WireError as error:
            raise BenchrunError(f"ssh-agent's answer makes no sense: {error}") from None
        return signature


def agent_keys(socket_path: str | None = None) -> tuple[AgentKey, ...]:
    """List the Ed25519 keys that an agent holds; keys of other kinds are left out.

    Args:
        socket_path: Where the agent listens; None for what SSH_AUTH_SOCK says.

    Raises:
        BenchrunError: No agent is there or it does not answer.
    """
    where = socket_path or os.environ.get("SSH_AUTH_SOCK")
    if not where:
        raise BenchrunError("no ssh-agent is running here (SSH_AUTH_SOCK is not set)")
    kind, reader = _ask(where, bytes([_LIST]))
    if kind != _LISTED:
        raise BenchrunError("ssh-agent does not list its keys")
    keys = []
    try:
        for _ in range(reader.uint32()):
            blob, comment = reader.string(), reader.string()
            try:
                public = PublicKey.from_blob(blob)
            except WireError:
                continue
            keys.append(AgentKey(public, comment.decode("utf-8", "replace"), where))
    except WireError as error:
        raise BenchrunError(f"ssh-agent's answer makes no sense: {error}") from None
    return tuple(keys)


def _ask(where: str, request: bytes) -> tuple[int, Reader]:
    try:
        with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as agent:
            agent.settimeout(_SECONDS)
            agent.connect(where)
            agent.sendall(pack(request))
            size = int.from_bytes(_receive(agent, 4), "big")
            if not 1 <= size <= _MOST_BYTES:
                raise BenchrunError("ssh-agent's answer makes no sense: its length is wrong")
            answer = _receive(agent, size)
    except OSError as error:
        raise BenchrunError(f"ssh-agent does not answer: {disk_said(error)}") from None
    return answer[0], Reader(answer[1:])


def _receive(agent: socket.socket, count: int) -> bytes:
    answer = b""
    while len(answer) < count:
        more = agent.recv(count - len(answer))
        if not more:
            raise BenchrunError("ssh-agent hung up")
        answer += more
    return answer
