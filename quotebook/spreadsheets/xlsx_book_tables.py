"""What may stand in the other parts of an .xlsx that are read (ECMA-376 part 1, 18.2, 18.4 and 18.8).

How to read a table is said in `grammar`.
"""

PREFIXES = {
    "xml": "http://www.w3.org/XML/1998/namespace",
    "mc": "http://schemas.openxmlformats.org/markup-compatibility/2006",
    "x14": "http://schemas.microsoft.com/office/spreadsheetml/2009/9/main",
    "x14ac": "http://schemas.microsoft.com/office/spreadsheetml/2009/9/ac",
    "x12ac": "http://schemas.microsoft.com/office/spreadsheetml/2011/1/ac",
    "x15ac": "http://schemas.microsoft.com/office/spreadsheetml/2010/11/ac",
    "xdr": "http://schemas.openxmlformats.org/drawingml/2006/spreadsheetDrawing",
    "xr": "http://schemas.microsoft.com/office/spreadsheetml/2014/revision",
    "xr2": "http://schemas.microsoft.com/office/spreadsheetml/2015/revision2",
    "xr6": "http://schemas.microsoft.com/office/spreadsheetml/2016/revision6",
    "xr9": "http://schemas.microsoft.com/office/spreadsheetml/2016/revision9",
    "xr10": "http://schemas.microsoft.com/office/spreadsheetml/2016/revision10",
}
"""The namespaces of what Excel writes beside the standard, by the prefixes that it gives them."""

FONT = """
# Harmless: what a font consists of, wherever one is described.
charset               val
family                val
b                     val
i                     val
strike                val
outline               val
shadow                val
condense              val
extend                val
color                 auto indexed rgb theme tint
sz                    val
u                     val
vertAlign             val
scheme                val
"""

RUN = f"""
# Harmless: how a run of a text looks.
rPr                   > rFont charset family b i strike outline shadow condense extend color sz u vertAlign scheme
rFont                 val
{FONT}"""

WORKBOOK = """
# Read: the sheets, the names, which day is the first, and whether figures are rounded to what is shown.
workbook              conformance mc:Ignorable xml:space
                      > fileVersion fileSharing workbookPr workbookProtection bookViews sheets functionGroups
                        externalReferences definedNames calcPr oleSize customWorkbookViews pivotCaches smartTagPr
                        smartTagTypes webPublishing fileRecoveryPr* webPublishObjects extLst xr:revisionPtr
                        mc:AlternateContent
workbookPr            date1904 showObjects showBorderUnselectedTables filterPrivacy promptedSolutions
                      showInkAnnotation backupFile saveExternalLinkValues updateLinks codeName hidePivotFieldList
                      showPivotChartFilter allowRefreshQuery publishItems checkCompatibility autoCompressPictures
                      refreshAllConnections defaultThemeVersion dateCompatibility
sheets                > sheet*
sheet                 name sheetId state r:id
definedNames          > definedName*
definedName           name comment customMenu description help statusBar localSheetId hidden function vbProcedure
                      xlm functionGroupId shortcutKey publishToServer workbookParameter xml:space
                      > TEXT
calcPr                calcId calcMode fullCalcOnLoad refMode iterate iterateCount iterateDelta fullPrecision
                      calcCompleted calcOnSave concurrentCalc concurrentManualCount forceFullCalc

# Told: each leads to another file, which `xlsx_links` names.
externalReferences    > externalReference*
externalReference     r:id

# Harmless: windows, views, protection, and where a program found the file.
fileVersion           appName lastEdited lowestEdited rupBuild codeName
fileSharing           readOnlyRecommended userName reservationPassword algorithmName hashValue saltValue spinCount
workbookProtection    workbookPassword workbookPasswordCharacterSet revisionsPassword revisionsPasswordCharacterSet
                      lockStructure lockWindows lockRevision revisionsAlgorithmName revisionsHashValue
                      revisionsSaltValue revisionsSpinCount workbookAlgorithmName workbookHashValue
                      workbookSaltValue workbookSpinCount
bookViews             > workbookView*
functionGroups        builtInGroupCount > functionGroup*
oleSize               ref
customWorkbookViews   > customWorkbookView*
pivotCaches           > pivotCache*
smartTagPr            embed show
smartTagTypes         > smartTagType*
webPublishing         css thicket longFileNames vml allowPng targetScreenSize dpi codePage characterSet
fileRecoveryPr        autoRecover crashSave dataExtractLoad repairLoad
webPublishObjects     count > webPublishObject*
extLst                > ext*
workbookView          visibility minimized showHorizontalScroll showVerticalScroll showSheetTabs xWindow yWindow
                      windowWidth windowHeight tabRatio firstSheet activeTab autoFilterDateGrouping xr2:uid
                      > extLst
functionGroup         name
customWorkbookView    name guid autoUpdate mergeInterval changesSavedWin onlySync personalView includePrintSettings
                      includeHiddenRowCol maximized minimized showHorizontalScroll showVerticalScroll showSheetTabs
                      xWindow yWindow windowWidth windowHeight tabRatio activeSheetId showFormulaBar showStatusbar
                      showComments showObjects
                      > extLst
pivotCache            cacheId r:id
smartTagType          namespaceUri name url
webPublishObject      id divId sourceObject destinationFile title autoRepublish
ext                   uri > ANY
xr:revisionPtr        revIDLastSave documentId xr6:coauthVersionLast xr6:coauthVersionMax xr10:uidLastSave
mc:AlternateContent   > mc:Choice
mc:Choice             Requires > x15ac:absPath
x15ac:absPath         url
"""

