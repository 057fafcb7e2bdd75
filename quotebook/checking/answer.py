"""What a client answers in a returned quote: whether it is accepted, and what else is written beside that."""

from collections.abc import Iterator
from enum import StrEnum

from quotebook.checking.comparison import Comparison
from quotebook.contract.vocabulary import ACCEPTED
from quotebook.contract.wording import shown
from quotebook.engine.model import same_text

REPLIES = (ACCEPTED, "accepted_by", "accepted_on", "questions")
"""The cells of an answer, by name."""


class Answer(StrEnum):
    """Whether the client accepts the quote, by what is in the cell for it."""

    YES = "yes"
    NO = "no"
    NONE = "none"
    """The cell is empty."""
    UNCLEAR = "unclear"
    """Something else is there, or the cell cannot be told."""


def answer_of(comparison: Comparison) -> Answer:
    """The client's answer: yes only where the cell holds the quote's own word for it, spaces at its ends aside."""
    found = comparison.returned.cells.get(ACCEPTED)
    if found is None or ACCEPTED in comparison.displaced or found.formula is not None:
        return Answer.UNCLEAR
    said = found.value.strip() if isinstance(found.value, str) else found.value
    if said in (None, ""):
        return Answer.NONE
    words = {Answer.YES: comparison.content.owner["word_yes"], Answer.NO: comparison.content.owner["word_no"]}
    meant = (
        answer
        for answer, word in words.items()
        if isinstance(said, str) and isinstance(word, str) and same_text(said, word)
    )
    return next(meant, Answer.UNCLEAR)


def replies(comparison: Comparison) -> Iterator[tuple[str, str]]:
    """What the client typed in the cells for an answer, by name; what a formula makes there is nobody's answer."""
    for name in REPLIES:
        found = comparison.returned.cells.get(name)
        if found and found.formula is None and (reply := shown(name, found.value)) is not None and reply.strip():
            yield name, reply.strip()
