"""What the tests share: `--slow`, and the spreadsheet engines."""

import gc
import os
import sys
from pathlib import Path

import extent
import gnumeric as gnumeric_program
import pytest
import soffice as libreoffice
from hypothesis import HealthCheck, settings


def pytest_addoption(parser):
    parser.addoption("--slow", action="store_true", help="run the tests marked slow as well")


BYTECODE = Path(__file__).parent.parent / ".pytest_cache" / "bytecode"
"""Compiled modules are kept there, wherever the machine keeps none: the tests start hundreds of processes, and each
would compile all that it imports.
"""


def pytest_configure(config):
    if sys.dont_write_bytecode:
        sys.dont_write_bytecode = False
        sys.pycache_prefix = os.environ["PYTHONPYCACHEPREFIX"] = str(BYTECODE)
        os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
    if config.getoption("--slow"):
        os.environ[extent.SLOW] = "1"
    settings.register_profile(
        "busy machine",
        max_examples=extent.extent(25, 100),
        deadline=None,
        suppress_health_check=[HealthCheck.too_slow],
    )
    settings.load_profile("busy machine")


def pytest_collection_modifyitems(config, items):
    if config.getoption("--slow"):
        return
    for item in items:
        if "slow" in item.keywords:
            item.add_marker(pytest.mark.skip(reason="a long profile: run with --slow"))


def pytest_collection_finish():
    """Garbage is looked for seldom, and not among the modules and tests, which stay to the end."""
    from quotebook.cli.options import spare_what_is_loaded  # not before it is said where compiled modules are kept

    gc.collect()
    spare_what_is_loaded()


@pytest.fixture(scope="session")
def soffice():
    """`tests/soffice.py`, where LibreOffice is installed: `soffice.convert(paths, folder, to="xlsx")`.

    Where QUOTEBOOK_REQUIRE_ENGINES is set, its absence is a failure and not a skip.
    """
    if libreoffice.PROGRAM is None:
        _without("LibreOffice (soffice) is not installed")
    return libreoffice


@pytest.fixture(scope="session")
def by_libreoffice(soffice):
    """`soffice.work`, where LibreOffice can be told what to edit: it takes the system's `python3-uno`."""
    if not soffice.can_be_spoken_to():
        _without("LibreOffice cannot be spoken to (python3-uno)")
    return soffice.work


@pytest.fixture(scope="session")
def gnumeric():
    """`tests/gnumeric.py`, where Gnumeric is installed: `gnumeric.convert(paths, folder)`.

    Where QUOTEBOOK_REQUIRE_ENGINES is set, its absence is a failure and not a skip.
    """
    if gnumeric_program.PROGRAM is None:
        _without("Gnumeric (ssconvert) is not installed")
    return gnumeric_program


def _without(engine: str):
    if os.environ.get("QUOTEBOOK_REQUIRE_ENGINES"):
        pytest.fail(engine)
    pytest.skip(engine)
