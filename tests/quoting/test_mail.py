"""The mail draft: a message by the standards, the workbook as issued, and no way to write another header."""

import os
import re
import shutil
from dataclasses import replace
from datetime import UTC, date, datetime
from decimal import Decimal as D
from email import message_from_bytes, policy

import pytest
from extent import some

from quotebook.checking.attachments import attached_workbooks
from quotebook.checking.batch import check_all
from quotebook.checking.incoming import incoming
from quotebook.contract.words import LANGUAGES
from quotebook.demonstration import demo
from quotebook.desk import Desk, init
from quotebook.engine.model import FloorLine
from quotebook.errors import Misuse, Unreadable
from quotebook.quoting import mail
from quotebook.quoting.issuing import issue
from quotebook.quoting.reissuing import reissue

TO = "client@post.example"
NOW = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)
TENT = demo.EVENTS[0]


@pytest.fixture(scope="module")
def with_a_quote(tmp_path_factory):
    """A desk that has issued one quote, which each test that needs one has a copy of."""
    desk = init(tmp_path_factory.mktemp("issued") / "desk")
    issue(desk, desk.card(), TENT, next(desk.numbers()), date.today())
    return desk.folder


@pytest.fixture
def desk(tmp_path):
    return init(tmp_path / "desk")


@pytest.fixture
def issued(desk, with_a_quote):
    shutil.copytree(with_a_quote, desk.folder, dirs_exist_ok=True)
    return desk.issued_path("Q0001", 1)


def body(message):
    return message.get_body().get_content()


def read_back(message):
    return message_from_bytes(message.as_bytes(), policy=policy.default)


# A message


def test_no_draft_offers_what_is_no_offer(desk):
    """No panel is free: the sheet says so, and no mail says that a deposit holds the date."""
    card = desk.card()
    kinds = tuple(replace(kind, free=D(0)) for kind in card.rates.kinds)
    path, _ = issue(desk, replace(card, rates=replace(card.rates, kinds=kinds)), TENT, "Q0001", date.today())
    with pytest.raises(
        Misuse, match=r"found a quote that is no offer \(.*\); allowed: one that can be had as it stands"
    ):
        mail.make_draft(desk, path, TO, NOW)


def test_the_draft_is_a_message_with_the_workbook_as_issued(desk, issued):
    draft = read_back(mail.make_draft(desk, issued, TO, NOW))
    assert draft["To"] == TO
    assert draft["From"] == "Quillmere Floor Hire <hello@quillmere.example>"
    assert draft["Subject"] == "Quote Q0001 from Quillmere Floor Hire"
    assert draft["Date"].datetime == NOW  # RFC 5322, 3.6: Date and From are the two that every message has
    assert draft["X-Unsent"] == "1"
    (attached,) = draft.iter_attachments()
    assert attached.get_filename() == "Q0001-r1.xlsx"
    assert attached.get_content_type() == "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
    assert attached.get_content() == issued.read_bytes()


def test_nothing_of_this_computer_is_in_it(desk, issued):
    draft = mail.make_draft(desk, issued, TO, NOW)
    assert draft["Message-ID"] is None  # it would hold this computer's name; the mail program gives one
    text = draft.as_bytes().partition(b"UEsD")[0]
    assert str(desk.folder).encode() not in text and os.uname().nodename.encode() not in text


def test_its_lines_are_as_the_standard_has_them(desk, issued):
    lines = mail.make_draft(desk, issued, TO, NOW).as_bytes().split(b"\r\n")
    assert not any(b"\n" in line or b"\r" in line for line in lines)
    assert max(map(len, lines)) <= 998  # RFC 5322, 2.1.1


def test_the_body_names_client_total_and_last_day(desk, issued):
    text = body(mail.make_draft(desk, issued, TO, NOW))
    content = mail._as_issued(desk, issued)
    until = date(1899, 12, 30).toordinal() + int(content.owner["valid_until"])
    day = date.fromordinal(until)
    assert text.startswith("Dear Avelie Marsh,")
    assert f"{content.results['total']:,} USD" in text
    assert f"{day:%B} {day.day}, {day.year}" in text  # as the United States write it
    assert "send it back to hello@quillmere.example" in text
    assert f"The deposit of {content.results['deposit']:,} USD, due on " in text
    assert "hello@quillmere.example" in text and "{" not in text


def test_the_draft_reads_back_through_the_check(desk, issued, tmp_path):
    path = mail.write_draft(mail.make_draft(desk, issued, TO, NOW), tmp_path / "Q0001-r1.eml")
    assert attached_workbooks(path) == [("Q0001-r1.xlsx", issued.read_bytes())]
    (tmp_path / "scratch").mkdir()
    (report,) = check_all(incoming([path], tmp_path / "scratch"), desk)
    assert (report.verdict, report.findings) == ("agrees", ())


def test_a_draft_that_is_there_is_left(desk, issued, tmp_path):
    (tmp_path / "draft.eml").write_text("mine")
    with pytest.raises(Misuse, match="exists already"):
        mail.write_draft(mail.make_draft(desk, issued, TO, NOW), tmp_path / "draft.eml")
    assert (tmp_path / "draft.eml").read_text() == "mine"


