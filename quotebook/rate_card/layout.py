"""The sheets of the rate card: every figure once, with its label, its unit, its rule and its meaning.

The writer lays the sheets out from this list, and the reader finds the cells again by their defined names. A figure's
name is given to its cell, and a column's name (`kinds_rate`) to the last cell of its heading, so an owner may insert
rows and move columns.
"""

from decimal import Decimal

from quotebook.contract.words import LANGUAGES
from quotebook.engine.lifting import COUPLINGS, MOST_TWIST
from quotebook.engine.model import LAYINGS, SURFACES
from quotebook.engine.published import COUNTRIES, STANDING_SPACE
from quotebook.rate_card.form import Field, Form, Section, Table
from quotebook.rate_card.rules import (
    CODE,
    COLOUR,
    PICTURE,
    REGION,
    Choice,
    CurrencyCode,
    Day,
    Number,
    Share,
    Text,
    YesNo,
)

UNITS = {
    "length": ("ft", "m"), "area": ("sq ft", "m²"), "thickness": ("in", "mm"), "weight": ("lb", "kg"),
    "distance": ("miles", "km"), "one_distance": ("mile", "km"), "reach": ("in", "cm"),
}  # fmt: skip
"""Units that depend on the card's unit of length, ft or m. `{money}` in a unit stands for the currency."""


def _whole(most: int, least: int = 0) -> Number:
    """A rule for whole numbers from `least` to `most`."""
    return Number(Decimal(most), Decimal(least), whole=True)


MONEY = Number(Decimal(1_000_000))
MINUTES = Number(Decimal(1_000))
SOME_MINUTES = Number(Decimal(1_000), above=True)
SIZE = Number(Decimal(100), above=True)
SOME = Number(Decimal(100_000), above=True)
PIECES = _whole(100_000)

CONTACT_LINES = 4
PAY_LINES = 3

