"""What a step of catching up did, or could not do, with one row or one file: as a value that is told."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Outcome:
    """One thing that was done, or that waits for the owner."""

    where: str
    """The row, the file or the quote."""
    text: str
    waits: bool = False
    """Whether it waits for the owner, who has to read it and do something."""
    notable: bool = False
    """Whether it is said however many others there are: something was done otherwise than the owner may think."""

    def __str__(self) -> str:
        named_once = self.text.removeprefix(f"{self.where}: ").removeprefix(f"{self.where} ")
        return f"{self.where}: {named_once}"
