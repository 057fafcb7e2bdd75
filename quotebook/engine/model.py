"""The nouns: what the owner's rate card says, and what a client asks for.

Field names are the vocabulary: the same word is the workbook's defined name, the JSON key and the
ledger's column. Lengths are in the card's `length_unit` (ft or m), weights in lb or kg, distances
in miles or km, money in the card's currency, shares as fractions of one.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal

from quotebook.engine.lifting import Lift
from quotebook.engine.published import OTHER

LINES = 6
"""Floor lines on a quote."""

GRASS, PAVING, HARD_INDOORS, CARPET_INDOORS = SURFACES = ("grass", "paving", "hard indoors", "carpet indoors")
"""The ground a floor may be laid on."""

DIRECT, OVER_SUBFLOOR, NOT_HERE = LAYINGS = ("direct", "over subfloor", "no")
"""How a kind of panel goes on a surface, as the rate card says for each pair."""

WEIGHT_UNITS = {"ft": "lb", "m": "kg"}
"""The unit of weight that goes with each unit of length."""

OPTIONS = ("A", "B", "C")
"""The letters of the alternatives that a quote may offer, of which its client picks one."""

RULES = "2"
"""Version of the arithmetic. A quote that was issued under another is held against its own signed formulas."""


def same_text(one: str, other: str) -> bool:
    """Whether a spreadsheet's `=` calls two texts equal: case aside, character by character.

    Letters outside Latin-1 must match exactly, because programs fold their case differently.
    """
    return one == other or (max(one + other, default="") <= "\xff" and one.lower() == other.lower())


@dataclass(frozen=True)
class PanelKind:
    """One kind of panel, as far as its client may know it."""

    panel: str
    """The code by which a floor line names it."""
    panel_name: str
    panel_width: Decimal
    panel_length: Decimal
    thickness: Decimal
    """In inches or millimetres."""
    panel_weight: Decimal
    rate: Decimal
    """Hire of one panel at a hire-length factor of one."""
    panel_minutes: Decimal
    """Person-minutes to lay one."""
    panels_per_cart: Decimal
    piece: Decimal
    """Length of one edging piece; 0 where no edging is kept for this kind."""
    piece_rate: Decimal
    corner_rate: Decimal
    piece_minutes: Decimal
    """Person-minutes for one edging piece or corner."""
    piece_weight: Decimal
    corner_weight: Decimal
    subfloor_kind: str
    """Code of the subfloor it is laid over, where a surface needs one; may be empty."""
    layings: tuple[str, str, str, str]
    """One of LAYINGS for each of SURFACES."""
    free: Decimal
    """Panels free on the date of the event, as known when the quote was issued."""
    reduced_tax: Decimal = Decimal(0)
    """1 where its hire, edging and subfloor bear the reduced rate of tax, else 0."""

    def laying(self, surface: str) -> str:
        """How it goes on `surface`; NOT_HERE on ground that the card does not know."""
        return self.layings[SURFACES.index(surface)] if surface in SURFACES else NOT_HERE


@dataclass(frozen=True)
class Subfloor:
    """Sheets laid under a floor that cannot go straight on the ground."""

    subfloor_kind: str
    subfloor_name: str
    sheet_width: Decimal
    sheet_length: Decimal
    sheet_thickness: Decimal
    """In inches or millimetres."""
    sheet_rate: Decimal
    sheet_minutes: Decimal
    """Person-minutes to lay one sheet."""
    sheet_weight: Decimal
    sheets_per_cart: Decimal


@dataclass(frozen=True)
class DayFactor:
    """From this many days on, a hire costs this many times the one-day rate."""

    hire_days: Decimal
    hire_factor: Decimal


@dataclass(frozen=True)
class Rates:
    """Everything a price depends on, excluding the request. A client may read all of it."""

    minor_units: Decimal
    crew: Decimal
    hourly_rate: Decimal
    minimum_hours: Decimal
    unload_minutes: Decimal
    """Person-minutes to unload one cart."""
    flight_minutes: Decimal
    """Person-minutes to take one cart up one flight of stairs."""
    strike_share: Decimal
    """Strike as a share of set-up."""
    after_hours_share: Decimal
    """Surcharge on a strike after hours, as a share of its labour."""
    base_charge: Decimal
    """For each trip."""
    included_miles: Decimal
    rate_per_mile: Decimal
    payload: Decimal
    """Weight the vehicle may carry."""
    cart_places: Decimal
    """Carts the vehicle has room for."""
    cart_weight: Decimal
    """Weight of an empty cart."""
    tools_weight: Decimal
    """Weight of everything that the crew brings to every job."""
    waiver_share: Decimal
    deposit_share: Decimal
    tax_rate: Decimal
    tax_on_goods: bool
    tax_on_delivery: bool
    tax_on_labour: bool
    tax_on_waiver: bool
    area_per_dancer: Decimal
    """An assumption of the owner's (common practice, no source: about 4.5 sq ft), never below `crowding_area`."""
    dancers_share: Decimal
    """Share of the guests who dance at once: an assumption (common practice, no source: 30 to 50 %)."""
    crowding_area: Decimal
    """Net area a person standing, as the owner's code has it: 5 sq ft (IBC Table 1004.5, standing space)."""
    step_limit: Decimal
    """The highest edge that is no step: 1/4 in or 6.4 mm (ADA 2010 Standards 303.2)."""
    longest_side: Decimal
    """The longest side of a floor that is priced."""
    largest_entry: Decimal
    """The largest number of days, miles, flights or guests that is priced."""
    kinds: tuple[PanelKind, ...]
    subfloors: tuple[Subfloor, ...]
    day_factors: tuple[DayFactor, ...]
    """Ascending in days."""
    deposit_days: Decimal = Decimal(0)
    """Days from the issue in which the deposit is due; 0 where no day is said."""
    balance_days: Decimal = Decimal(0)
    """Days before the event by which the balance is due."""
    minimum_order: Decimal = Decimal(0)
    """The least that the goods of a quote with floors are charged at, after discount."""
    prices_with_tax: bool = False
    """Whether every price has its tax in it: then the tax is worked out, and nothing is added."""
    reduced_tax_rate: Decimal = Decimal(0)
    reduced_on_delivery: bool = False
    """Whether delivery, where it is taxed, bears the reduced rate; so are the next two."""
    reduced_on_labour: bool = False
    reduced_on_waiver: bool = False
    clear_way: Decimal = Decimal(0)
    """The narrowest clear way round a floor: 3 ft or 0.915 m (ADA 2010 Standards 403.5.1)."""
    edging_breadth: Decimal = Decimal(0)
    """How far edging stands out from a floor."""

    def without_tax(self) -> "Rates":
        """These rates for a client who is exempt from tax."""
        return replace(self, tax_rate=Decimal(0), reduced_tax_rate=Decimal(0))

    def kind(self, code: str) -> PanelKind | None:
        """The panel kind with this code, compared as spreadsheets compare text."""
        return next((kind for kind in self.kinds if same_text(kind.panel, code)), None)

    def subfloor(self, code: str) -> Subfloor | None:
        """The subfloor with this code, compared as spreadsheets compare text."""
        return next((sheet for sheet in self.subfloors if same_text(sheet.subfloor_kind, code)), None)

    def listed_kind(self, code: str) -> PanelKind:
        """The panel kind with this code, of a line that is priced. Raises KeyError for one that is not on the card."""
        if (kind := self.kind(code)) is None:
            raise KeyError(code)
        return kind

    def listed_subfloor(self, code: str) -> Subfloor:
        """The subfloor with this code, of a line with sheets. Raises KeyError for one that is not on the card."""
        if (sheet := self.subfloor(code)) is None:
            raise KeyError(code)
        return sheet