FIRM = Form("Firm", "firm",
    "Who you are, how your quotes look, and the figures that hold for every job.", (
    Section("Your firm", (
        Field("firm", "Name of the firm", "", Text(60), "At the head of every quote."),
        Field("contact_line_1", "Contact, line 1", "", Text(80),
              "Address, phone, mail: as they should appear under the name."),
        *(
            Field(f"contact_line_{line}", f"Contact, line {line}", "", Text(80), "May be left empty.", blank="")
            for line in range(2, CONTACT_LINES + 1)
        ),
    )),
    Section("How a quote looks", (
        Field("language", "Language of the quote", "", Choice(LANGUAGES),
              "en English, es Spanish, fr French. This card itself stays in English."),
        Field("region", "Numbers as in", "", REGION,
              "Two letters, such as US, MX or FR: mails write numbers and dates as there. May be left empty.",
              blank="", absent=""),
        Field("paper", "Paper", "", Choice(("A4", "Letter")), "The paper that the quote is laid out for."),
        Field("accent_colour", "Colour of headings", "", COLOUR,
              "# and six digits, red, green and blue. Choose a dark one: it prints on white."),
        Field("logo", "Logo", "", PICTURE,
              "File name of a picture in the folder of this card. May be left empty.", blank=""),
    )),
    Section("Money and measures", (
        Field("currency", "Currency", "", CurrencyCode(),
              "Its three-letter code (ISO 4217). All amounts here are in it; prices round to its smallest unit."),
        Field("length_unit", "Unit of length", "", Choice(("ft", "m")),
              "ft: feet, inches, pounds, miles. m: metres, millimetres, kilograms, kilometres. All units here follow."),
        Field("country", "Whose rules", "", Choice(COUNTRIES),
              "Whose clauses the cautions name, and from which weight a vehicle is another class. other: no such "
              "weight; the sheets say to ask your local code.", absent={"ft": "USA", "m": "EU"}),
    )),
    Section("Terms in figures", (
        Field("valid_days", "A quote is valid for", "days", _whole(3650, 1), "From the day of issue."),
        Field("deposit_share", "Deposit", "of the total", Share(),
              "Of the total, to hold the date; the balance is the rest."),
        *(
            Field(f"pay_line_{line}", f"How to pay, line {line}", "", Text(80),
                  "Sent as it is: account, reference and so on. May be left empty.", blank="", absent="")
            for line in range(1, PAY_LINES + 1)
        ),
        Field("waiver_share", "Damage waiver", "of goods", Share(),
              "Charged where the client takes it, on the hired goods after discount."),
        Field("minimum_order", "Minimum order", "{money}", MONEY,
              "Hired goods after discount are charged at this at the least. 0 for none.", absent=Decimal(0)),
    )),
    Section("When money is due, and what is kept or charged", (
        Field("deposit_days", "Deposit due", "days", _whole(365),
              "After the quote is issued; 0 where it is due with the balance.", absent=Decimal(7)),
        Field("balance_days", "Balance due", "days", _whole(365),
              "Before the event; 0 for its first day.", absent=Decimal(0)),
        Field("bill_days", "Bill due", "days", _whole(365), "After the date of the bill.", absent=Decimal(14)),
        Field("deposit_kept_share", "Kept of a deposit", "of the deposit", Share(),
              "When an agreed quote is cancelled. What may be kept depends on your terms and the law: ask a lawyer.",
              absent=Decimal(0)),
        Field("free_cancellation_days", "Deposit back in full until", "days", _whole(3650),
              "Before the event; 0 where a part is always kept.", absent=Decimal(0)),
        Field("waiver_covers_damage", "Waiver covers of damage", "of the price", Share(),
              "Of the replacement price of pieces that come back damaged, where the client took the waiver.",
              absent=Decimal(1)),
        Field("waiver_covers_loss", "Waiver covers of loss", "of the price", Share(),
              "Of the replacement price of pieces that do not come back. Many waivers cover none of it.",
              absent=Decimal(0)),
        Field("bill_note", "At the foot of a bill", "", Text(500),
              "How to pay, and what the law asks for on a bill: ask a tax adviser. In the language of the quote.",
              blank="", absent=""),
    )),
    Section("Tax", (
        Field("tax_name", "Name of the tax", "", Text(20),
              "As quotes and bills call it: sales tax, VAT, TVA, IVA, GST. May be left empty.", blank="", absent=""),
        Field("tax_number", "Your tax number", "", Text(40),
              "As it stands on quotes and bills. May be left empty.", blank="", absent=""),
        Field("tax_rate", "Rate of tax", "of what is taxed", Share(),
              "0 % where you charge none. Rates and what they apply to are your own entry: ask a tax adviser."),
        Field("prices_with_tax", "Prices have their tax in them", "yes or no", YesNo(),
              "Yes: a price is what the client pays, and the quote says how much of it is tax.", absent=False),
        Field("reduced_tax_rate", "Reduced rate of tax", "of what bears it", Share(),
              "For kinds of panel and for services that bear another rate than the one above. 0 % where none does.",
              absent=Decimal(0)),
        Field("tax_on_goods", "Tax on hired goods", "yes or no", YesNo(),
              "Panels, edging and subfloor, after discount."),
        Field("tax_on_delivery", "Tax on delivery", "yes or no", YesNo(), "The delivery charge."),
        Field("reduced_on_delivery", "At the reduced rate: delivery", "yes or no", YesNo(),
              "Where it is taxed.", absent=False),
        Field("tax_on_labour", "Tax on labour", "yes or no", YesNo(),
              "Set-up and strike, and the charge for after hours."),
        Field("reduced_on_labour", "At the reduced rate: labour", "yes or no", YesNo(),
              "Where it is taxed.", absent=False),
        Field("tax_on_waiver", "Tax on the damage waiver", "yes or no", YesNo(), "The waiver, where it is taken."),
        Field("reduced_on_waiver", "At the reduced rate: the waiver", "yes or no", YesNo(),
              "Where it is taxed.", absent=False),
        Field("tax_on_losses", "Tax on pieces lost or damaged", "yes or no", YesNo(),
              "On a bill; a deposit that is kept too. Ask a tax adviser.", absent=False),
    )),
    Section("Crew and labour", (
        Field("crew", "People in the crew", "people", _whole(100, 1), "They share the work and are charged for each."),
        Field("hourly_rate", "Rate of labour", "{money} per hour", MONEY,
              "For one person, charged by the quarter hour."),
        Field("minimum_hours", "Minimum hours charged", "hours", Number(Decimal(24)),
              "For set-up, and again for strike, for each person."),
        Field("unload_minutes", "Time to unload a cart", "person-minutes", MINUTES,
              "Off the vehicle and to where it is wanted."),
        Field("flight_minutes", "Time per flight of stairs", "person-minutes", MINUTES,
              "To take one cart up one flight."),
        Field("strike_share", "Strike time", "of set-up", Share(), "Taking a floor up is quicker than laying it."),
        Field("after_hours_share", "Surcharge after hours", "of strike", Share(),
              "On the labour of a strike after hours."),
        Field("turnaround_days", "Turnaround", "days", _whole(365),
              "Days after an event in which panels dry and are cleaned, and cannot go out again."),
        Field("day_hours", "Longest day", "hours", Number(Decimal(24), above=True),
              "From leaving the yard to being back; the day sheet warns beyond it. Drivers' hours have a law of their "
              "own.",
              absent=Decimal(12)),
    )),
    Section("How many dance (your assumptions)", (
        Field("dancers_share", "Dancing at once", "of the guests", Share(),
              "30 % to 50 % is common practice; no source."),
        Field("area_per_dancer", "Floor per dancer", "{area}", SIZE,
              "About 4.5 sq ft (0.42 m²) is common practice; no source. Not less than the standing space below, or the "
              "quote would warn of a crowd on every floor that it suggests. Not a limit on how many may enter."),
        Field("crowding_area", "Standing space", "{area}", SIZE,
              "For one person, as your code has it; the quote warns where there is less. IBC Table 1004.5 has "
              f"{STANDING_SPACE}.", absent={"ft": STANDING_SPACE.customary, "m": STANDING_SPACE.metric}),
        Field("edging_breadth", "Edging stands out", "{length}", Number(Decimal(10)),
              "From a floor, on each side: a floor with it is held against the room or tent, where a client says how "
              "large that is. Common practice, no source.", absent={"ft": Decimal("0.5"), "m": Decimal("0.15")}),
        Field("suggests_sizes", "Suggest a size", "yes or no", YesNo(),
              "A quote says which size would be enough where its floors are too small for the guests.", absent=True),
    )),
    Section("Lifting a panel off its cart (for the crew's caution)", (
        Field("lift_reach", "Reach", "{reach}", Number(Decimal(200), above=True),
              "From between the ankles to the hands, measured level along the ground."),
        Field("lift_start_height", "Hands start at", "{reach}", Number(Decimal(300)), "Above the ground, on the cart."),
        Field("lift_end_height", "Hands end at", "{reach}", Number(Decimal(300)),
              "Above the ground, where it is put down."),
        Field("lift_twist", "Turn of the body", "degrees", Number(Decimal(MOST_TWIST)),
              "Away from straight ahead; 0 where there is none."),
        Field("lifts_a_minute", "Lifts", "per minute", Number(Decimal(15), above=True),
              "By one person, on average over a quarter of an hour."),
        Field("lift_coupling", "Grip", "", Choice(COUPLINGS),
              "good: handles; fair: fingers under a flat edge; poor: neither."),
    )),
))  # fmt: skip

