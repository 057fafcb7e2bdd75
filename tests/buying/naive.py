"""A season played in the plainest way, day by day and piece by piece: what the tests hold the real one against."""

import random
from collections import Counter
from datetime import date

from quotebook.buying.demand import Booking, Service
from quotebook.engine.stock import Item

START = date(2027, 5, 1).toordinal()
ITEMS = [Item("panels", "A"), Item("panels", "B"), Item("sheets", "S"), Item("slot_pieces", "A")]


def play(season, owned):
    """The place of the service that each request gets, or -1."""
    away = Counter()
    choices = []
    for booking in season:
        days = range(booking.first, booking.last + 1)
        choice = -1
        for place, service in enumerate(booking.services):
            if all(away[item, day] + pieces <= owned[item] for item, pieces in service.needs for day in days):
                for item, pieces in service.needs:
                    for day in days:
                        away[item, day] += pieces
                choice = place
                break
        choices.append(choice)
    return choices


def net(season, owned, crew_cost):
    """What is left of a season when the crew is paid, in cents."""
    pairs = zip(season, play(season, owned), strict=True)
    got = [booking.services[choice] for booking, choice in pairs if choice >= 0]
    return sum(service.earned for service in got) - crew_cost * sum(service.crew_hours for service in got) // 10_000


def service(kind, panels, earned, hours=0, *others):
    return Service(kind, ((Item("panels", kind), panels), *others), earned, 10**6 * hours, earned)


def season(chance: random.Random, requests: int, days: int = 20):
    """Requests at random: of one or two kinds, some over sheets, some with edging, of one to four days."""
    found = []
    for number in range(requests):
        first = START + chance.randrange(days)
        services = []
        for kind in chance.sample("AB", chance.choice((1, 1, 2))):
            others = [(Item("sheets", "S"), chance.randrange(1, 4))] if kind == "B" and chance.random() < 0.5 else []
            others += (
                [(Item("slot_pieces", "A"), chance.randrange(1, 5))] if kind == "A" and chance.random() < 0.3 else []
            )
            services.append(
                service(kind, chance.randrange(1, 7), chance.randrange(100, 900), chance.randrange(5), *others)
            )
        found.append(Booking(f"request {number}", first, first + chance.randrange(1, 5), tuple(services)))
    return found