# The address


def test_the_address_of_the_request_is_kept_and_used_for_every_revision(desk, issued):
    mail.keep_address(desk, "Q0001", TO)
    assert mail.make_draft(desk, issued)["To"] == TO
    second = reissue(desk, issued).path
    assert mail.make_draft(desk, second)["To"] == TO
    assert mail.make_draft(desk, second, "other@post.example")["To"] == "other@post.example"


def test_the_address_is_in_no_workbook(desk, issued):
    mail.keep_address(desk, "Q0001", TO)
    assert TO.encode() not in b"".join(path.read_bytes() for path in desk.issued.glob("*.xlsx"))
    assert next(desk.numbers()) == "Q0002"  # and is no quote either


def test_without_an_address_one_is_asked_for(desk, issued):
    with pytest.raises(Misuse, match=r"no address is known for Q0001\. Give one: --to ADDRESS"):
        mail.make_draft(desk, issued)


NO_ADDRESSES = (
    "", "client", "@post.example", "a@b@c.example", "a b@post.example", "Client <client@post.example>",
    "a@x.example, b@x.example",
    "a@x.example\r\nBcc: all@x.example", "a@x.example\nBcc: all@x.example", "a@x.example\n", "a@x.example\x00",
    "a@x.example\u2028b",
    "a" * 250 + "@x.example", "=?utf-8?q?a=0ABcc=3A_x?=@x.example",
)  # fmt: skip


@pytest.mark.parametrize("address", NO_ADDRESSES, ids=range(len(NO_ADDRESSES)))
def test_what_is_no_single_address_is_refused(desk, issued, address):
    with pytest.raises(Misuse, match=r"is not a mail address|no address is known"):
        mail.make_draft(desk, issued, address)
    with pytest.raises(Misuse, match="is not a mail address"):
        mail.keep_address(desk, "Q0001", address)
    assert mail.kept_address(desk, "Q0001") == ""


def test_an_address_of_exactly_the_longest_length_is_taken(desk, issued):
    """254 characters are allowed (RFC 5321, section 4.5.3.1.3): 241 before `@post.example`, which has 13."""
    longest = "a" * 241 + "@post.example"
    assert len(longest) == 254
    mail.keep_address(desk, "Q0001", longest)
    assert mail.kept_address(desk, "Q0001") == longest
    with pytest.raises(Misuse, match="is not a mail address"):
        mail.keep_address(desk, "Q0001", "a" + longest)


def test_an_address_in_other_letters_is_written_as_it_is(desk, issued):
    draft = mail.make_draft(desk, issued, "käufer@büro.example")
    assert "To: käufer@büro.example\r\n".encode() in draft.as_bytes()  # RFC 6532


# Header injection


def headers_of(message):
    return [name for name, _ in read_back(message).items()]


HEADERS = ["X-Unsent", "Date", "From", "To", "Subject", "MIME-Version", "Content-Type"]
EVIL = (
    "A\r\nBcc: all@x.example",
    "A\nSubject: B",
    "A\r\n\r\nnot the body",
    "A\u2028Bcc: x@x.example",
    "=?utf-8?q?A=0ABcc:_x?=",
)


@pytest.mark.parametrize("name", EVIL, ids=range(len(EVIL)))
def test_no_name_adds_a_header(desk, monkeypatch, name):
    card = replace(desk.card(), firm=replace(desk.card().firm, firm=name))
    monkeypatch.setattr(Desk, "card", lambda desk: card)
    path, _ = issue(desk, card, replace(TENT, client=name, event=name), next(desk.numbers()), date.today())
    draft = mail.make_draft(desk, path, TO)
    assert headers_of(draft) == HEADERS
    assert len(body(draft).splitlines()[0]) < 60 and "not the body" not in headers_of(draft)


def test_a_nul_makes_no_draft_and_no_header(desk, monkeypatch):
    """A file holds it as an escape, so a quote with it is not sent; what is not from a file becomes a blank."""
    firm = replace(desk.card().firm, firm="A\0B")
    card = replace(desk.card(), firm=firm)
    monkeypatch.setattr(Desk, "card", lambda desk: card)
    path, _ = issue(desk, card, replace(TENT, client="A\0B", event="A\0B"), next(desk.numbers()), date.today())
    with pytest.raises(Misuse, match="an escaped character in a text"):
        mail.make_draft(desk, path, TO)
    message = mail.compose(firm, TO, "A\0B", mail.one_line("A\0B"))
    assert headers_of(message) == [*HEADERS[:5], "Content-Type", "Content-Transfer-Encoding", "MIME-Version"]
    assert message["Subject"] == "A B" and "A B" in message["From"] and b"\0" not in message.as_bytes()


# Words


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_language_has_its_mail(desk, language):
    path, _ = issue(desk, desk.card().in_language(language), TENT, next(desk.numbers()), date.today())
    draft = mail.make_draft(desk, path, TO)
    assert "Q0001" in draft["Subject"] and "Avelie Marsh" in body(draft) and "{" not in body(draft)


