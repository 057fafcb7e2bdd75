"""The crew's sheet for one job: what to lay, what to load and in which order, what to count back, what to mind."""

from datetime import date
from decimal import Decimal

from quotebook.contract.values import CellValue, joined
from quotebook.crew.day_draft import DayDraft, visit_times
from quotebook.drawing.sheet_writer import SheetWriter
from quotebook.engine.laid_floors import Floor
from quotebook.engine.loading import EdgingPack, Load
from quotebook.engine.money import ZERO
from quotebook.engine.stock import needs
from quotebook.engine.visits import SET_UP, STRIKE, Job

WIDTHS = (6, 17, 17, 11, 11, 11, 11, 11, 11)
FIRST, LAST = 1, len(WIDTHS)
MIDDLE = 4
"""The first column of the right half."""
LONGEST_CLIENT = 60
"""Characters of a client's name in the title."""


def write_job(writer: SheetWriter, draft: DayDraft, job: Job) -> None:
    """Writes the whole sheet from top to bottom; each part returns the row after its last one."""
    writer.sheet.set_row(0, 24)
    writer.text(0, FIRST, f"{job.quote_number}  {job.request.client[:LONGEST_CLIENT]}", "page_title")
    row = _facts(writer, draft, job, 1)
    row = _floors(writer, draft, job, row + 1)
    row = _loads(writer, draft, job, row + 1)
    row = _count_back(writer, draft, job, row + 1)
    writer.text(row + 1, FIRST, draft.text("cautions"), "heading", to=LAST)
    _cautions(writer, draft, job, row + 2)


def _cautions(writer: SheetWriter, draft: DayDraft, job: Job, row: int) -> None:
    """Writes the cautions, most dangerous first, each with its source beside it, and who decides."""
    for number, (sentence, source) in enumerate(draft.cautions(job), 1):
        writer.text(row, FIRST, f"{number}.", "number")
        writer.text(row, FIRST + 1, sentence, "wrapped", to=LAST - 2)
        writer.fit(row, FIRST + 1, sentence, "wrapped", to=LAST - 2)
        writer.text(row, LAST - 1, source, "small_wrapped", to=LAST)
        writer.fit(row, LAST - 1, source, "small_wrapped", to=LAST)
        row += 1
    writer.text(row, FIRST, draft.defer, "quiet_wrapped", to=LAST)
    writer.fit(row, FIRST, draft.defer, "quiet_wrapped", to=LAST)


def _facts(writer: SheetWriter, draft: DayDraft, job: Job, row: int) -> int:
    """Writes when and where the job is, and its figures in two columns."""
    request, figures = job.request, job.figures
    for what, day in ((SET_UP, job.first_day), (STRIKE, job.last_day)):
        writer.text(row, FIRST, f"{draft.label(what)}: {_window(draft, job, what, day)}", "fact", to=LAST)
        row += 1
    facts: dict[str, CellValue] = {
        "surface": draft.surfaces.get(request.surface, ""),
        "flights": figures.flights_counted,
        "miles": figures.miles_counted,
        "days": figures.days_counted,
        "people": job.rates.crew,
        "carts": figures.carts,
        "weight": sum((load.weight for load in job.loads), ZERO),
        "trips": Decimal(len(job.loads)),
    }
    on_quote = [(draft.label(name), getattr(request, name)) for name in ("event", "venue") if getattr(request, name)]
    for label, text in (*on_quote, *draft.asked_beside(job)):
        writer.text(row, FIRST, label, "label", to=FIRST + 1)
        writer.text(row, FIRST + 2, text, "fact_wrapped", to=LAST)
        writer.fit(row, FIRST + 2, text, "fact_wrapped", to=LAST)
        row += 1
    half = len(facts) // 2
    for number, (name, value) in enumerate(facts.items()):
        at, column, to = row + number % half, *((FIRST, FIRST + 1) if number < half else (MIDDLE + 1, MIDDLE + 3))
        writer.text(at, column, draft.label(name), "label", to=to)
        writer.text(at, to + 1, value, "fact")
    return row + half


def _window(draft: DayDraft, job: Job, what: str, day: date) -> str:
    """The times of a visit, if it is one of this day's; otherwise only its day."""
    for visit in draft.visits:
        if visit.what == what and visit.job.quote_number == job.quote_number:
            return draft.text("window", day=draft.day_in_words(day), **visit_times(visit, draft.day))
    return draft.day_in_words(day)


