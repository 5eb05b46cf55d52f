"""What if as a browser goes through it."""

import re
from datetime import timedelta
from html import unescape

from tests.build import MONDAY

ADDRESS = "/what-if/"
FRIDAY, SATURDAY = MONDAY + timedelta(days=4), MONDAY + timedelta(days=5)


def tried(browser, kind, **entry):
    sent = {"change": kind, **{f"{kind}-{name}": text for name, text in entry.items()}}
    response = browser.post(ADDRESS, sent, follow=True)
    assert response.status_code == 200
    return " ".join(unescape(response.content.decode()).split())


def two_tortes(browser):
    return tried(
        browser,
        "add-cake",
        reference="W-1",
        cake="Torte",
        due=FRIDAY.isoformat(),
        quantity="2",
        size="",
    )


def words_of(markup):
    return " ".join(re.sub(r"<[^>]+>", " ", markup).split())


def figures(markup, name):
    """The two cells of a row of the table."""
    row = markup.split(f">{name}<")[1].split("</tr>")[0]
    cells = row.partition("/th>")[2].split("</td>")[:-1]
    return [words_of(cell.partition("</summary>")[0]) for cell in cells]


def link_in(markup, words):
    """Where a link leads, by what it says."""
    return unescape(re.search(rf'href="([^"]*)">{words}</a>', markup)[1])


def undo(browser, *, mark=None, place=0):
    """Press one change's button for undoing it, or send what a page would have sent."""
    which = mark or marks(browser)[place]
    return browser.post(f"{ADDRESS}take-back/", {"which": which}, follow=True)


def marks(browser):
    """What the buttons that undo each change send."""
    markup = browser.get(ADDRESS).content.decode()
    return re.findall(r'name="which" value="(?!all)([^"]*)"', markup)
