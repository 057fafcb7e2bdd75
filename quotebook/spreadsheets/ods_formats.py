"""The number formats of an .ods in the spelling of .xlsx (OpenDocument 1.3 part 3, 16.29; ECMA-376 part 1, 18.8.31)."""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from lxml.etree import _Element

NUMBER, STYLE, TEXT_COLOUR = (
    "{urn:oasis:names:tc:opendocument:xmlns:datastyle:1.0}",
    "{urn:oasis:names:tc:opendocument:xmlns:style:1.0}",
    "{urn:oasis:names:tc:opendocument:xmlns:xsl-fo-compatible:1.0}color",
)
SIGNS = {"value()>0": 0, "value()>=0": 0, "value()<0": 1, "value()=0": 2}
"""The section of a format for the numbers that a condition means; conditions on other numbers are told as they are."""
SHORT_AND_LONG = {
    "day": ("d", "dd"), "month": ("m", "mm"), "year": ("yy", "yyyy"), "day-of-week": ("ddd", "dddd"),
    "hours": ("h", "hh"), "minutes": ("m", "mm"), "seconds": ("s", "ss"), "era": ("g", "gg"), "quarter": ("q", "q"),
    "week-of-year": ("w", "w"), "am-pm": ("AM/PM", "AM/PM"), "text-content": ("@", "@"), "boolean": ("b", "b"),
    "scientific-number": ("0E+0", "0E+0"), "fraction": ("# ?/?", "# ?/?"),
}  # fmt: skip
"""What stands for a part of a day or a number, short and long."""


def code_of(style: "_Element", styles: "Mapping[str, _Element]") -> str:
    """The code of a format; `styles` has all formats of the file by their names."""
    maps = list(style.iterfind(f"{STYLE}map"))
    sections: dict[int, str] = {}
    odd = ""
    for each in maps:
        condition = "".join(each.get(f"{STYLE}condition", "").split())
        other = styles.get(each.get(f"{STYLE}apply-style-name", ""))
        code = _section(other) if other is not None else ""
        if condition in SIGNS:
            sections.setdefault(SIGNS[condition], code)
        else:
            odd += f"[{condition.strip('[]')}]{code};"
    if odd or not sections:
        return odd + _section(style) or '""'
    if style.tag == f"{NUMBER}text-style":
        return ";".join([*(sections.get(number, "") for number in range(3)), _section(style)])
    rest = _section(style)
    return ";".join(sections.get(number, rest) for number in range(3 if len(sections) > 1 else 2))


def _section(style: "_Element") -> str:
    """What a format without conditions shows."""
    code = ""
    for each in style:
        name, said = str(each.tag).rpartition("}")[2], _quoted("".join(map(str, each.itertext())))
        if name in ("text", "currency-symbol"):
            code += said
        elif name == "fill-character":
            code += f"*{(each.text or ' ')[:1]}"
        elif name == "number":
            code += _digits(each)
        elif name == "text-properties":
            code += f"[{each.get(TEXT_COLOUR, '')}]"
        elif name in SHORT_AND_LONG:
            is_long = each.get(f"{NUMBER}style") == "long"
            words = "mm" if name == "month" and each.get(f"{NUMBER}textual") == "true" else ""
            code += words + SHORT_AND_LONG[name][is_long]
        elif name != "map":
            code += _quoted(name)
    return code


def _digits(element: "_Element") -> str:
    """What stands for the digits of a number, texts among them, and one thousandth for each comma behind."""
    said = _quoted("".join(map(str, element.itertext())) + element.get(f"{NUMBER}decimal-replacement", "").strip("-0"))
    factor = element.get(f"{NUMBER}display-factor", "1")
    return f"#{said}" + ("" if factor in ("1", "1.0") else "," * max(1, factor.count("000")))


def _quoted(text: str) -> str:
    """A text as a format shows it as it is; a quotation mark in it is no word."""
    return f'"{text}"' if (text := text.replace('"', "")) else ""