PANELS = Table("Panels", "kinds",
    "Every kind of panel you hire out, one per row. Nothing in the last group reaches a client.", (
    Section("The panel", (
        Field("panel", "Code", "", CODE, "Short name by which a quote asks for it. Each code once."),
        Field("panel_name", "Name", "", Text(60), "As the client reads it."),
        Field("finish", "Colour", "", COLOUR,
              "Of its finish, on the quote and its plan: # and six digits. May be left empty.", blank="", absent=""),
        Field("panel_width", "Width", "{length}", SIZE, "What one panel covers."),
        Field("panel_length", "Length", "{length}", SIZE, "Same as width if square."),
        Field("thickness", "Thickness", "{thickness}", Number(Decimal(1_000), above=True), "Height of a bare edge."),
        Field("panel_weight", "Weight", "{weight}", SOME, "Of one panel."),
        Field("system", "System", "", Text(20),
              "Kinds with the same word lock together. Empty: only with its own kind.", blank=""),
    )),
    Section("Hire and work", (
        Field("rate", "Hire", "{money} per panel", MONEY, "For the first day."),
        Field("panel_minutes", "To lay one", "person-minutes", SOME_MINUTES, "One practised person."),
        Field("panels_per_cart", "Panels per cart", "panels", _whole(1_000, 1), "The most on one cart."),
        Field("reduced_tax", "Reduced tax", "yes or no", YesNo(),
              "Yes: this kind bears the reduced rate of tax.", blank=False, absent=False),
    )),
    Section("Edging (empty for none)", (
        Field("piece", "Piece", "{length} long", SIZE, "Length of one piece of edging.", blank=Decimal(0)),
        Field("piece_rate", "Hire", "{money} per piece", MONEY, "For the first day.", blank=Decimal(0)),
        Field("corner_rate", "Corner", "{money} each", MONEY, "For the first day; a floor has four.", blank=Decimal(0)),
        Field("piece_minutes", "To fit one", "person-minutes", MINUTES, "A piece or a corner.", blank=Decimal(0)),
        Field("piece_weight", "Weight", "{weight}", SOME, "Of one piece.", blank=Decimal(0),
              absent={"ft": Decimal(3), "m": Decimal("1.4")}),
        Field("corner_weight", "Corner", "{weight}", SOME, "Of one corner.", blank=Decimal(0),
              absent={"ft": Decimal(1), "m": Decimal("0.5")}),
    )),
    Section("How it is laid on each surface", (
        *(
            Field(f"on_{surface.replace(' ', '_')}", surface.capitalize(), "", Choice(LAYINGS),
                  f"On {surface}: direct, over subfloor, or no.")
            for surface in SURFACES
        ),
        Field("subfloor_kind", "Subfloor", "code", CODE,
              "What goes under it where one is needed: a code of sheet Subfloors.", blank=""),
    )),
    Section("Owned (private)", (
        Field("owned", "Panels", "owned", PIECES, "Bought and not sold: take off no losses."),
        Field("purchase_price", "Price paid", "{money} per panel", MONEY, "What a panel cost you, or would cost."),
        Field("bought_on", "Bought", "date", Day(), "About when you bought them. Any day for a kind you have none of."),
        Field("life_years", "Life", "years", Number(Decimal(100), above=True), "Years you expect to hire them out."),
        Field("edging_owned_slot", "Slot edging", "pieces", PIECES,
              "Pieces that mate with slot edges.", blank=Decimal(0)),
        Field("edging_owned_tongue", "Tongue edging", "pieces", PIECES,
              "Pieces that mate with tongue edges.", blank=Decimal(0)),
        Field("corners_owned", "Corners", "pieces", PIECES, "Corner pieces of edging.", blank=Decimal(0)),
        Field("replacement_price", "Replacement", "{money} per panel", MONEY,
              "Charged for one lost or damaged beyond hire.", blank=Decimal(0), absent=Decimal(0)),
        Field("piece_replacement_price", "Edging, replacement", "{money} per piece", MONEY,
              "For one lost or damaged.", blank=Decimal(0), absent=Decimal(0)),
        Field("corner_replacement_price", "Corner, replacement", "{money} each", MONEY,
              "For one lost or damaged.", blank=Decimal(0), absent=Decimal(0)),
        Field("piece_price", "Edging, price", "{money} per piece", MONEY,
              "What a piece of edging cost you, or would cost.", blank=Decimal(0), absent=Decimal(0)),
        Field("corner_price", "Corner, price", "{money} each", MONEY,
              "What a corner piece cost you, or would cost.", blank=Decimal(0), absent=Decimal(0)),
    )),
), rows=20)  # fmt: skip

