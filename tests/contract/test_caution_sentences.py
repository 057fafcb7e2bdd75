"""What cautions say: every figure from the constants, in each language and for each country, with its source."""

import re
import tomllib
from dataclasses import replace
from decimal import Decimal as D
from importlib.resources import files
from string import Formatter

import pytest
from worked_example import FIRM

from quotebook.contract.words import LANGUAGES, caution_sentences, caution_source, crew_sentences, words_in
from quotebook.engine import published
from quotebook.engine.cautions import CAUTIONS
from quotebook.engine.crew import CREW_CAUTIONS, CrewCaution
from quotebook.engine.published import COUNTRIES, SOURCES

SECTIONS = ("cautions", "crew_cautions")


def raw(language):
    return tomllib.loads((files("quotebook.templates") / f"words.{language}.toml").read_text("utf-8"))


def firm(language="en", country="USA", unit="ft"):
    return replace(FIRM, language=language, country=country, length_unit=unit)


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("section", SECTIONS)
def test_no_figure_stands_in_a_sentence_itself(section, language):
    """Digits, and the words for a half, a third, a quarter, two thirds and the like."""
    share = r"\b(half|thirds?|quarter|mitad|tercios?|cuarto|moiti|tiers|quart)\b"
    for key, sentence in raw(language)[section].items():
        assert not re.search(rf"\d|{share}", re.sub(r"{\w+}", "", sentence)), key


SAID = {
    "en": {
        "bevel": ("up to 1/2 in (13 mm) a bevel of 1:2", "at 1:12 or flatter"), "raised": ("100 psf (4.79 kPa)",),
        "crowding": ("({crowding_area} sq ft each)",), "weather": ("until 30 minutes after",),
        "room": ("no clear way of {clear_way} ft all round it",),
    },
    "es": {
        "bevel": ("hasta 1/2 pulg. (13 mm) basta un bisel de 1:2", "de 1:12 o más suave"),
        "raised": ("100 psf (4,79 kPa)",), "crowding": ("({crowding_area} pies² cada una)",),
        "weather": ("hasta 30 minutos después",), "room": ("un paso de {clear_way} pies todo alrededor",),
    },
    "fr": {
        "bevel": ("jusqu'à 1/2 po (13 mm), un biseau de 1:2", "à 1:12 ou plus doux"), "raised": ("100 psf (4,79 kPa)",),
        "crowding": ("({crowding_area} pi² par personne)",), "weather": ("jusqu'à 30 minutes après",),
        "room": ("tout autour un passage de {clear_way} pi",),
    },
}  # fmt: skip
"""ADA 2010 Standards 303.3, 405.2; ASCE 7 Table 4.3-1; US National Weather Service."""


@pytest.mark.parametrize("language", LANGUAGES)
def test_published_figures_are_said_to_clients(language):
    said = caution_sentences(firm(language))
    for key, phrases in SAID[language].items():
        assert all(phrase in said[key] for phrase in phrases), (key, said[key])


def test_units_and_loads_follow_the_card():
    metric = caution_sentences(firm("fr", "EU", "m"))
    assert "({crowding_area} m² par personne)" in metric["crowding"]
    assert "104 psf (5 kN/m²)" in metric["raised"]
    assert "100 psf (4.79 kPa)" in caution_sentences(firm("en", "other"))["raised"]


STRAPS = {"weight": D(1500), "least": D(750), "strap_limit": D(1000), "over": D(1), "direct": D(2)}
LIFT = {"hours": D("3.0"), "recommended": D("18.7"), "most_hours": D(8)}
PARTS = (
    CrewCaution("team", {"what": "OAK-42", "weight": D(26), "people": D(3)}),
    CrewCaution("lifting_aid", {"what": "OAK-44", "weight": D(49)}),
)
CREW_SAID = {
    "en": {
        "tiedowns": "must sum to half of it, 750 lb. Straps of 1000 lb: 1 that go over the load and back to the "
        "vehicle, or 2 that go from the vehicle to the load and count half.",
        "lifting": "OAK-42 (26 lb): 3 people; OAK-44 (49 lb): a lifting aid. For 3 h of this lift the NIOSH equation "
        "recommends 18.7 lb to one person at most, on dry, level ground and without carrying; it says nothing of "
        "teams. Two lift two thirds of what they could lift singly, three half. At best one lifts 55 lb (25 kg).",
        "carts": "on a slope of 1:12: 4.",
        "long_lifting": "covers 8 h at most",
    },
    "es": {
        "tiedowns": "deben sumar la mitad de eso, 750 lb. Cinchas de 1000 lb: 1 que pasen sobre la carga y vuelvan al "
        "vehículo, o 2 que vayan del vehículo a la carga y cuentan la mitad.",
        "lifting": "Entre dos se levantan dos tercios de lo que podrían por separado, entre tres la mitad. Una persona "
        "levanta como mucho 55 lb (25 kg).",
        "carts": "en una pendiente de 1:12: 4.",
        "long_lifting": "llega a 8 h como máximo",
    },
    "fr": {
        "tiedowns": "doivent totaliser la moitié de cela, 750 lb. Sangles de 1000 lb : 1 qui passent sur la charge et "
        "reviennent au véhicule, ou 2 qui vont du véhicule à la charge et comptent pour la moitié.",
        "lifting": "À deux on lève les deux tiers de ce qu'on lèverait chacun, à trois la moitié. Une personne lève au "
        "mieux 55 lb (25 kg).",
        "carts": "sur une pente de 1:12 : 4.",
        "long_lifting": "va jusqu'à 8 h",
    },
}
"""49 CFR 393.106(d); DHHS (NIOSH) 94-110; HSE L23, paragraph 120; ISO 11228-1; ADA 2010 Standards 405.2."""
FOUND = (
    CrewCaution("tiedowns", STRAPS),
    CrewCaution("lifting", LIFT, PARTS),
    CrewCaution("carts", {"weight": D(568), "people": D(2), "on_slope": D(4)}),
    CrewCaution("long_lifting", {"hours": D(12), "most_hours": D(8)}),
)


