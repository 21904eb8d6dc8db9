"""The one family of errors that a person sees as a message instead of a traceback."""


class BenchrunError(Exception):
    """Something a person can put right: the message says what was found and what would do.

    Args:
        message: One line, without a stack, ready to be shown as it is.
        exit_code: What the command line leaves with (2: could not do it, 1: did it and it is bad).
    """

    def __init__(self, message: str, *, exit_code: int = 2) -> None:
        super().__init__(message)
        self.message = message
        self.exit_code = exit_code


def disk_said(error: OSError) -> str:
    """Say an operating system's refusal in a few words, without its number."""
    return (error.strerror or type(error).__name__).lower()
