"""Breaks a room of the package in small ways, one at a time: do the room's own tests notice?

    python tests/mutants.py engine --sample 150 --seed 1

mutmut swaps an operator, changes a constant, drops an argument and so on, in a copy of the project under
build/mutants, and runs for each mutant those of the room's tests that reach its function, until one fails.
Prints what survived, each as a diff, and what took too long, since that may be its tests alone on a busy machine.
It changes functions, not the constants of a module, and leaves out functions with a decorator.
"""

import argparse
import os
import random
import re
import shutil
import subprocess
import sys
from pathlib import Path

from mutmut.mutation.file_mutation import mutate_file_contents

ROOT = Path(__file__).parent.parent
COPIED = ("quotebook", "templates", "tests", "sample_sheets", "README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml")
SETTINGS = """
[tool.mutmut]
source_paths = ["quotebook"]
only_mutate = ["quotebook/{room}/*"]
pytest_add_cli_args_test_selection = {tests}
also_copy = {copied}
timeout_constant = 10
timeout_multiplier = 1.5
"""
MUTMUT = (sys.executable, "-m", "mutmut")
OUTLIVED = re.compile(r"^\s+(\S+): (survived|no tests|suspicious|timeout)$", re.MULTILINE)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("room", help="a folder of quotebook/, such as engine")
    parser.add_argument("--tests", nargs="+", help="its tests, if they are not those in the folder of its name")
    parser.add_argument("--sample", type=int, help="so many mutants, taken at random; all of them otherwise")
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    os.chdir(copy_project(asked.room, asked.tests or [f"tests/{asked.room}"]))  # mutmut works where it is called
    names = mutants_of(asked.room)
    taken = random.Random(asked.seed).sample(names, min(asked.sample or len(names), len(names)))
    print(f"{len(taken)} of {len(names)} mutants of {asked.room}, seed {asked.seed}", flush=True)
    subprocess.run([*MUTMUT, "run", "--max-children", "1", *taken], check=True, stdout=subprocess.DEVNULL)
    outlived = [found for found in OUTLIVED.findall(mutmut_says("results")) if found[0] in taken]
    for name, status in outlived:
        print(f"\n{status}:", mutmut_says("show", name))
    print(f"{len(taken)} mutants, {len(outlived)} not noticed")


def copy_project(room: str, tests: list[str]) -> Path:
    """A fresh copy of the project, which mutmut is told to change in one room."""
    folder = ROOT / "build" / "mutants" / room
    shutil.rmtree(folder, ignore_errors=True)
    folder.mkdir(parents=True)
    for name in COPIED:
        copy = shutil.copytree if (ROOT / name).is_dir() else shutil.copy
        copy(ROOT / name, folder / name)
    with (folder / "pyproject.toml").open("a") as settings:
        settings.write(SETTINGS.format(room=room, tests=tests, copied=list(COPIED[1:])))
    return folder


def mutants_of(room: str) -> list[str]:
    """The names that mutmut gives to the mutants of a room: its module, function and number."""
    names = []
    for path in sorted(Path("quotebook", room).glob("*.py")):
        module = f"quotebook.{room}" if path.stem == "__init__" else f"quotebook.{room}.{path.stem}"
        names += [f"{module}.{name}" for name in mutate_file_contents(str(path), path.read_text()).mutant_names]
    return names


def mutmut_says(*arguments: str) -> str:
    return subprocess.run([*MUTMUT, *arguments], check=True, capture_output=True, text=True).stdout


if __name__ == "__main__":
    main()