@pytest.mark.parametrize("language", LANGUAGES)
def test_published_figures_are_said_to_the_crew(language):
    said = dict(zip((caution.key for caution in FOUND), crew_sentences(FOUND, firm(language)), strict=True))
    for key, phrase in CREW_SAID[language].items():
        assert phrase in said[key][0].replace("\u00a0", " "), (key, said[key][0])


CHANGED = [
    ("RAMP_SLOPE", published.BEVEL_SLOPE), ("BEVEL_SLOPE", published.RAMP_SLOPE),
    ("BEVELLED_EDGE", published.LEVEL_EDGE), ("REFERENCE_MASS", published.PUSH), ("THUNDER_MINUTES", D(3)),
    ("TEAM_SHARES", {2: published.TEAM_SHARES[3], 3: published.TEAM_SHARES[2]}),
]  # fmt: skip


@pytest.mark.parametrize(("name", "value"), CHANGED)
@pytest.mark.parametrize("language", LANGUAGES)
def test_a_sentence_says_what_its_constant_says(name, value, language, monkeypatch):
    """A constant that is changed changes a sentence: none is written twice."""
    from quotebook.contract import words

    def said():
        words.published_figures.cache_clear()
        return [*caution_sentences(firm(language)).values(), *crew_sentences(FOUND, firm(language))]

    before = said()
    monkeypatch.setattr(published, name, value)
    after = said()
    monkeypatch.undo()
    words.published_figures.cache_clear()
    assert before != after


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("country", COUNTRIES)
def test_every_caution_has_its_source_beside_it(language, country):
    words = words_in(language)["sources"]
    for key in {*CAUTIONS, *CREW_CAUTIONS} - {"days_needed", "surface_needed", "tax", "team", "lifting_aid"}:
        source = caution_source(key, firm(language, country))
        clauses = SOURCES[key]
        if country in clauses:
            assert source == words["clause"].format(clause=clauses[country])
        else:
            assert source == (
                words["example"].format(clause=next(iter(clauses.values()))) if clauses else words["practice"]
            )
    assert caution_source("tax", firm(language, country)) == ""


def test_sources_by_country_as_they_are_read():
    """ADA 2010 Standards 303 is the USA's; elsewhere it is an example, and the local code decides."""
    assert caution_source("step", firm()) == "Source: ADA 2010 Standards 303."
    assert caution_source("step", firm("en", "UK")) == "Your local code decides; an example is ADA 2010 Standards 303."
    assert caution_source("raised", firm("fr", "EU")) == "Source\u00a0: EN 1991-1-1 Table 6.2, C4."
    assert caution_source("slippery", firm("es", "other")) == "Práctica habitual, sin fuente."


@pytest.mark.parametrize("language", LANGUAGES)
def test_who_decides_is_said_in_full(language):
    """Local codes, the venue, the fire official and the licensed trades."""
    parts = {
        "en": ("ocal codes", "the venue", "the fire official", "the licensed trades"),
        "es": (
            "la normativa local",
            "el local",
            "la autoridad de prevención de incendios",
            "profesionales habilitados",
        ),
        "fr": ("réglementation locale", "le lieu", "service de sécurité incendie", "professionnels habilités"),
    }[language]
    words = words_in(language)
    for sentence in (words["cautions"]["defer"], words["crew_cautions"]["defer"], words["text"]["defers"]):
        assert all(part in sentence for part in parts), sentence


@pytest.mark.parametrize("language", LANGUAGES)
def test_sentences_leave_no_placeholder(language):
    for country in COUNTRIES:
        said = caution_sentences(firm(language, country))
        left = {name for text in said.values() for _, name, _, _ in Formatter().parse(text) if name}
        assert left == {"crowding_area", "clear_way"}
