"""What can go wrong with a file or a command, each with the sentence that a user reads.

A finding about a returned workbook is a value (`checking.findings.Finding`), not an exception:
exceptions are for what cannot be read or done at all. The command line turns them into one line and a status.
"""


class QuotebookError(Exception):
    """Anything that ends a command. `status` is the process's exit status."""

    status = 2


class Misuse(QuotebookError):
    """The command was asked for something that cannot be done as asked."""


class Doubtful(Misuse):
    """What makes no sense unless it is meant so: it is done only when it is confirmed."""


class InvalidInput(QuotebookError):
    """Figures in the rate card or a request that cannot be used; `complaints` has one line each."""

    def __init__(self, heading: str, complaints: list[str]):
        super().__init__("\n".join([heading, *(f"  {complaint}" for complaint in complaints)]))
        self.complaints = complaints


class NotProved(QuotebookError):
    """A workbook whose own formulas do not come to what the engine does. It was not issued."""


class Unreadable(QuotebookError):
    """A file that cannot be read as the workbook it should be."""

    status = 3