EDGING = (
    "piece", "piece_rate", "corner_rate", "piece_minutes", "piece_weight", "corner_weight", "edging_owned_slot",
    "edging_owned_tongue", "corners_owned",
)  # fmt: skip
"""Columns of the sheet Panels that are all filled for a kind with edging, and all empty for a kind without."""

SUBFLOORS = Table("Subfloors", "subfloors",
    "Sheets laid under panels that cannot go straight on the ground. May be left empty.", (
    Section("The sheet", (
        Field("subfloor_kind", "Code", "", CODE, "Short name by which sheet Panels asks for it."),
        Field("subfloor_name", "Name", "", Text(60), "As the client reads it."),
        Field("sheet_width", "Width", "{length}", SIZE, "What one sheet covers."),
        Field("sheet_length", "Length", "{length}", SIZE, "Sheets are laid whole, whichever way takes fewer."),
        Field("sheet_weight", "Weight", "{weight}", SOME, "Of one sheet."),
        Field("sheet_thickness", "Thickness", "{thickness}", Number(Decimal(1_000), above=True),
              "Part of the step at the floor's edge.", absent={"ft": Decimal("0.75"), "m": Decimal(18)}),
    )),
    Section("Hire and work", (
        Field("sheet_rate", "Hire", "{money} per sheet", MONEY, "For the first day."),
        Field("sheet_minutes", "To lay one", "person-minutes", SOME_MINUTES,
              "One practised person, levelling included."),
        Field("sheets_per_cart", "Sheets per cart", "sheets", _whole(1_000, 1), "The most on one cart."),
    )),
    Section("Owned (private)", (
        Field("owned", "Sheets", "owned", PIECES, "Bought and not sold: take off no losses."),
        Field("purchase_price", "Price paid", "{money} per sheet", MONEY, "What a sheet cost you."),
        Field("replacement_price", "Replacement", "{money} per sheet", MONEY,
              "Charged for one lost or damaged beyond hire.", blank=Decimal(0), absent=Decimal(0)),
    )),
), rows=8)  # fmt: skip