@dataclass(frozen=True)
class Firm:
    """Who issues the quotes, and how its papers look."""

    firm: str
    contact_lines: tuple[str, ...]
    currency: str
    """ISO 4217 code."""
    length_unit: str
    """`ft` or `m`."""
    paper: str
    """`A4` or `Letter`."""
    language: str
    accent_colour: str
    """`#RRGGBB`."""
    logo: str
    """File name of a picture beside the rate card; empty for none."""
    valid_days: Decimal
    """Days from issue for which a quote stands."""
    turnaround_days: Decimal
    """Days a panel is away after an event, for drying and cleaning."""
    tax_name: str
    """What its tax is called, such as VAT; empty for the word of its language."""
    tax_number: str
    """Under which the firm is known to the tax office; empty for none."""
    edging_by_default: tuple[bool, bool, bool, bool]
    """For each of SURFACES: whether edging is fitted when a request does not say."""
    country: str = OTHER
    """One of `published.COUNTRIES`: whose rules and clauses its papers name."""
    region: str = ""
    """ISO 3166 code of the country whose numbers and dates mails are written with; empty for the language's own."""
    pay_lines: tuple[str, ...] = ()
    """How to pay: lines of text, sent as they are."""
    suggests_sizes: bool = True
    """Whether quotes suggest a larger floor where theirs is too small for the guests."""

    @property
    def reply_address(self) -> str:
        """The mail address among the contact lines, to which answers go; empty where there is none."""
        words = (word.strip(".,;:()<>") for line in self.contact_lines for word in line.split())
        return next((word for word in words if "@" in word.strip("@")), "")

    def edging_on(self, surface: str) -> bool:
        """Whether edging is fitted on `surface` unless a request says otherwise."""
        return surface in SURFACES and self.edging_by_default[SURFACES.index(surface)]


