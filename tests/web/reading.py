"""What is read on the pages of the site."""

import re
from html import unescape


def page(browser, address):
    response = browser.get(address)
    assert response.status_code == 200
    return unescape(response.content.decode()).replace("\N{NO-BREAK SPACE}", " ")


def told(browser, response):
    """What is said after a change, on the page that it leads to."""
    assert response.status_code == 302
    followed = browser.get(response.url)
    messages = (str(message) for message in followed.context["messages"])
    return [words.replace("\N{NO-BREAK SPACE}", " ") for words in messages]


def hidden_fields(browser, address, *, action):
    """What a page's first form to some address sends without being filled in."""
    form = page(browser, address).split(f'action="{action}"')[1].split("</form>")[0]
    return dict(re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', form))


def as_shown(row):
    """What every form and button of a page sends that shows a row as it is now."""
    return {"version": type(row).objects.values_list("version").get(pk=row.pk)[0]}
