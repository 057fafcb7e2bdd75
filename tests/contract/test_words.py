"""Languages: the same words to say in each, and a workbook in each that adds up and comes back.

A workbook in each language is recalculated by two spreadsheet engines with its cached values
poisoned, and what they save goes through the check.
"""

import re
from collections import Counter
from dataclasses import replace
from datetime import date
from decimal import Decimal as D
from importlib.resources import files
from string import Formatter
from tomllib import loads

import oracle
import pytest
from edits import Book
from extent import extent
from hands import by_ironcalc
from test_recalculation import differences

from quotebook import desk as desks
from quotebook.checking.check import check_file
from quotebook.client.workbook import SHEETS
from quotebook.contract import note_formulas
from quotebook.contract.words import LANGUAGES, words_in
from quotebook.engine.model import FloorLine, Request
from quotebook.quoting.issuing import issue
from quotebook.spreadsheets.cells import CellAddress

TODAY = date(2027, 1, 4)
TEMPLATES = ("words", "mail", "day")
LITERAL = 255
"""Characters of a text in a formula (Excel specifications and limits: text values in formulas)."""


def texts(template, language):
    """Every text of a file of words, by its section and key."""
    found = loads((files("quotebook.templates") / f"{template}.{language}.toml").read_text("utf-8"))

    def flat(value, name):
        if isinstance(value, dict):
            return {key: text for part in value for key, text in flat(value[part], f"{name}.{part}").items()}
        if isinstance(value, list):
            return {f"{name}.{number}": text for number, text in enumerate(value)}
        return {name: value}

    return flat(found, "")


def placeholders(text):
    return Counter(name for _, name, _, _ in Formatter().parse(text) if name)


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("template", TEMPLATES)
def test_every_language_has_the_keys_and_the_placeholders_of_english(template, language):
    english, other = texts(template, "en"), texts(template, language)
    assert other.keys() == english.keys()
    assert {key: placeholders(text) for key, text in other.items()} == {
        key: placeholders(text) for key, text in english.items()
    }
    assert [key for key, text in other.items() if not text.strip(" ")] == []


@pytest.mark.parametrize("language", ["es", "fr"])
def test_no_sentence_is_left_in_english(language):
    english, other = texts("words", "en"), texts("words", language)
    same = {key: re.sub(r"\{.*?\}", "", text) for key, text in other.items() if text == english[key] and " " in text}
    assert [key for key, text in same.items() if re.search(r"[^\W\d_]{2}", text)] == []


def numbers(text):
    """The numbers in a text, whatever its decimal sign; those of units and placeholders aside."""
    return sorted(
        number.replace(",", ".") for number in re.findall(r"\d+(?:[.,]\d+)?", re.sub(r"\{.*?\}|m2", "", text))
    )


@pytest.mark.parametrize("language", ["es", "fr"])
@pytest.mark.parametrize("section", ["cautions", "crew_cautions"])
def test_cautions_cite_the_same_published_figures(section, language):
    english, other = words_in("en")[section], words_in(language)[section]
    assert {key: numbers(text) for key, text in other.items()} == {key: numbers(text) for key, text in english.items()}
    assert {key: re.findall(r"NIOSH|\bCFR\b|psf", text) for key, text in other.items()} == {
        key: re.findall(r"NIOSH|\bCFR\b|psf", text) for key, text in english.items()
    }


@pytest.mark.parametrize("language", LANGUAGES)
def test_texts_go_into_formulas(language):
    words = words_in(language)
    unit = max((units["length"] for units in words["units"].values()), key=len)
    for section in ("notes", "cautions", "plan", "option"):
        for key, text in words[section].items():
            literals = [literal for literal, *_ in Formatter().parse(text.replace("{unit}", unit))]
            assert key == "defer" or max(map(len, literals)) < LITERAL, key
            assert "#" not in text, f"{key}: a # stands for the number of the floor line"


def test_quotation_marks_are_doubled_in_formulas():
    words = words_in("en")
    said = words["notes"] | {"rounded_up": 'Up to "whole" panels.', "suggestion": 'For "{guests_counted}" guests'}
    assert '"Up to ""whole"" panels. "' in note_formulas.notes(said)["notes_1"]
    suggestion = note_formulas.suggestion(said, "ft")
    assert '"For """&FIXED(' in suggestion and '&""" guests"' in suggestion
    assert '"A ""step"""' in note_formulas.cautions(words["cautions"] | {"step": 'A "step"'})["caution_step"]


