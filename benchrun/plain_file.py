"""Opening what lies in a folder that a stranger may have made: plain files only."""

import errno
import os
import stat
from io import BufferedReader, FileIO
from pathlib import Path


def plain_fd(path: Path, flags: int = os.O_RDONLY) -> int:
    """Open a file; a pipe or a device, which could hold the opener up for ever, is refused.

    Returns:
        Its number; whoever asked closes it.

    Raises:
        OSError: It is missing, may not be opened, or is no plain file.
    """
    fd = os.open(path, flags | os.O_CLOEXEC | os.O_NONBLOCK)
    mode = os.fstat(fd).st_mode
    if stat.S_ISREG(mode):
        return fd
    os.close(fd)
    if stat.S_ISDIR(mode):
        raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR))
    raise OSError(errno.EINVAL, "it is a pipe or a device, not a plain file")


def open_regular(path: Path) -> BufferedReader:
    """Open a plain file to read.

    Raises:
        OSError: It is missing, may not be read, or is no plain file.
    """
    return BufferedReader(FileIO(plain_fd(path)), 1 << 18)


def read_plain(path: Path) -> bytes:
    """All bytes of a plain file.

    Raises:
        OSError: It is missing, may not be read, or is no plain file.
    """
    with FileIO(plain_fd(path)) as file:  # no buffer between: it would be copied out of that
        return file.readall()
