"""The parts of README.md and DEVELOPERS.md that are produced from the code.

`python tests/docs.py` writes them anew between their markers; `test_docs.py` says when they have
drifted. A marker is `<!-- NAME: ARGUMENT -->` and its end `<!-- /NAME -->`.
"""

import ast
import contextlib
import inspect
import re
import shlex
import shutil
import tempfile
import textwrap
import tomllib
from pathlib import Path

from click.testing import CliRunner

from quotebook.cli import main
from quotebook.contract import formulas
from quotebook.engine import price
from quotebook.engine.figures import LINE_FIGURES, QUOTE_FIGURES

ROOT = Path(__file__).parent.parent
DOCUMENTS = (ROOT / "README.md", ROOT / "DEVELOPERS.md")
BLOCK = re.compile(
    r"(<!-- (?P<name>\w+)(?:: (?P<argument>.*?))? -->\n)(?P<text>.*?)(\n?<!-- /(?P=name) -->)", re.DOTALL
)


def renewed(text: str, folder: Path) -> str:
    """A document with every produced part made anew; commands run in `folder`, one after another."""
    return BLOCK.sub(lambda block: _renewed(block, folder), text)


def _renewed(block: re.Match, folder: Path) -> str:
    make = PARTS.get(block["name"])
    if make is None:
        return block[0]
    return (
        f"{block[1]}{make(block['argument'], folder)}{block[5] if block[5].startswith(chr(10)) else chr(10) + block[5]}"
    )


def output(command: str, folder: Path) -> str:
    """What a command prints, under the command itself."""
    program, *arguments = shlex.split(command)
    assert program == "quotebook"
    if not (folder / "sample_sheets").exists():
        shutil.copytree(ROOT / "sample_sheets", folder / "sample_sheets")
    with contextlib.chdir(folder):
        result = CliRunner().invoke(main, list(_expanded(arguments)))
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    lines = [line.rstrip() for line in result.output.splitlines()]
    return "\n".join(["```", f"$ {command}", *lines, "```"])


def _expanded(arguments: list[str]):
    """Patterns as a shell expands them."""
    for argument in arguments:
        found = sorted(str(path) for path in Path().glob(argument)) if "*" in argument else []
        yield from found or [argument]


def commands(_, folder: Path) -> str:
    """Every command and the first sentence of its help."""
    rows = [
        f"| `{name}` | {inspect.cleandoc(command.help).split(chr(10) * 2)[0].replace(chr(10), ' ')} |"
        for name, command in main.commands.items()
    ]
    return "\n".join(["| command | what it does |", "|---|---|", *rows])


def figures(_, folder: Path) -> str:
    """Every figure: its formula, what works it out, and the test that holds it to a value worked by hand."""
    on_lines = [(f"{name}_#", "LINE", f"test_line_figure[{name}]", _origin(name, price.LINE)) for name in LINE_FIGURES]
    of_quote = [
        (name, "QUOTE", f"test_quote_figure[{name}]", _origin(name, (*price.OPENING, *price.CLOSING)))
        for name in QUOTE_FIGURES
    ]
    assert all(name in vars(formulas)[table] for name, table, _, _ in on_lines + of_quote)
    heading = "| figure | formula in `contract/formulas.py` | in the engine | test in `tests/engine/test_price.py` |"
    rows = [f"| `{name}` | `{table}` | {origin} | `{test}` |" for name, table, test, origin in on_lines + of_quote]
    return "\n".join([heading, "|---|---|---|---|", *rows])


def _origin(name: str, steps) -> str:
    """What works a figure out: a function of the engine, or `price` itself."""
    for step in steps:
        if step.figure == name:
            return f"`{step.function.__module__.removeprefix('quotebook.engine.')}.{name}`"
    if name in price.SUMMED:
        return "summed over the lines by `price`"
    return f"looked up by `price` in the panel's {'subfloor' if name in price.OF_SUBFLOOR else 'kind'}"


def formula_book(_, folder: Path) -> str:
    """Each figure as the workbook works it out, and as the engine does."""
    functions = [step.function for step in (*price.OPENING, *price.LINE, *price.CLOSING)]
    by_formula = formulas.LINE | formulas.QUOTE
    parts = []
    for function in dict.fromkeys(functions):
        name = function.__name__
        formula = by_formula.get(f"{name}_#", by_formula.get(name))
        if formula:
            parts.append(f"**`{name}`**\n\n```\n={formula}\n```\n```python\n{_body(function)}\n```")
    return "\n\n".join(parts)


def _body(function) -> str:
    """A function's source without its docstring."""
    source = inspect.getsource(function)
    if function.__doc__:
        source = re.sub(r'\n    """.*?"""', "", source, count=1, flags=re.DOTALL)
    return textwrap.dedent(source).rstrip()


def rooms(_, folder: Path) -> str:
    """Every room of the package from the bottom up, with its modules: the layers that the import linter holds."""
    contracts = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["importlinter"]["contracts"]
    layers = next(contract["layers"] for contract in contracts if contract["type"] == "layers")
    lines = ["| room | what is there | modules |", "|---|---|---|"]
    for layer in reversed(layers):
        lines += [_room(name) for name in layer.split(" | ")]
    return "\n".join(lines)


def _room(name: str) -> str:
    folder = ROOT / "quotebook" / name
    if not folder.is_dir():
        return f"| `{name}` | {_first_line(folder.with_suffix('.py'))} | |"
    modules = sorted(path.stem for path in folder.glob("*.py") if path.name != "__init__.py")
    return f"| `{name}/` | {_first_line(folder / '__init__.py')} | {', '.join(modules)} |"


def _first_line(path: Path) -> str:
    return ast.get_docstring(ast.parse(path.read_text())).splitlines()[0]


PARTS = {"rooms": rooms, "output": output, "commands": commands, "figures": figures, "formulas": formula_book}


def write() -> None:
    for document in DOCUMENTS:
        with tempfile.TemporaryDirectory() as folder:
            document.write_text(renewed(document.read_text(), Path(folder)))


if __name__ == "__main__":
    write()
