"""What may stand in a sheet of an .xlsx (ECMA-376 part 1, 18.3, and what Microsoft has added since: [MS-XLSX] 2.6).

How to read the table is said in `grammar`. Prefixes: none for the main namespace, transitional or strict; the others
are those that Excel itself writes (`xlsx_book_tables.PREFIXES`).
"""

from quotebook.spreadsheets.xlsx_book_tables import RUN

SHEET = (
    """
# Read: cells, their values and their formulas. What `xlsx` makes of each is said there.
worksheet             xr:uid mc:Ignorable mc:PreserveAttributes xml:space
                      > sheetPr dimension sheetViews sheetFormatPr cols* sheetData sheetCalcPr sheetProtection
                        protectedRanges scenarios autoFilter sortState dataConsolidate customSheetViews mergeCells
                        phoneticPr conditionalFormatting* dataValidations hyperlinks printOptions pageMargins
                        pageSetup headerFooter rowBreaks colBreaks customProperties cellWatches ignoredErrors
                        smartTags drawing legacyDrawing legacyDrawingHF drawingHF picture oleObjects controls
                        webPublishItems tableParts extLst mc:AlternateContent*
sheetData             > row*
row                   r spans s customFormat ht hidden customHeight outlineLevel collapsed thickTop thickBot ph
                      x14ac:dyDescent
                      > c* extLst
c                     r s t cm vm ph > f v is extLst
f                     t aca ref dt2D dtr del1 del2 r1 r2 ca si bx xml:space > TEXT
v                     xml:space > TEXT
is                    > t r* rPh* phoneticPr
r                     > rPr t
t                     xml:space > TEXT

# Told: each leads to an embedded object or a control, which `xlsx_links` names, or puts other values into cells (TOLD).
oleObjects            > oleObject* mc:AlternateContent*
oleObject             progId dvAspect link oleUpdate autoLoad shapeId r:id > objectPr
objectPr              locked defaultSize print disabled uiObject autoFill autoLine autoPict macro altText dde r:id
                      > anchor
controls              > control* mc:AlternateContent*
control               shapeId r:id name > controlPr
controlPr             locked defaultSize print disabled recalcAlways uiObject autoFill autoLine autoPict macro
                      altText linkedCell listFillRange cf r:id
                      > anchor
scenarios             current show sqref > scenario*
scenario              name locked hidden count user comment > inputCells*
inputCells            r deleted undone val numFmtId

# Harmless: how a sheet looks, is printed, filtered, protected and validated. No value and no formula comes from it.
sheetPr               syncHorizontal syncVertical syncRef transitionEvaluation transitionEntry published codeName
                      filterMode enableFormatConditionsCalculation
                      > tabColor outlinePr pageSetUpPr
dimension             ref
sheetViews            > sheetView* extLst
sheetFormatPr         baseColWidth defaultColWidth defaultRowHeight customHeight zeroHeight thickTop thickBottom
                      outlineLevelRow outlineLevelCol x14ac:dyDescent
cols                  > col*
sheetCalcPr           fullCalcOnLoad
sheetProtection       password algorithmName hashValue saltValue spinCount sheet objects scenarios formatCells
                      formatColumns formatRows insertColumns insertRows insertHyperlinks deleteColumns deleteRows
                      selectLockedCells sort autoFilter pivotTables selectUnlockedCells
protectedRanges       > protectedRange*
autoFilter            ref xr:uid > filterColumn* sortState extLst
sortState             columnSort caseSensitive sortMethod ref > sortCondition* extLst
dataConsolidate       function startLabels leftLabels topLabels link > dataRefs
customSheetViews      > customSheetView*
mergeCells            count > mergeCell*
phoneticPr            fontId type alignment
conditionalFormatting pivot sqref > cfRule* extLst
dataValidations       disablePrompts xWindow yWindow count > dataValidation*
hyperlinks            > hyperlink*
printOptions          horizontalCentered verticalCentered headings gridLines gridLinesSet
pageMargins           left right top bottom header footer
pageSetup             paperSize paperHeight paperWidth scale firstPageNumber fitToWidth fitToHeight pageOrder
                      orientation usePrinterDefaults blackAndWhite draft cellComments useFirstPageNumber errors
                      horizontalDpi verticalDpi copies r:id
headerFooter          differentOddEven differentFirst scaleWithDoc alignWithMargins
                      > oddHeader oddFooter evenHeader evenFooter firstHeader firstFooter
rowBreaks             count manualBreakCount > brk*
colBreaks             count manualBreakCount > brk*
customProperties      > customPr*
cellWatches           > cellWatch*
ignoredErrors         > ignoredError* extLst
smartTags             > cellSmartTags*
drawing               r:id
legacyDrawing         r:id
legacyDrawingHF       r:id
drawingHF             r:id lho lhe lhf cho che chf rho rhe rhf lfo lfe lff cfo cfe cff rfo rfe rff
picture               r:id
webPublishItems       count > webPublishItem*
tableParts            count > tablePart*
extLst                > ext*
tabColor              auto indexed rgb theme tint
outlinePr             applyStyles summaryBelow summaryRight showOutlineSymbols
pageSetUpPr           autoPageBreaks fitToPage
sheetView             windowProtection showFormulas showGridLines showRowColHeaders showZeros rightToLeft
                      tabSelected showRuler showOutlineSymbols defaultGridColor showWhiteSpace view topLeftCell
                      colorId zoomScale zoomScaleNormal zoomScaleSheetLayoutView zoomScalePageLayoutView
                      workbookViewId
                      > pane selection* pivotSelection* extLst
col                   min max width style hidden bestFit customWidth phonetic outlineLevel collapsed level
protectedRange        password sqref name securityDescriptor algorithmName hashValue saltValue spinCount
                      > securityDescriptor*
filterColumn          colId hiddenButton showButton
                      > filters top10 customFilters dynamicFilter colorFilter iconFilter extLst
sortCondition         descending sortBy ref customList dxfId iconSet iconId
dataRefs              count > dataRef*
customSheetView       guid scale colorId showPageBreaks showFormulas showGridLines showRowCol outlineSymbols
                      zeroValues fitToPage printArea filter showAutoFilter hiddenRows hiddenColumns state
                      filterUnique view showRuler topLeftCell
                      > pane selection rowBreaks colBreaks pageMargins printOptions pageSetup headerFooter
                        autoFilter extLst
mergeCell             ref
cfRule                type dxfId priority stopIfTrue aboveAverage percent bottom operator text timePeriod rank
                      stdDev equalAverage
                      > formula* colorScale dataBar iconSet extLst
dataValidation        type errorStyle imeMode operator allowBlank showDropDown showInputMessage showErrorMessage
                      errorTitle error promptTitle prompt sqref xr:uid
                      > formula1 formula2 mc:AlternateContent
hyperlink             ref r:id location tooltip display xr:uid
oddHeader             xml:space > TEXT
oddFooter             xml:space > TEXT
evenHeader            xml:space > TEXT
evenFooter            xml:space > TEXT
firstHeader           xml:space > TEXT
firstFooter           xml:space > TEXT
brk                   id min max man pt
customPr              name r:id
cellWatch             r
ignoredError          sqref evalError twoDigitTextYear numberStoredAsText formula formulaRange unlockedFormula
                      emptyCellReference listDataValidation calculatedColumn
cellSmartTags         r > cellSmartTag*
webPublishItem        id divId sourceType sourceRef sourceObject destinationFile title autoRepublish
tablePart             r:id
ext                   uri > ANY
pane                  xSplit ySplit topLeftCell activePane state
selection             pane activeCell activeCellId sqref
pivotSelection        pane showHeader label data extendable count axis dimension start min max activeRow activeCol
                      previousRow previousCol click r:id
                      > pivotArea
securityDescriptor    xml:space > TEXT
filters               blank calendarType > filter* dateGroupItem*
top10                 top percent val filterVal
customFilters         and > customFilter*
dynamicFilter         type val valIso maxVal maxValIso
colorFilter           dxfId cellColor
iconFilter            iconSet iconId
dataRef               ref name sheet r:id
formula               xml:space > TEXT
colorScale            > cfvo* color*
dataBar               minLength maxLength showValue > cfvo* color
iconSet               iconSet showValue percent reverse > cfvo*
formula1              xml:space > TEXT
formula2              xml:space > TEXT
cellSmartTag          type deleted xmlBased > cellSmartTagPr*
pivotArea             field type dataOnly labelOnly grandRow grandCol cacheIndex outline offset
                      collapsedLevelsAreSubtotals axis fieldPosition
                      > references extLst
filter                val
dateGroupItem         year month day hour minute second dateTimeGrouping
customFilter          operator val
cfvo                  type val gte > extLst
cellSmartTagPr        key val
anchor                moveWithCells sizeWithCells > from to xdr:from xdr:to
references            count > reference*
rPh                   sb eb > t
xdr:from              > xdr:col xdr:colOff xdr:row xdr:rowOff
xdr:to                > xdr:col xdr:colOff xdr:row xdr:rowOff
reference             field count selected byPosition relative defaultSubtotal sumSubtotal countASubtotal
                      avgSubtotal maxSubtotal minSubtotal productSubtotal countSubtotal stdDevSubtotal
                      stdDevPSubtotal varSubtotal varPSubtotal
                      > x* extLst
x                     v
mc:AlternateContent   > mc:Choice* mc:Fallback
mc:Choice             Requires > controls control* oleObject* legacyDrawing x12ac:list
mc:Fallback           > control* oleObject* formula1
x12ac:list            > TEXT
from                  > xdr:col xdr:colOff xdr:row xdr:rowOff
to                    > xdr:col xdr:colOff xdr:row xdr:rowOff
xdr:col               > TEXT
xdr:colOff            > TEXT
xdr:row               > TEXT
xdr:rowOff            > TEXT
"""
    + RUN
)

TOLD = {"scenarios": "scenario that puts other values into cells"}
"""Elements of a sheet that are told, each with what it is: LibreOffice does as a scenario says when it opens a file."""
