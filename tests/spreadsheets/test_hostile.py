"""Hostile files: always a workbook or one sentence, never a traceback, a hang, or more than 300 MB.

Run as a program it prints the verdict on each file named, then the most memory that it ever had.
"""

import os
import random
import re
import signal
import subprocess
import sys
import zipfile
from contextlib import contextmanager
from decimal import Decimal
from io import BytesIO
from pathlib import Path

import handmade
import hostile_files
import pytest

from quotebook.contract.values import day_of, is_day
from quotebook.errors import Unreadable
from quotebook.evaluation.sameness import same_formula
from quotebook.spreadsheets.reading import read_workbook

MEGABYTES = 300
TESTS = Path(__file__).parents[1]
"""Where the modules that tests share are."""

SECONDS = 20


@contextmanager
def in_time():
    """Ends what takes longer than SECONDS, wherever it is."""

    def too_long(*_):
        raise TimeoutError(f"more than {SECONDS} s")

    before = signal.signal(signal.SIGALRM, too_long)
    signal.alarm(SECONDS)
    try:
        yield
    finally:
        signal.alarm(0)
        signal.signal(signal.SIGALRM, before)


def verdict(path: Path) -> str:
    """What became of a file: "read", or the sentence. Everything that a check asks of a workbook is asked."""
    with in_time():
        try:
            workbook = read_workbook(path)
        except Unreadable as refusal:
            return str(refusal)
        for name in workbook.names:
            workbook.resolve(name)
        for sheet in workbook.sheets:
            for cell in sheet.cells.values():
                same_formula(cell.formula or "", "total")
                if isinstance(cell.value, Decimal) and is_day(cell.value):
                    day_of(cell.value)
        return "read"


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="the most memory of a process is told by Linux")
def test_files_that_are_too_much(tmp_path):
    files = list(hostile_files.everything(tmp_path))
    command = [sys.executable, __file__, *(str(path) for path, _ in files)]
    settings = {**os.environ, "PYTHONPATH": str(TESTS)}
    said = subprocess.run(command, capture_output=True, text=True, timeout=20 * SECONDS, env=settings, check=False)
    assert (said.stderr, said.returncode) == ("", 0)
    *verdicts, memory = said.stdout.splitlines()
    for (path, word), verdict_ in zip(files, verdicts, strict=True):
        assert word in verdict_.removeprefix(str(path)), path.name
    assert int(memory) < MEGABYTES


# Mutations of real workbooks: of the file's bytes, and of the XML within a sound package.


@pytest.fixture(scope="module")
def victims(tmp_path_factory, soffice):
    folder = tmp_path_factory.mktemp("victims")
    quote, rich = handmade.client_workbook(folder / "quote.xlsx"), handmade.rich_workbook(folder / "rich.xlsx")
    by_hand = handmade.pack(folder / "hand.xlsx", handmade.parts(BY_HAND, shared="<si><t>a</t></si>"))
    return [path.read_bytes() for path in (quote, rich, by_hand, *soffice.convert([quote, rich], folder, "ods"))]


BY_HAND = (
    '<row r="1"><c r="A1"><f t="shared" ref="A1:A2" si="0">B1*2</f><v>2</v></c><c r="B1" t="s"><v>0</v></c></row>'
    '<row r="2"><c r="A2"><f t="shared" si="0"/><v>4</v></c><c r="B2" t="d"><v>2026-06-20</v></c>'
    '<c r="C2" t="inlineStr"><is><r><t>x_x000D_</t></r></is></c><c r="D2" t="b"><v>1</v></c>'
    '<c t="e"><v>#REF!</v></c></row>'
)
EVIL = (
    "-1", "0", "99999999999999999999", "1e999", "NaN", "", " ", "A", "A0", "XFE1", "_xFFFF_", "&#9;", "٣", "&amp;" * 50,
    "=", "'", "''", "(" * 300, '"', "#REF!", "inlineStr", "shared", "d", "s", "b", "str", "date", "float", "1904-02-30",
    "../..", "PT9H", "true", "\x00", "\ufffe", "&x;", "<c/>", "<v>1</v>", "</c>", "<!--", "<![CDATA[", "<?x?>", "[",
    "{1;2|3}",
)  # fmt: skip


def with_other_bytes(chance: random.Random, data: bytes) -> bytes:
    """A few bytes changed, cut out, doubled, or a stretch moved."""
    changed = bytearray(data)
    for _ in range(chance.randint(1, 8)):
        at, length = chance.randrange(len(changed)), chance.choice((1, 1, 2, 4, 40, 4_000))
        kind = chance.randrange(4)
        if kind == 0:
            changed[at] = chance.randrange(256)
        elif kind == 1:
            del changed[at : at + length]
        elif kind == 2:
            changed[at:at] = changed[at : at + length]
        else:
            changed[at : at + length] = bytes(chance.randrange(256) for _ in range(length))
        changed = changed or bytearray(b"P")
    return bytes(changed)


def with_other_xml(chance: random.Random, text: str) -> str:
    """An attribute's value, a text or a tag exchanged for a bad one, or for another from the same part."""
    found = list(re.finditer(chance.choice((r'(?<==")[^"]*(?=")', r"(?<=>)[^<]+(?=<)", r"<[^>]+>")), text))
    if not found:
        return text[: len(text) // 2]
    match = chance.choice(found)
    other = chance.choice(EVIL) if chance.random() < 0.7 else chance.choice(found)[0]
    return text[: match.start()] + other + text[match.end() :]


PARTS_READ = re.compile(r"xl/(worksheets/[^/]+|workbook|sharedStrings)\.xml|(xl/)?_rels/.*|content\.xml")


def with_a_bad_part(chance: random.Random, data: bytes, path: Path) -> Path:
    with zipfile.ZipFile(BytesIO(data)) as archive:
        members = {info.filename: archive.read(info) for info in archive.infolist()}
    name = chance.choice([name for name in members if PARTS_READ.fullmatch(name)])
    text = members[name].decode()
    for _ in range(chance.randint(1, 3)):
        text = with_other_xml(chance, text)
    return handmade.pack(path, members | {name: text.encode("utf-8", "surrogatepass")})


def mutated(seed: int, victims: list[bytes], path: Path) -> Path:
    chance = random.Random(seed)
    data = chance.choice(victims)
    if seed % 3:
        return with_a_bad_part(chance, data, path)
    path.write_bytes(with_other_bytes(chance, data))
    return path


def verdicts_on(seeds, victims, folder) -> dict[int, str]:
    said = {}
    for seed in seeds:
        said[seed] = verdict(mutated(seed, victims, folder / "mutated")).removeprefix(str(folder / "mutated"))
        assert "\n" not in said[seed] and len(said[seed]) < 500, seed
    return said


def test_mutations(victims, tmp_path):
    said = verdicts_on(range(80), victims, tmp_path)
    assert 10 < list(said.values()).count("read") < 70  # neither all harmless nor all nonsense
    assert len({text.partition(";")[0] for text in said.values()}) > 12  # and of many kinds


@pytest.mark.slow
def test_mutations_at_length(victims, tmp_path):
    verdicts_on(range(1_000, 9_000), victims, tmp_path)


if __name__ == "__main__":
    for argument in sys.argv[1:]:
        print(verdict(Path(argument)))
    print(int(re.search(r"VmHWM:\s+(\d+) kB", Path("/proc/self/status").read_text())[1]) // 1024)
