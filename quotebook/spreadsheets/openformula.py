"""Translates formulas and addresses of OpenDocument into the spelling of .xlsx (OpenFormula, OpenDocument 1.3 part 4).

A reference without a plain counterpart (three-dimensional or external) keeps its spelling. The check then reports
a different formula, which is right.
"""

import re

ODS_ADDRESS = re.compile(
    r"""
    \$?(?P<sheet>'[^']*+(?:''[^']*+)*+'|[^'.:$\#\s]*) \. (?P<first>[$A-Za-z0-9]+)
    (?: : (?:\$?(?P<again>'[^']*+(?:''[^']*+)*+'|[^'.:$\#\s]*)\.)? (?P<last>[$A-Za-z0-9]+) )?
    """,
    re.VERBOSE,
)
OPENFORMULA_PREFIX = re.compile(r"\s*(?:(?:of|oooc):)?=", re.IGNORECASE)
EXCEL_PREFIX = re.compile(r"\s*msoxl:=", re.IGNORECASE)

TOKEN = re.compile(
    r"""
      (?P<literal>   "[^"]*+(?:""[^"]*+)*+" )
    | (?P<reference> \[ (?P<address> (?:'[^']*+(?:''[^']*+)*+'|[^\]'])*+ ) \] )
    | (?P<error>     \#[A-Z0-9/]+[!?]? )
    | (?P<sign>      [;~!|{}] )
    """,
    re.VERBOSE,
)
SIGNS_IN_FORMULA = {";": ",", "~": ",", "!": " "}
SIGNS_IN_ARRAY = {";": ",", "|": ";"}
"""The .xlsx spelling of signs outside and inside an inline array."""


def xlsx_address(text: str) -> str:
    """`$'How it is'.$B$4:.$B$9` as `'How it is'!$B$4:$B$9`; any text that is no cell or range, unchanged."""
    match = ODS_ADDRESS.fullmatch(text)
    if not match or match["again"] not in (None, "", match["sheet"]):
        return text
    cells: str = f"{match['first']}:{match['last']}" if match["last"] else match["first"]
    return f"{match['sheet']}!{cells}" if match["sheet"] else cells


def has_excel_prefix(formula: str) -> bool:
    """Whether a formula of an .ods is in the spelling of .xlsx."""
    return EXCEL_PREFIX.match(formula) is not None


def xlsx_formula(formula: str) -> str:
    """`of:=ROUND([.A1];2)` as `ROUND(A1,2)`."""
    if has_excel_prefix(formula):
        return EXCEL_PREFIX.sub("", formula, count=1)
    braces = 0

    def translated(match: re.Match[str]) -> str:
        nonlocal braces
        text: str = match[0]
        braces += (text == "{") - (text == "}")
        if match["reference"]:
            return xlsx_address(match["address"])
        return (SIGNS_IN_ARRAY if braces else SIGNS_IN_FORMULA).get(text, text)

    return TOKEN.sub(translated, OPENFORMULA_PREFIX.sub("", formula, count=1))
