"""Runs the command line where the command itself is not on the path: `python -m quotebook`."""

from quotebook.cli import main

main(prog_name="quotebook")
