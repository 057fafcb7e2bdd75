"""Where the owner's books lie in a desk."""

from pathlib import Path

from quotebook.desk import Desk


def request_book(desk: Desk) -> Path:
    """The workbook in which the owner enters requests, a row each."""
    return desk.folder / "requests.xlsx"


def request_lists(desk: Desk) -> list[Path]:
    """The request book, and the same as .csv, where the desk has them."""
    return [path for path in (request_book(desk), desk.folder / "requests.csv") if path.exists()]


def post_folder(desk: Desk) -> Path:
    """The folder into which the owner drops what clients send back."""
    return desk.folder / "post"


def desk_book(desk: Desk) -> Path:
    """The workbook that shows how everything stands, and in which the owner decides."""
    return desk.folder / "desk_book.xlsx"


def earlier_books(desk: Desk) -> Path:
    """The folder that keeps the desk book as the owner left it, each time before it is written anew."""
    return desk.folder / "earlier_books"
