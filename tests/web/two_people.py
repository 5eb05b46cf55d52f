"""Forms that two people have open at once."""


def opened(browser, address):
    """Return everything that a form would send if its button were pressed at once."""
    response = browser.get(address)
    form = response.context["form"]
    sent = {}
    for field in form:
        value = field.value()
        if value is True:
            sent[field.html_name] = "on"
        elif value not in (None, False):
            sent[field.html_name] = value
    return sent


def again(response):
    """Return what the form that came back would send."""
    form = response.context["form"]
    return {
        field.html_name: field.value()
        for field in form
        if field.value() not in (None, False)
    }


def conflicts(response):
    form = response.context["form"]
    return {
        name: field.conflict.words
        for name, field in form.fields.items()
        if getattr(field, "conflict", None)
    }
