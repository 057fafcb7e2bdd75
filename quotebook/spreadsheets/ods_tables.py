"""What may stand in the parts of an .ods that are read (OpenDocument 1.3 part 3, and what its programs have added).

How to read a table is said in `grammar`.
"""

PREFIXES = {
    "": "urn:oasis:names:tc:opendocument:xmlns:table:1.0",
    "xml": "http://www.w3.org/XML/1998/namespace",
    "xlink": "http://www.w3.org/1999/xlink",
    "calcext": "urn:org:documentfoundation:names:experimental:calc:xmlns:calcext:1.0",
    "loext": "urn:org:documentfoundation:names:experimental:office:xmlns:loext:1.0",
    "tableooo": "http://openoffice.org/2009/table",
    "gnm": "http://www.gnumeric.org/odf-extension/1.0",
    "grddl": "http://www.w3.org/2003/g/data-view#",
} | {
    name: f"urn:oasis:names:tc:opendocument:xmlns:{name}:1.0"
    for name in ("office", "table", "text", "style", "draw", "form", "manifest", "config", "number")
} | {
    "draw": "urn:oasis:names:tc:opendocument:xmlns:drawing:1.0",
    "number": "urn:oasis:names:tc:opendocument:xmlns:datastyle:1.0",
}  # fmt: skip

