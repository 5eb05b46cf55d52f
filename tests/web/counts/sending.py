"""What browsers and phones send of a count, and what is said to it."""

import json
from uuid import uuid4

from tests.build import NOON


def sheet_url(count):
    return f"/count/{count.pk}/{count.places.get().pk}/"


def send_page(browser, count, **typed):
    """Send the sheet as a browser without scripts does."""
    page = browser.get(sheet_url(count))
    form = {}
    for line in page.context["lines"]:
        form |= {line.id: line.text, f"{line.id}-was": line.was}
        form |= {f"{line.id}-key": line.form_key}
        form |= {line.id: typed[line.name]} if line.name in typed else {}
    extra = {key: text for key, text in typed.items() if key.startswith("extra")}
    extra |= {"answer": typed["answer"]} if "answer" in typed else {}
    return browser.post(sheet_url(count), form | extra, follow=True)


def entry(count, item, text, **fields):
    """An entry as a phone sends it."""
    return {
        "key": str(uuid4()),
        "count": count.pk,
        "place": count.places.get().pk,
        "item": item.pk,
        "text": text,
        "entered_at": NOON.isoformat(),
        "device": "phone",
        "sequence": 1,
        "by": None,
    } | fields


def send(browser, *entries):
    body = json.dumps({"entries": entries})
    response = browser.post("/count/entries/", body, content_type="application/json")
    return response.json()["answers"] if response.status_code == 200 else response


def said(response):
    return [str(message) for message in response.context["messages"]]


def as_reviewed(browser, count):
    """What a page sends that has seen the review as it is now."""
    review = browser.get(f"/count/{count.pk}/review/").context["review"]
    return {"shown": review.shown}
