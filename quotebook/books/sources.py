"""What the revenue workbook is made of: the agreed quotes line by line, and what the card says is owned."""

from datetime import date

from sqlalchemy import select

from quotebook.books.revenue import AGREED, AGREED_LINES, OF_LINES, SPREAD, agreed_from, agreed_in_all
from quotebook.books.revenue_rows import Books, Line, Quote
from quotebook.engine.model import RateCard
from quotebook.ledger import Ledger
from quotebook.ledger.tables import lines, quotes

_OF_QUOTE = dict(quotes.c.items())
_OF_LINE = _OF_QUOTE | dict(lines.c.items()) | OF_LINES | SPREAD


def books(ledger: Ledger, card: RateCard, first: date, last: date, currency: str | None = None) -> Books:
    """The books of the months of which `first` is the first day and `last` the last.

    They reach back over the year before the last month's. Raises Misuse for several currencies where
    none is chosen.
    """
    start = min(first, date(last.year - 1, 1, 1))
    with ledger.database.reading() as connection:
        of_all = agreed_in_all(connection, start, last, currency)
        where = agreed_from(start, last, of_all.currency)

        def rows(record: type, columns: dict, source) -> list:
            query = select(*(columns[name].label(name) for name in record._fields)).select_from(source).where(*where)
            return [record(*row) for row in connection.execute(query.order_by(quotes.c.event_date, quotes.c.quote_id))]

        of_lines, of_quotes = rows(Line, _OF_LINE, AGREED_LINES), rows(Quote, _OF_QUOTE, AGREED)
    owned = {code: int(holding.owned) for code, holding in card.holdings.items()}
    minor_units = of_all.minor_units if of_quotes else int(card.rates.minor_units)
    currency = of_all.currency or card.firm.currency
    return Books(card.firm, currency, minor_units, first, last, owned, of_lines, of_quotes)
