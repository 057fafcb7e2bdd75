"""Mutations of real quotes, by what may be done to an XML package: every file is one that no honest program wrote."""

import random
import zipfile
from pathlib import Path

import mutations_of_books as books
import mutations_of_cells as cells
import mutations_of_ods as ods
from mutating import Package, Unfit


def _by_name(*functions):
    return {function.__name__.replace("_", " "): function for function in functions}


XLSX = _by_name(
        cells.cell_twice, cells.cell_elsewhere, cells.reference_respelled, cells.row_twice, cells.row_renumbered,
        cells.block_twice, cells.other_namespace, cells.root_namespace, cells.alternates, cells.child_inside,
        cells.number_respelled, cells.other_type, cells.truth_respelled, cells.day_respelled, cells.escaped,
        cells.two_values, cells.runs, cells.strings_moved, cells.formula_spread, cells.formula_added,
        cells.formula_respelled, books.name_twisted, books.settings_of_the_book, books.sheets_twisted,
        books.links_twisted, books.office_document_twice, books.types_twisted, books.encoding_declared,
        books.beside_the_cells, books.whatever,
)  # fmt: skip
"""The mutations of an .xlsx, by what is done."""
ODS = _by_name(
        ods.ods_cell_twice, ods.ods_values, ods.ods_number_respelled, ods.ods_text, ods.ods_repeats, ods.ods_formula,
        ods.ods_beside, ods.ods_names, books.encoding_declared, books.whatever,
)  # fmt: skip
"""The mutations of an .ods, by what is done."""


def parts_of(path: Path) -> dict[str, bytes]:
    with zipfile.ZipFile(path) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def mutant(parts: dict[str, bytes], kind: str, seed: int, path: Path) -> Path | None:
    """A file mutated in one way, as chance has it under a seed; None where that way takes no hold of it."""
    package = Package(parts, random.Random(f"{kind} {seed}"))
    try:
        (XLSX | ODS)[kind](package)
        return package.save(path)
    except (Unfit, ValueError, TypeError, AttributeError):  # chance asked for what XML does not allow
        return None