@dataclass(frozen=True)
class Holding:
    """What the firm owns of one panel kind. Private: it never enters a client's workbook."""

    owned: Decimal
    purchase_price: Decimal
    """For one panel."""
    bought_on: date
    life_years: Decimal
    """Years for which the panels are expected to be hired out."""
    edging_owned_slot: Decimal
    """Edging pieces that mate with slot edges."""
    edging_owned_tongue: Decimal
    corners_owned: Decimal
    system: str
    """Kinds with the same word here lock together; empty for a kind that locks only with itself."""
    replacement_price: Decimal
    """Charged for one panel that is lost, or damaged beyond hire; so are the next two for edging."""
    piece_replacement_price: Decimal
    corner_replacement_price: Decimal
    piece_price: Decimal = Decimal(0)
    """For one piece of edging; 0 where the card does not say. For a corner too."""
    corner_price: Decimal = Decimal(0)


@dataclass(frozen=True)
class SheetHolding:
    """What the firm owns of one subfloor. Private: it never enters a client's workbook."""

    owned: Decimal
    purchase_price: Decimal
    """For one sheet."""
    replacement_price: Decimal
    """Charged for one sheet that is lost, or damaged beyond hire."""


@dataclass(frozen=True)
class PaymentTerms:
    """When money is due, and what is charged or given back besides the quote. Never in a client's quote workbook."""

    deposit_days: Decimal
    """Days after the issue by which the deposit is due; 0 where it is due with the balance."""
    balance_days: Decimal
    """Days before the event by which the balance is due."""
    bill_days: Decimal
    """Days after its date by which a bill is due."""
    deposit_kept_share: Decimal
    """The part of the deposit that is kept when an agreed quote is cancelled late."""
    free_cancellation_days: Decimal
    """Cancelled so many days before the event or earlier, a quote's whole deposit goes back; 0 for never."""
    waiver_covers_damage: Decimal
    """The part of the replacement price of damaged pieces that the client's damage waiver covers."""
    waiver_covers_loss: Decimal
    """The part of the replacement price of lost pieces that it covers."""
    tax_on_losses: bool
    """Whether lost and damaged pieces, and a deposit that is kept, bear the card's tax."""
    bill_note: str
    """What stands at the foot of every bill: how to pay, and what the law asks for; may be empty."""


@dataclass(frozen=True)
class TypicalFloor:
    """A floor that the firm expects to be asked for, so many times in each month of a year. Private."""

    surface: str
    width: Decimal
    length: Decimal
    days: Decimal
    requests: tuple[Decimal, ...]
    """In January, in February and so on."""