STRINGS = (
    """
# Read: the texts that cells share, plain or in runs.
sst                   count uniqueCount xml:space mc:Ignorable > si* extLst
si                    > t r* rPh* phoneticPr
t                     xml:space > TEXT
r                     > rPr t

# Harmless: how a run looks, and how a text is pronounced.
extLst                > ext*
rPh                   sb eb > t
phoneticPr            fontId type alignment
ext                   uri > ANY
"""
    + RUN
)

STYLES = (
    """
# Known since formats decide what is shown: `appearance` tells odd ones, and nothing is worked out from any.
styleSheet            mc:Ignorable xml:space xr:uid
                      > numFmts fonts fills borders cellStyleXfs cellXfs cellStyles dxfs tableStyles colors extLst
numFmts               count > numFmt*
numFmt                numFmtId formatCode
cellXfs               count > xf*
xf                    numFmtId fontId fillId borderId xfId quotePrefix pivotButton applyNumberFormat applyFont
                      applyFill applyBorder applyAlignment applyProtection
                      > alignment protection extLst

# Harmless: colours, borders, fonts.
fonts                 count x14ac:knownFonts > font*
fills                 count > fill*
borders               count > border*
cellStyleXfs          count > xf*
cellStyles            count > cellStyle*
dxfs                  count > dxf*
tableStyles           count defaultTableStyle defaultPivotStyle > tableStyle*
colors                > indexedColors mruColors
extLst                > ext*
font                  > name charset family b i strike outline shadow condense extend color sz u vertAlign scheme
fill                  > patternFill gradientFill
border                diagonalUp diagonalDown outline > start end left right top bottom diagonal vertical horizontal
cellStyle             name xfId builtinId iLevel hidden customBuiltin > extLst
dxf                   > font numFmt fill alignment border protection extLst
tableStyle            name pivot table count xr9:uid xr:uid > tableStyleElement*
indexedColors         > rgbColor*
mruColors             > color*
ext                   uri > ANY
name                  val
patternFill           patternType > fgColor bgColor
gradientFill          type degree left right top bottom > stop*
start                 style > color
end                   style > color
left                  style > color
right                 style > color
top                   style > color
bottom                style > color
diagonal              style > color
vertical              style > color
horizontal            style > color
alignment             horizontal vertical textRotation wrapText indent relativeIndent justifyLastLine shrinkToFit
                      readingOrder
protection            locked hidden
tableStyleElement     type size dxfId
rgbColor              rgb
fgColor               auto indexed rgb theme tint
bgColor               auto indexed rgb theme tint
stop                  position > color
"""
    + FONT
)