def _floors(writer: SheetWriter, draft: DayDraft, job: Job, row: int) -> int:
    """Writes the floors of the job: panels, size, edging, subfloor and work."""
    writer.text(row, FIRST, draft.text("floors"), "heading", to=LAST)
    names = ("floor", "panels", "size", "slot_pieces", "tongue_pieces", "corners", "sheets", "person_minutes")
    columns = (FIRST, FIRST + 1, *range(FIRST + 3, LAST + 1))
    for column, name in zip(columns, names, strict=True):
        writer.text(row + 1, column, draft.label(name), "column" if name in ("floor", "panels") else "column_right")
        writer.fit(row + 1, column, draft.label(name), "column")
    writer.text(row + 1, FIRST + 2, "", "column")
    for number, floor in enumerate(job.floors, 1):
        at = row + 1 + number
        size = f"{joined(floor.width)} x {joined(floor.length)}"
        counts = (floor.slot_pieces, floor.tongue_pieces, floor.corners, floor.sheets)
        writer.text(at, FIRST, Decimal(number), "row_left")
        writer.text(at, FIRST + 1, panel_counts(floor), "row", to=FIRST + 2)
        writer.fit(at, FIRST + 1, panel_counts(floor), "row", to=FIRST + 2)
        values: tuple[CellValue, ...] = (size, *map(Decimal, counts), floor.minutes)
        for column, value in enumerate(values, FIRST + 3):
            writer.text(at, column, value, "row_figure")
    row += 2 + len(job.floors)
    for number, floor in enumerate(job.floors, 1):
        if floor.cut_pieces:
            writer.text(row, FIRST, draft.text("cut", floor=number, count=floor.cut_pieces), "quiet_wrapped", to=LAST)
            row += 1
    return row


def panel_counts(floor: Floor) -> str:
    """The panels of a floor by kind: `20 OAK-44, 4 OAK-42`."""
    return ", ".join(f"{count} {code}" for code, count in floor.panels.items())


def _loads(writer: SheetWriter, draft: DayDraft, job: Job, row: int) -> int:
    """Writes what to load for each trip, in the order of loading.

    The floor needs its edging last, so edging is loaded first, on the last trip.
    """
    writer.text(row, FIRST, draft.text("load"), "heading_wrapped", to=LAST)
    writer.fit(row, FIRST, draft.text("load"), "heading_wrapped", to=LAST)
    row += 1
    for number, load in enumerate(job.loads, 1):
        row = _load(writer, draft, job, row, number, load) + 1
    return row - 1


def _load(writer: SheetWriter, draft: DayDraft, job: Job, row: int, number: int, load: Load) -> int:
    """Writes one trip: how heavy it is, and a row for everything in it, with boxes for on and off."""
    numbers = {"trip": number, "trips": len(job.loads), "carts": len(load.carts), "payload": job.rates.payload}
    writer.text(row, FIRST, draft.text("trip", load=load.weight, **numbers), "strong", to=LAST - 4)
    for column, name in enumerate(("pieces", "weight", "on", "off"), LAST - 3):
        writer.text(
            row, column, draft.label(name), "column_number" if name in ("pieces", "weight") else "column_centred"
        )
    edging = [(_edging(draft, pack), Decimal(pack.count), pack.weight) for pack in reversed(load.edging)]
    packs = [(draft.text("pack", **vars(cart)), Decimal(cart.count), cart.weight) for cart in reversed(load.carts)]
    tools = [(draft.item("tools"), None, load.tools_weight)] if number == 1 else []
    pieces: list[tuple[str, Decimal | None, Decimal | None]] = [*edging, *packs, *tools]
    for number_on_list, (what, count, weight) in enumerate(pieces, 1):
        row += 1
        writer.text(row, FIRST, Decimal(number_on_list), "row_left")
        writer.text(row, FIRST + 1, what, "row", to=LAST - 4)
        writer.text(row, LAST - 3, count, "row_number")
        writer.text(row, LAST - 2, weight, "row_number")
        writer.text(row, LAST - 1, "", "box")
        writer.text(row, LAST, "", "box")
    return row + 1


def _edging(draft: DayDraft, pack: EdgingPack) -> str:
    """The words for the edging or the corners of one floor."""
    return draft.text("edging", floor=pack.floor, item=draft.item(pack.what, pack.code))


def _count_back(writer: SheetWriter, draft: DayDraft, job: Job, row: int) -> int:
    """Writes everything that goes out, with boxes for what comes back."""
    writer.text(row, FIRST, draft.text("count_back"), "heading", to=LAST)
    writer.text(row + 1, FIRST, draft.label("item"), "column", to=LAST - 4)
    for column, name in enumerate(("out", "came_back", "damaged", "lost"), LAST - 3):
        writer.text(row + 1, column, draft.label(name), "column_number" if name == "out" else "column_centred")
    row += 2
    needed = needs(job.rates, job.request, job.figures)
    for item, count in sorted(needed.items(), key=lambda pair: pair[0].what == "carts"):
        writer.text(row, FIRST, draft.item(item.what, item.code), "row", to=LAST - 4)
        writer.text(row, LAST - 3, Decimal(count), "row_number")
        for column in range(LAST - 2, LAST + 1):
            writer.text(row, column, "", "box")
        row += 1
    return row