CONTENT = """
# Read: tables, rows, cells, their texts, the names, and which day is the first.
office:document-content
                      office:version grddl:transformation
                      > office:scripts office:font-face-decls office:automatic-styles office:body
office:body           > office:spreadsheet
office:spreadsheet    table:structure-protected table:protection-key table:protection-key-digest-algorithm
                      > tracked-changes calculation-settings content-validations label-ranges table* named-expressions
                        database-ranges data-pilot-tables consolidation text:variable-decls text:sequence-decls
                        text:user-field-decls calcext:conditional-formats
calculation-settings  table:case-sensitive table:precision-as-shown table:search-criteria-must-apply-to-whole-cell
                      table:automatic-find-labels table:use-regular-expressions table:use-wildcards table:null-year
                      > null-date iteration
null-date             table:date-value table:value-type
table                 table:name table:style-name table:print table:print-ranges table:protected table:protection-key
                      table:protection-key-digest-algorithm table:protection-key-digest-algorithm-2
                      table:template-name xml:id
                      > title desc table-source office:forms shapes table-column* table-columns* table-header-columns*
                        table-column-group* table-row* table-rows* table-header-rows* table-row-group*
                        text:soft-page-break* named-expressions loext:table-protection tableooo:table-protection
                        calcext:conditional-formats calcext:sparkline-groups gnm:selections
table-row             table:number-rows-repeated table:style-name table:default-cell-style-name table:visibility xml:id
                      > table-cell* covered-table-cell*
table-rows            > table-row* text:soft-page-break*
table-header-rows     > table-row* text:soft-page-break*
table-row-group       table:display
                      > table-row* table-rows* table-header-rows* table-row-group* text:soft-page-break*
table-cell            table:number-columns-repeated table:number-columns-spanned table:number-rows-spanned
                      table:number-matrix-columns-spanned table:number-matrix-rows-spanned table:style-name
                      table:content-validation-name table:formula table:protect table:protected office:value-type
                      office:value office:currency office:date-value office:time-value office:boolean-value
                      office:string-value calcext:value-type xml:id
                      > text:p* office:annotation detective draw:frame* draw:control* draw:custom-shape* draw:line*
                        draw:rect* draw:ellipse* draw:g* draw:polygon* draw:path* draw:connector* draw:caption*
covered-table-cell    table:number-columns-repeated table:style-name table:content-validation-name table:protect
                      table:protected table:formula office:value-type office:value office:currency office:date-value
                      office:time-value office:boolean-value office:string-value calcext:value-type xml:id
                      > text:p* office:annotation detective
text:p                text:style-name xml:id > TEXT text:span* text:s* text:tab* text:line-break* text:a*
text:span             text:style-name > TEXT text:span* text:s* text:tab* text:line-break* text:a*
text:a                xlink:href xlink:type xlink:actuate xlink:show office:target-frame-name office:name office:title
                      text:style-name text:visited-style-name
                      > TEXT text:span* text:s* text:tab* text:line-break*
text:s                text:c
text:tab              text:tab-ref
text:line-break
named-expressions     > named-range* named-expression*
named-range           table:name table:cell-range-address table:base-cell-address table:range-usable-as loext:hidden
named-expression      table:name table:expression table:base-cell-address loext:hidden

# Told: each leads to another file, runs something, or fills cells, which `ods` names.
data-pilot-tables     > ALL
table-source          table:mode table:table-name table:filter-name table:filter-options table:refresh-delay
                      xlink:href xlink:type xlink:actuate
office:scripts        > ALL

# Harmless: how cells look, are printed, filtered, validated, and what lies over them.
office:font-face-decls > ALL
office:automatic-styles > ALL
iteration             table:status table:steps table:maximum-difference
tracked-changes       table:track-changes > ALL
content-validations   > ALL
label-ranges          > ALL
database-ranges       > database-range*
database-range        table:name table:is-selection table:on-update-keep-styles table:on-update-keep-size
                      table:has-persistent-data table:orientation table:contains-header table:contains-footer
                      table:display-filter-buttons table:target-range-address table:refresh-delay
                      loext:hidden-button calcext:hidden-button
                      > filter sort subtotal-rules
filter                table:target-range-address table:condition-source table:condition-source-range-address
                      table:display-duplicates
                      > ALL
sort                  table:bind-styles-to-content table:target-range-address table:case-sensitive table:language
                      table:country table:script table:rfc-language-tag table:algorithm table:embedded-number-behavior
                      > ALL
subtotal-rules        table:bind-styles-to-content table:case-sensitive table:page-breaks-on-group-change > ALL
consolidation         table:function table:source-cell-range-addresses table:target-cell-address table:use-labels
                      table:link-to-source-data
text:variable-decls   > ALL
text:sequence-decls   > ALL
text:user-field-decls > ALL
title                 > TEXT
desc                  > TEXT
office:forms          form:automatic-focus form:apply-design-mode > ALL
shapes                > ALL
table-columns         > table-column* text:soft-page-break*
table-header-columns  > table-column* text:soft-page-break*
table-column-group    table:display > table-column* table-columns* table-header-columns* table-column-group*
table-column          table:number-columns-repeated table:style-name table:visibility table:default-cell-style-name
                      xml:id
text:soft-page-break
office:annotation     > ALL
detective             > ALL
draw:frame            > ALL
draw:control          > ALL
draw:custom-shape     > ALL
draw:line             > ALL
draw:rect             > ALL
draw:ellipse          > ALL
draw:g                > ALL
draw:polygon          > ALL
draw:path             > ALL
draw:connector        > ALL
draw:caption          > ALL
loext:table-protection
                      loext:select-protected-cells loext:select-unprotected-cells loext:insert-columns
                      loext:insert-rows loext:delete-columns loext:delete-rows loext:use-autofilter loext:use-pivot
tableooo:table-protection
                      tableooo:select-protected-cells tableooo:select-unprotected-cells
calcext:conditional-formats > ALL
calcext:sparkline-groups > ALL
gnm:selections        gnm:cursor-col gnm:cursor-row > ALL
"""

MANIFEST = """
manifest:manifest     manifest:version > manifest:file-entry*
manifest:file-entry   manifest:full-path manifest:media-type manifest:version manifest:size
                      manifest:preferred-view-mode
"""

SETTINGS = """
office:document-settings
                      office:version > office:settings
office:settings       > config:config-item-set*
config:config-item-set config:name
                      > config:config-item* config:config-item-set* config:config-item-map-indexed*
                        config:config-item-map-named*
config:config-item    config:name config:type > TEXT
config:config-item-map-indexed
                      config:name > config:config-item-map-entry*
config:config-item-map-named
                      config:name > config:config-item-map-entry*
config:config-item-map-entry
                      config:name
                      > config:config-item* config:config-item-set* config:config-item-map-indexed*
                        config:config-item-map-named*
"""

STYLES = """
# Formats and printed pages: no value and no formula comes from them.
office:document-styles
                      office:version grddl:transformation
                      > office:font-face-decls office:styles office:automatic-styles office:master-styles
office:font-face-decls > ALL
office:styles         > ALL
office:automatic-styles > ALL
office:master-styles  > ALL
"""
