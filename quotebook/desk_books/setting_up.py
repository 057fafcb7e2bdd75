"""Puts into a new desk what its owner works with: the request book, the post folder, and two files to double-click."""

import sys
from pathlib import Path

from quotebook.desk import Desk
from quotebook.desk_books.places import post_folder, request_book
from quotebook.desk_books.request_book import write_request_book
from quotebook.files import atomically

COMMAND = "catch-up.command"
"""For macOS and Linux: a shell script that a double click runs in a terminal."""
BATCH = "catch-up.bat"
"""For Windows."""

_COMMAND_TEXT = """#!/bin/sh
# Takes in what is new at this desk, and shows what waits. The window stays open until you press Enter.
cd "$(dirname "$0")" || exit
if [ -x "{python}" ]; then
    "{python}" -m quotebook catch-up
else
    quotebook catch-up
fi
printf "Press Enter to close this window. "
read -r _
"""

_BATCH_TEXT = """@echo off
rem Takes in what is new at this desk, and shows what waits. The window stays open until you press a key.
cd /d "%~dp0"
if exist "{python}" ("{python}" -m quotebook catch-up) else (quotebook catch-up)
pause
"""


def set_up(desk: Desk) -> None:
    """Write whatever of it a desk lacks. Nothing that is there is changed.

    The files to double-click name the Python that quotebook runs with now; without it they look on the path.
    """
    post_folder(desk).mkdir(exist_ok=True)
    if not desk.unit_of_entries():
        desk.note_unit(desk.card().firm.length_unit)
    if not request_book(desk).exists():
        with atomically(request_book(desk)) as path, path.open("wb") as file:
            write_request_book(file, desk.card())
    _write(desk.folder / COMMAND, _COMMAND_TEXT, 0o755)
    _write(desk.folder / BATCH, _BATCH_TEXT.replace("\n", "\r\n"), 0o644)


def _write(path: Path, text: str, mode: int) -> None:
    if not path.exists():
        with atomically(path) as temporary:
            temporary.write_bytes(text.replace("{python}", sys.executable).encode())
            temporary.chmod(mode)
