"""For processes whose time, memory, disk or rights a test bounds.

Where the tests measure coverage, a process that they start measures itself: it is slower, takes more memory
and writes a file when it ends.
"""

import os


def environment(**others: str) -> dict[str, str]:
    """This process's environment without what makes another measure itself; see "patch" in coverage's manual."""
    return {name: value for name, value in os.environ.items() if not name.startswith("COVERAGE_")} | others
