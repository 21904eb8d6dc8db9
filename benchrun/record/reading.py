"""Opening what lies in a record's folder: plain files only."""

from benchrun.plain_file import open_plain, plain_fd, read_plain

__all__ = ["open_plain", "plain_fd", "read_plain"]