SURFACES_SHEET = Table("Surfaces", "surfaces",
    "Whether edging is fitted when a request does not say. All four stay listed.", (
    Section("Edging", (
        Field("surface", "Surface", "", Choice(SURFACES),
              "Grass: lawn or field. Paving: any hard ground outdoors. Indoors: a hard floor, or carpet."),
        Field("edging", "Edging by default", "yes or no", YesNo(),
              "Without edging the edge is a step, and the quote says so. A request can ask either way."),
    )),
), rows=4)  # fmt: skip

HIRE_LENGTHS = Table("Hire lengths", "day_factors",
    "What a hire of several days costs, as a multiple of the first day.", (
    Section("Factors", (
        Field("hire_days", "From", "days", _whole(3650, 1),
              "The first row is day 1; then upwards. A hire takes the last row that is not above its days."),
        Field("hire_factor", "Factor", "times", Number(Decimal(1_000), above=True),
              "1 for the first day; never less than the row above."),
    )),
), rows=14)  # fmt: skip

DELIVERY = Form("Delivery", "delivery",
    "What a trip costs, and what the vehicle can carry. The quote calculates the number of trips.", (
    Section("The charge", (
        Field("base_charge", "Charge per trip", "{money}", MONEY,
              "Out, back and again for collection, with the distance below included."),
        Field("included_miles", "Distance included", "{distance}", Number(Decimal(10_000)), "From your yard, one way."),
        Field("rate_per_mile", "Charge beyond that", "{money} per {one_distance}", MONEY,
              "For each trip; the distance is one way."),
    )),
    Section("The vehicle", (
        Field("payload", "Payload", "{weight}", SOME,
              "The most it may carry, by its papers, less the people in it: panels, subfloor, edging, carts, tools."),
        Field("gross_weight", "Gross weight", "{weight}", SOME,
              "The most it may weigh loaded, by its papers. From a weight on another licence or other rules may be "
              "needed: the country on sheet Firm says which."),
        Field("trailer_weight", "Trailer, gross weight", "{weight}", Number(Decimal(100_000)),
              "The most your trailer may weigh loaded; empty for none. It counts with the vehicle.", blank=Decimal(0),
              absent=Decimal(0)),
        Field("strap_limit", "Strap", "{weight}", SOME,
              "Working load limit of one of your straps, as its label says.",
              absent={"ft": Decimal(1000), "m": Decimal(500)}),
        Field("cart_weight", "Empty cart", "{weight}", Number(Decimal(10_000)), "Of one, with nothing on it.",
              absent={"ft": Decimal(80), "m": Decimal(36)}),
        Field("tools_weight", "Tools", "{weight}", Number(Decimal(10_000)), "Of everything on sheet Tools together.",
              absent={"ft": Decimal(100), "m": Decimal(45)}),
        Field("cart_places", "Carts in the vehicle", "carts", _whole(1_000, 1), "Carts that fit in at once."),
        Field("carts_owned", "Carts owned", "carts", PIECES, "Bought and not sold. Private."),
    )),
))  # fmt: skip

