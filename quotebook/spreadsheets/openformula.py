"""Formulas and addresses of OpenDocument in the spelling of .xlsx (OpenFormula, OpenDocument 1.3 part 4).

What has no plain counterpart (three-dimensional or external references) stays as it was written: it is
then a different formula from any of ours, which is what it is.
"""

import re

ADDRESS = re.compile(
    r"""
    \$?(?P<sheet>'[^']*+(?:''[^']*+)*+'|[^'.:$\#\s]*) \. (?P<first>[$A-Za-z0-9]+)
    (?: : (?:\$?(?P<again>'[^']*+(?:''[^']*+)*+'|[^'.:$\#\s]*)\.)? (?P<last>[$A-Za-z0-9]+) )?
    """,
    re.VERBOSE,
)
SYNTAX = re.compile(r"\s*(?:(?:of|oooc):)?=", re.IGNORECASE)
EXCEL_SYNTAX = re.compile(r"\s*msoxl:=", re.IGNORECASE)

PIECE = re.compile(
    r"""
      (?P<literal>   "[^"]*+(?:""[^"]*+)*+" )
    | (?P<reference> \[ (?P<place> (?:'[^']*+(?:''[^']*+)*+'|[^\]'])*+ ) \] )
    | (?P<error>     \#[A-Z0-9/]+[!?]? )
    | (?P<sign>      [;~!|{}] )
    """,
    re.VERBOSE,
)
IN_FORMULA = {";": ",", "~": ",", "!": " "}
IN_ARRAY = {";": ",", "|": ";"}


def address(text: str) -> str:
    """`$'How it is'.$B$4:.$B$9` as `'How it is'!$B$4:$B$9`; what is no cell or range, as it was."""
    match = ADDRESS.fullmatch(text)
    if not match or match["again"] not in (None, "", match["sheet"]):
        return text
    area = f"{match['first']}:{match['last']}" if match["last"] else match["first"]
    return f"{match['sheet']}!{area}" if match["sheet"] else area


def excel(formula: str) -> str:
    """`of:=ROUND([.A1];2)` as `ROUND(A1,2)`."""
    if EXCEL_SYNTAX.match(formula):
        return EXCEL_SYNTAX.sub("", formula, count=1)
    braces = 0

    def spelled(match: re.Match) -> str:
        nonlocal braces
        text = match[0]
        braces += (text == "{") - (text == "}")
        if match["reference"]:
            return address(match["place"])
        return (IN_ARRAY if braces else IN_FORMULA).get(text, text)

    return PIECE.sub(spelled, SYNTAX.sub("", formula, count=1))
