"""How functions take what they are given: as numbers, one by one or all together, or as truths."""

from collections.abc import Callable, Sequence

from quotebook.evaluation.values import NOT_A_VALUE, Array, Scalar, finite, number_of, truth_of
from quotebook.spreadsheets.cells import Fault


class Numbers(list[float]):
    """The numbers of any number of arguments."""


def numbers_in(arguments: Sequence[Scalar | Array]) -> Numbers | Fault:
    """What counts as a number: in cells and arrays the numbers, by themselves also truths and texts of numbers."""
    found = Numbers()
    for argument in arguments:
        if isinstance(argument, Array):
            for cell in argument.cells:
                if isinstance(cell, Fault):
                    return cell
                if type(cell) is float:
                    found.append(cell)
            continue
        value = number_of(argument)
        if isinstance(value, Fault):
            return value
        found.append(value)
    return found


def of_numbers(work_out: Callable[[Numbers], Scalar]) -> Callable[..., Scalar]:
    """A function of any number of numbers; the first error among them is the answer."""

    def function(*arguments: Scalar | Array) -> Scalar:
        numbers = numbers_in(arguments)
        return numbers if isinstance(numbers, Fault) else work_out(numbers)

    return function


def sum_of(numbers: Sequence[float]) -> Scalar:
    """SUM: one after another; what is left of figures that cancel is not taken for 0, as it is between `+` and `-`."""
    return finite(sum(numbers, 0.0))


def of_one(work_out: Callable[..., Scalar]) -> Callable[..., Scalar]:
    """A function of single numbers; the first error among them is the answer."""

    def function(*arguments: Scalar, **told: int) -> Scalar:
        numbers = []
        for argument in arguments:
            number = argument if type(argument) is float else number_of(argument)
            if isinstance(number, Fault):
                return number
            numbers.append(number)
        return work_out(*numbers, **told)

    return function


def of_truths(holds: Callable[[list[bool]], bool]) -> Callable[..., Scalar]:
    """A function of any number of truths; of none at all it is #VALUE!."""

    def function(*arguments: Scalar | Array) -> Scalar:
        truths = truths_in(arguments)
        return truths if isinstance(truths, Fault) else holds(truths)

    return function


def truths_in(arguments: Sequence[Scalar | Array]) -> list[bool] | Fault:
    """A LogicalSequence (OpenFormula): in cells, texts and blanks do not count."""
    found = []
    for argument in arguments:
        if type(argument) is bool:
            found.append(argument)
            continue
        for cell in argument.cells if isinstance(argument, Array) else (argument,):
            if isinstance(argument, Array) and (cell is None or isinstance(cell, str)):
                continue
            truth = truth_of(cell)
            if isinstance(truth, Fault):
                return truth
            found.append(truth)
    return found or NOT_A_VALUE