@dataclass(frozen=True)
class RateCard:
    """The owner's whole configuration."""

    firm: Firm
    rates: Rates
    holdings: dict[str, Holding]
    """By panel code."""
    sheet_holdings: dict[str, SheetHolding]
    """By subfloor code."""
    carts_owned: Decimal
    gross_weight: Decimal
    """Weight of the loaded vehicle that its papers allow."""
    trailer_weight: Decimal
    """Weight of its loaded trailer that the trailer's papers allow; 0 for none."""
    strap_limit: Decimal
    """Working load limit of one strap."""
    day_hours: Decimal
    """The longest working day, from leaving the yard to being back, in hours."""
    lifts: tuple[Lift, Lift]
    """One panel off its cart: where it is taken up, and where it is put down. For how long is the job's."""
    tools: tuple[str, ...]
    """What a crew brings to every job."""
    terms: tuple[str, ...]
    payment_terms: PaymentTerms
    typical_floors: tuple[TypicalFloor, ...] = ()
    finishes: Mapping[str, str] = field(default_factory=dict)
    """The colour of each kind of panel on a quote, `#RRGGBB`, by its code; a kind may have none."""

    def in_language(self, language: str) -> "RateCard":
        """The same card for quotes in another language; names and terms stay as they are written."""
        return replace(self, firm=replace(self.firm, language=language))


@dataclass(frozen=True)
class Papers:
    """What identifies one quote among the firm's papers."""

    quote_number: str
    revision: Decimal
    issued_on: date
    valid_until: date


@dataclass(frozen=True)
class FloorLine:
    """One floor asked for."""

    panel: str = ""
    width: Decimal | None = None
    length: Decimal | None = None
    edging_wanted: bool = False
    joined_width: Decimal = Decimal(0)
    """What further lines add to this one's floor, where one floor is laid of several kinds: on its first line. The
    further lines have their own sides there, less than 0, so that no floor begins on them. The owner's, at issue."""
    joined_length: Decimal = Decimal(0)
    joined_right: Decimal = Decimal(0)
    """How much of the whole floor lies to the right of this line's block, where one floor is laid of several kinds.
    The owner's, at issue."""
    joined_beyond: Decimal = Decimal(0)
    """How much of it lies beyond the block."""
    option: str = ""
    """The letter of the option that it belongs to; empty for a floor that belongs to all of them."""


@dataclass(frozen=True)
class Request:
    """What a client asks for. `None` stands for an entry that is blank or cannot be used."""

    client: str = ""
    event: str = ""
    event_date: date | None = None
    venue: str = ""
    days: Decimal | None = None
    surface: str = ""
    miles: Decimal | None = None
    flights: Decimal | None = None
    guests: Decimal | None = None
    after_hours: bool = False
    waiver_taken: bool = False
    raised: bool = False
    """Whether the floor goes on a deck, a pool cover, a stage, a roof, or over another room."""
    room_width: Decimal | None = None
    """Of the room or tent; None where it is not said."""
    room_length: Decimal | None = None
    discount_share: Decimal = Decimal(0)
    """Granted by the owner; not a client's to edit."""
    lines: tuple[FloorLine, ...] = field(default=())
    """At most LINES of them."""
    picked: str = ""
    """The letter of the option that is picked, where lines belong to options."""

    @property
    def every_line(self) -> tuple[FloorLine, ...]:
        """All LINES of the sheet, blank ones included."""
        return self.lines + (FloorLine(),) * (LINES - len(self.lines))

    @property
    def options(self) -> tuple[str, ...]:
        """The options that lines belong to, in the order of the letters; empty for a quote without alternatives."""
        return tuple(sorted({line.option for line in self.lines if line.option}))

    @property
    def needs_pick(self) -> bool:
        """Whether there are options, and none of them is picked."""
        return bool(self.options) and not any(same_text(option, self.picked) for option in self.options)

    def leaves_out(self, line: FloorLine) -> bool:
        """Whether a line belongs to an option that is not picked, so that it counts as nothing."""
        return bool(line.option) and not same_text(line.option, self.picked)

    def as_picked(self) -> "Request":
        """The request with a blank line for every one that it leaves out; each line keeps its number."""
        return replace(self, lines=tuple(FloorLine() if self.leaves_out(line) else line for line in self.lines))

    def with_pick(self, option: str) -> "Request":
        """The request with another option picked."""
        return replace(self, picked=option)