TOOLS = Table("Tools", "tools",
    "What a crew brings to every job: the list at the foot of its day sheet.", (
    Section("For every job", (Field("tool", "Tool", "", Text(100), "One per row, with how many."),)),
), rows=20)  # fmt: skip

MONTHS = (
    "january", "february", "march", "april", "may", "june", "july", "august", "september", "october", "november",
    "december",
)  # fmt: skip

TYPICAL_FLOORS = Table("Typical year", "typical_floors",
    "Floors that you expect to be asked for, for `quotebook buy --typical`. Private. May be left empty.", (
    Section("The floor", (
        Field("typical_surface", "Surface", "", Choice(SURFACES), "The ground it is laid on.", absent=SURFACES[0]),
        Field("typical_width", "Width", "{length}", SIZE, "As a client asks for it.", absent=Decimal(1)),
        Field("typical_length", "Length", "{length}", SIZE, "As a client asks for it.", absent=Decimal(1)),
        Field("typical_days", "Days", "days", _whole(3650, 1), "Of hire.", absent=Decimal(1)),
    )),
    Section("Requests in each month", tuple(
        Field(month, month.capitalize(), "requests", _whole(1_000), "May be left empty.", blank=Decimal(0),
              absent=Decimal(0))
        for month in MONTHS
    )),
), rows=20)  # fmt: skip

TERMS = Table("Terms", "terms",
    "The terms on every quote, one per row. Have them read by a lawyer where you trade.", (
    Section("On every quote", (
        Field("term", "Term", "", Text(1_000), "One per row, in the order of the quote and in its language."),
    )),
), rows=20)  # fmt: skip

SHEETS = (FIRM, PANELS, SUBFLOORS, SURFACES_SHEET, HIRE_LENGTHS, DELIVERY, TYPICAL_FLOORS, TOOLS, TERMS)
"""The sheets in the order of the workbook, after the sheet `Start here`."""

TABLES = tuple(sheet for sheet in SHEETS if isinstance(sheet, Table))
FORMS = tuple(sheet for sheet in SHEETS if not isinstance(sheet, Table))
