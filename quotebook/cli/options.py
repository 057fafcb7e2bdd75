"""What commands share: the desk they work at, values of options, and how they say things."""

import os
import sys
from datetime import date, datetime
from decimal import Decimal
from pathlib import Path

import click

DISPUTED = 1
"""Exit status where a returned quote is disputed."""


class AtDesk(click.ParamType):
    """A folder that is somebody's desk."""

    name = "dir"

    def convert(self, value, param, context):
        from quotebook.desk import Desk

        return value if isinstance(value, Desk) else Desk(Path(value))


class Number(click.ParamType):
    """A number that stays exact, within limits where there are any."""

    name = "number"

    def __init__(self, least: int | None = None, most: int | None = None):
        self.least, self.most = least, most

    def convert(self, value, param, context):
        from quotebook.engine.money import number

        try:
            found = value if isinstance(value, Decimal) else number(value)
        except ValueError:
            self.fail(f"{value!r} is not a number", param, context)
        if self.least is not None and not self.least <= found <= self.most:
            self.fail(f"{value} is not from {self.least} to {self.most}", param, context)
        return found


class Day(click.ParamType):
    """A date as YYYY-MM-DD."""

    name = "YYYY-MM-DD"

    def convert(self, value, param, context):
        try:
            return value if isinstance(value, date) else datetime.strptime(value, "%Y-%m-%d").date()
        except ValueError:
            self.fail(f"{value!r} is not a date: write it as YYYY-MM-DD", param, context)


NUMBER, DAY = Number(), Day()
FILE = click.Path(path_type=Path)

desk_option = click.option("--desk", type=AtDesk(), default=".", help="Your desk, unless it is this folder.")
json_option = click.option("--json", "as_json", is_flag=True, help="Print JSON instead of words.")


def say(text: str, colour: str | None = None) -> None:
    """A line on standard output; in colour only on a terminal, and not where NO_COLOR is set."""
    click.echo(click.style(text, fg=colour) if colour and _in_colour(sys.stdout) else text)


def complain(text: str) -> None:
    """A line on standard error, likewise."""
    click.echo(click.style(text, fg="red") if _in_colour(sys.stderr) else text, err=True)


def _in_colour(stream) -> bool:
    return stream.isatty() and not os.environ.get("NO_COLOR")


def say_json(value: object) -> None:
    import json

    click.echo(json.dumps(value, indent=2, ensure_ascii=False))


def progress(items, label: str):
    """A progress bar over a list, on a terminal and for more than a few."""
    return click.progressbar(items, label=label, file=sys.stderr, hidden=not sys.stderr.isatty() or len(items) < 5)
