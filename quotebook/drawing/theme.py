"""The theme of all workbooks: the least that a theme may hold, since no cell here uses any of it.

The one that XlsxWriter writes by itself is 1 kB longer, which is much of a small quote. Its elements are those that the
file format asks for (ECMA-376 part 1, 20.1.6): twelve colours, two fonts, and three fills, lines, effects and grounds.
"""

COLOURS = {
    "dk1": "000000", "lt1": "FFFFFF", "dk2": "1F497D", "lt2": "EEECE1", "accent1": "4F81BD", "accent2": "C0504D",
    "accent3": "9BBB59", "accent4": "8064A2", "accent5": "4BACC6", "accent6": "F79646", "hlink": "0000FF",
    "folHlink": "800080",
}  # fmt: skip

_COLOUR_SCHEME = "".join(f'<a:{name}><a:srgbClr val="{colour}"/></a:{name}>' for name, colour in COLOURS.items())
_FONTS = '<a:latin typeface="Arial"/><a:ea typeface=""/><a:cs typeface=""/>'
_FILL = '<a:solidFill><a:schemeClr val="phClr"/></a:solidFill>'

THEME = (
    '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'
    '<a:theme xmlns:a="http://schemas.openxmlformats.org/drawingml/2006/main" name="Office"><a:themeElements>'
    f'<a:clrScheme name="Office">{_COLOUR_SCHEME}</a:clrScheme>'
    f'<a:fontScheme name="Office"><a:majorFont>{_FONTS}</a:majorFont><a:minorFont>{_FONTS}</a:minorFont></a:fontScheme>'
    f'<a:fmtScheme name="Office"><a:fillStyleLst>{_FILL * 3}</a:fillStyleLst>'
    f"<a:lnStyleLst>{f'<a:ln>{_FILL}</a:ln>' * 3}</a:lnStyleLst>"
    f"<a:effectStyleLst>{'<a:effectStyle><a:effectLst/></a:effectStyle>' * 3}</a:effectStyleLst>"
    f"<a:bgFillStyleLst>{_FILL * 3}</a:bgFillStyleLst></a:fmtScheme></a:themeElements></a:theme>"
)
