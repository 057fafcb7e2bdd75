"""A second quote worked out by hand to the pound and the cent, on the shipped card, with all that is loaded.

Carts, edging, corners and tools are weighed; panels go on sheets that have a thickness; one side is cut.
"""

from datetime import date
from decimal import Decimal as D
from importlib.resources import files

from quotebook.engine.loading import Cart, EdgingPack, Load
from quotebook.engine.model import FloorLine, Request
from quotebook.engine.visits import Job
from quotebook.rate_card.reader import read_rate_card

CARD = read_rate_card(files("quotebook.templates") / "rate_card.xlsx")
REQUEST = Request(
    client="A. Client", event="Party", event_date=date(2027, 6, 12), venue="The long meadow", days=D(1),
    surface="grass", miles=D(20), guests=D(250),
    lines=(
        FloorLine("OAK-44", D(40), D(28), edging_wanted=True),
        FloorLine("WHITE-23", D(14), D(10)),
        FloorLine("OAK-34", D(9), D(14), edging_wanted=True),
    ),
)  # fmt: skip
JOB = Job("Q0001", 1, CARD.rates, REQUEST)

LINES = (
    # 40/4 x 28/4 panels of 49 lb, 10 to a cart of 78 lb; 10 + 7 pieces of 4 ft and 3.1 lb twice, 4 corners of 0.8 lb.
    {
        "panels": 70, "carts": 7, "edging_pieces": 34, "cut_pieces": 0, "corners": 4, "sheets": 0,
        "edge_height": "1.125",
        "minutes": "85.2",  # 70 x 1 + 38 x 0.4
        "weight": "4084.6",  # 3,430 + 105.4 + 3.2 + 546
        "hire": "2436.00", "edging": "107.30", "subfloor": 0,  # 70 x 34.80; 34 x 2.95 + 4 x 1.75
    },
    # 14/2 x 10/3 are 7 x 4; turned, 14/3 x 10/2 are 5 x 5: 15 x 10 ft. On it 2 x 3 sheets of 8 x 4 ft, not 4 x 2.
    {
        "panels": 25, "carts": 2, "edging_pieces": 0, "cut_pieces": 0, "corners": 0, "sheets": 6,
        "edge_height": "1.453",  # 0.75 on 0.703
        "minutes": "65.25",  # 25 x 0.45 + 6 x 9
        "weight": 782,  # 25 x 9.2 + 6 x 66 + 2 x 78
        "hire": "297.50", "edging": 0, "subfloor": "99.00",  # 25 x 11.90; 6 x 16.50
    },
    # 9/3 x 14/4 are 3 x 4: 9 x 16 ft. 9/4 is 3 pieces, one of which is cut, 16/4 is 4: 7 twice.
    {
        "panels": 12, "carts": 1, "edging_pieces": 14, "cut_pieces": 2, "corners": 4, "sheets": 0,
        "edge_height": "1.125",
        "minutes": "17.4",  # 12 x 0.85 + 18 x 0.4
        "weight": "580.6",  # 12 x 38 + 14 x 3.1 + 4 x 0.8 + 78
        "hire": "313.20", "edging": "48.30", "subfloor": 0,  # 12 x 26.10; 14 x 2.95 + 4 x 1.75
    },
)  # fmt: skip
"""Figures of the floor lines."""

QUOTE = {
    "dancers": 100, "area_needed": 500, "standing_room": 282,  # 250 x 0.4; 100 x 5; 1,414 / 5
    "panels": 107, "area": 1414, "carts": 10,  # 1,120 + 150 + 144
    "weight": "5447.2", "trips": 2,  # with 95 lb of tools 5,542.2 / 3,450; 10 carts in 9 places
    "setup_minutes": "217.85", "setup_hours": 2,  # 85.2 + 65.25 + 17.4 + 10 x 5; 217.85 / 2 / 15 = 7.3 quarters
    "strike_minutes": "141.6025", "strike_hours": "1.25",  # 0.65 of it; 4.7 quarters
    "labour": "218.40", "delivery": "201.60",  # 3.25 x 2 x 33.60; 2 x (78 + 8 x 2.85)
    "goods": "3301.30", "taxable": "3502.90", "tax": "253.96",  # 0.0725 of it is 253.96025
    "total": "3975.26", "deposit": "1391.34", "balance": "2583.92",  # 0.35 of it is 1,391.341
}  # fmt: skip
"""Figures of the quote."""

OAK = Cart("panels", "OAK-44", 1, 10, D(568))  # 10 x 49 + 78
LOADS = (
    # 95 + 5 x 568 are 2,935 lb; a sixth cart would make 3,503, above 3,450.
    Load((OAK,) * 5, (), D(95)),
    # 1,136 + 474 + 308 + 534 + 155.2 are 2,607.2 lb.
    Load(
        (
            OAK, OAK, Cart("sheets", "PLY-48", 2, 6, D(474)), Cart("panels", "WHITE-23", 2, 25, D(308)),
            Cart("panels", "OAK-34", 3, 12, D(534)),
        ),
        (
            EdgingPack("slot_pieces", "OAK-44", 1, 17, D("52.7")),
            EdgingPack("tongue_pieces", "OAK-44", 1, 17, D("52.7")),
            EdgingPack("corners", "OAK-44", 1, 4, D("3.2")), EdgingPack("slot_pieces", "OAK-34", 3, 7, D("21.7")),
            EdgingPack("tongue_pieces", "OAK-34", 3, 7, D("21.7")), EdgingPack("corners", "OAK-34", 3, 4, D("3.2")),
        ),
        D(0),
    ),
)  # fmt: skip
"""What goes on each trip."""