@pytest.mark.parametrize("language", LANGUAGES)
def test_names_of_sheets_and_words_of_lists_are_usable(language):
    """A sheet's name has at most 31 characters and none of []:*?/\\ or an apostrophe at its ends (ECMA-376 18.2.19)."""
    words = words_in(language)
    names = [words["sheets"][key] for key in SHEETS]
    assert len({name.lower() for name in (*names, "stamp")}) == len(SHEETS) + 1
    assert all(len(name) <= 31 and not re.search(r"[\[\]:*?/\\]|^'|'$", name) for name in names)
    lists = words["words"]
    assert lists["yes"] != lists["no"] and not any("," in lists[word] for word in ("yes", "no"))
    assert len({lists["direct"], lists["over_subfloor"], lists["not_here"]}) == 3
    assert len(set(lists["surfaces"])) == 4


def test_no_french_line_begins_with_a_sign():
    """A no-break space (U+00A0) stands before : ; ? ! as French typography asks."""
    for template in TEMPLATES:
        said = {key: text for key, text in texts(template, "fr").items() if not key.startswith(".formats.")}
        assert [text for text in said.values() if re.search(r"[^\u00a0\d/][:;?!](?=\s|$)", text)] == []


# Workbooks

REQUEST = Request(
    client="Élodie Ñandú", event="Fête d'été", event_date=date(2027, 6, 12), venue="Le pré", days=D(2), surface="grass",
    miles=D("22.75"), flights=D(1), guests=D(85), after_hours=True, waiver_taken=True, discount_share=D("0.055"),
    lines=(FloorLine("CHENE-120", D("5.8"), D("7.1"), True), FloorLine("BLANC-60", D("3.3"), D("3.05"), False)),
)  # fmt: skip


class Issued:
    """A quote of the metric card (EUR, A4) in one language, and what the client may change in its words."""

    def __init__(self, folder, language):
        self.desk = desks.init(folder / "desk", "rate_card_metric.xlsx")
        card = self.desk.card()
        card = replace(card, firm=replace(card.firm, language=language))
        self.path, self.content = issue(self.desk, card, REQUEST, "Q0001", TODAY)
        self.poisoned = folder / f"{language}.xlsx"
        self.poisoned.write_bytes(oracle.poisoned(self.path.read_bytes()))
        words = words_in(language)["words"]
        self.changes = {
            "surface": words["surfaces"][2], "width_1": D("6.45"), "edging_wanted_1": words["no"],
            "after_hours": words["no"], "guests": D(120),
        }  # fmt: skip

    def changed(self, target):
        edit = Book(self.poisoned).edit()
        for name, value in self.changes.items():
            edit.put(CellAddress(*self.content.places[name]), value)
        return edit.save(target)

    def verdict(self, path):
        report = check_file(path, self.desk, TODAY)
        return report.verdict, {finding.name for finding in report.findings}


@pytest.fixture(scope="module")
def issued(tmp_path_factory):
    return {language: Issued(tmp_path_factory.mktemp(language), language) for language in LANGUAGES}


@pytest.mark.parametrize("language", LANGUAGES)
def test_ironcalc_agrees_and_the_check_is_clean(issued, language, tmp_path):
    quote = issued[language]
    assert quote.content.results["total"] == issued["en"].content.results["total"] > 0
    recalculated = oracle.recalculated_by_ironcalc(oracle.with_addresses(quote.poisoned), quote.content.places)
    assert differences(quote.content, recalculated) == {}
    as_it_was = by_ironcalc(quote.poisoned, tmp_path / "same.xlsx", quote.content.places, lambda hand: None)
    assert quote.verdict(as_it_was) == ("agrees", set())
    by_hand = quote.changed(tmp_path / "by-hand.xlsx")
    changed = by_ironcalc(by_hand, tmp_path / "changed.xlsx", quote.content.places, lambda hand: None)
    assert quote.verdict(changed) == ("changed", set(quote.changes))


def test_libreoffice_agrees_and_the_check_is_clean(issued, soffice, tmp_path):
    untouched = [*issued.items()][: extent(1, len(issued))]
    made = [(language, quote.poisoned, "agrees", set()) for language, quote in untouched]
    made += [
        (language, quote.changed(tmp_path / f"{language}-changed.xlsx"), "changed", set(quote.changes))
        for language, quote in issued.items()
    ]
    saved = soffice.convert([path for _, path, *_ in made], tmp_path / "saved")
    for (language, _, verdict, changes), path in zip(made, saved, strict=True):
        quote = issued[language]
        assert quote.verdict(path) == (verdict, changes), (language, verdict)
        if not changes:
            assert differences(quote.content, oracle.values_in(path, quote.content.places)) == {}