@pytest.mark.parametrize(("region", "total"), [("MX", "1,061.92 USD"), ("ES", "1.061,92 USD"), ("", "1.061,92 USD")])
def test_the_same_language_writes_amounts_as_the_card_s_country_does(desk, monkeypatch, region, total):
    card = desk.card()
    card = replace(card, firm=replace(card.firm, language="es", region=region))
    monkeypatch.setattr(Desk, "card", lambda desk: card)
    path, content = issue(desk, card, TENT, next(desk.numbers()), date.today())
    assert content.results["total"] == D("1061.92")
    assert f"{total} en total" in body(mail.make_draft(desk, path, TO))


def test_a_mail_is_in_the_quote_s_own_language(desk):
    path, _ = issue(desk, desk.card().in_language("fr"), TENT, next(desk.numbers()), date.today())
    assert body(mail.make_draft(desk, path, TO)).startswith("Bonjour Avelie Marsh,")
    again = reissue(desk, path).path
    assert body(mail.make_draft(desk, again, TO)).startswith("Bonjour Avelie Marsh,")


def test_a_quote_without_a_day_for_its_deposit_says_none(desk):
    card = desk.card()
    card = replace(card, rates=replace(card.rates, deposit_days=D(0)))
    path, _ = issue(desk, card, TENT, next(desk.numbers()), date.today())
    assert "USD holds the date." in body(mail.make_draft(desk, path, TO))


def test_a_client_without_a_name_is_greeted(desk):
    path, _ = issue(desk, desk.card(), replace(TENT, client=""), next(desk.numbers()), date.today())
    assert body(mail.make_draft(desk, path, TO)).startswith("Good day,\n")


def test_the_desks_own_words_go_first(desk, issued):
    (desk.folder / "mail.en.toml").write_text(
        'subject = "{quote_number}"\ngreeting = "Hi {client}"\ngreeting_without_a_name = ""\n'
        'body = "{greeting}: {total}"\n'
        'decimal = "."\nthousands = " "\nday = ""\nmonths = ["","","","","","","","","","","",""]\n'
    )
    draft = mail.make_draft(desk, issued, TO)
    assert draft["Subject"] == "Q0001" and body(draft).startswith("Hi Avelie Marsh: 1,061.92")


@pytest.mark.parametrize(
    "text", ['subject = "{nobody}"', "subject =", 'subject = "{0}"', 'subject = "{client.x}"', 'subject = "{"', "a = 1"]
)
def test_words_that_cannot_be_used_are_said(desk, issued, text):
    (desk.folder / "mail.en.toml").write_text(text)
    with pytest.raises(Misuse, match=r"mail\.en\.toml: cannot be used for a mail"):
        mail.make_draft(desk, issued, TO)


# Only what was issued


def test_a_file_that_is_not_as_issued_is_not_sent(desk, tmp_path):
    path, content = issue(desk, desk.card(), TENT, next(desk.numbers()), date.today())
    back = demo.retype(path, tmp_path / "back.xlsx", content, {"guests": D(90)})
    with pytest.raises(Misuse, match=r"120 when issued, now 90\. Send the quote as issued"):
        mail.make_draft(desk, back, TO)


def test_an_older_revision_is_not_sent(desk, issued):
    reissue(desk, issued)
    with pytest.raises(Misuse, match="Revision 2 of Q0001 has been issued since"):
        mail.make_draft(desk, issued, TO)


def test_what_cannot_be_read_is_not_sent(desk, tmp_path):
    with pytest.raises(Unreadable, match="there is no such file"):
        mail.make_draft(desk, tmp_path / "gone.xlsx", TO)


# Options

OFFERED = replace(
    TENT, lines=(replace(TENT.lines[0], option="A"), FloorLine("WHITE-23", D(16), D(21), option="B")), picked="A"
)


@pytest.mark.parametrize("language", some(LANGUAGES, ["es"]))
def test_options_are_said_each_with_its_price(desk, language):
    card = desk.card().in_language(language)
    path, content = issue(desk, card, OFFERED, "Q0001", date.today())
    said = body(mail.make_draft(desk, path, TO, NOW))
    oak, white = content.results["option_said_a"].strip(), content.results["option_said_b"].strip()
    (first,), (second,) = ([line for line in said.splitlines() if text in line] for text in (oak, white))
    assert first.startswith("A") and second.startswith("B")
    for line, option in ((first, "a"), (second, "b")):
        digits = re.sub(r"\D", "", f"{content.results[f'total_{option}']:.2f}")
        assert digits in re.sub(r"\D", "", line)
    assert content.results["option_note_b"].strip() in second


def test_options_in_a_desk_s_older_words_and_no_word_of_them_without_any(desk, issued):
    assert "choice" not in body(mail.make_draft(desk, issued, TO, NOW))
    path, _ = issue(desk, desk.card(), OFFERED, "Q0002", date.today())
    own = 'subject = "Q"\ngreeting = "Hello"\ngreeting_without_a_name = "Hello"\nbody = "{greeting}{options_line}"\n'
    (desk.folder / "mail.en.toml").write_text(own)
    assert "option A is picked for now" in body(mail.make_draft(desk, path, TO, NOW))
