"""Two people save the same form, without scripts: the second sees both, and chooses."""

import pytest

pytestmark = pytest.mark.browser


@pytest.fixture
def tabs(demo_kitchen, open_tab, sign_in):
    """Two phones without scripts, on the page of one item of the demo kitchen."""
    pages = []
    for _ in range(2):
        page = open_tab(
            java_script_enabled=False, viewport={"width": 390, "height": 844}
        )
        sign_in(page)
        page.goto("/shelves/")
        page.get_by_role("main").get_by_role("link", name="all-purpose flour").click()
        page.get_by_role("link", name="Edit", exact=True).first.click()
        pages.append(page)
    return pages


def par(tab):
    return tab.locator("#id_par")


def save(tab):
    tab.get_by_role("button", name="Save this item").click()


def test_the_second_sees_both_and_keeps_what_the_first_saved(tabs):
    first, second = tabs
    par(first).fill("60 lb")
    second.locator("#id_keeps_days").fill("200")
    par(second).fill("70 lb")

    save(first)
    save(second)

    alert = second.get_by_role("alert").inner_text()
    assert alert.startswith("Somebody saved this after you opened it.")
    assert par(second).input_value() == "70 lb"
    second.get_by_label("Keep 60 lb").check()
    save(second)
    second.get_by_role("link", name="Edit", exact=True).first.click()
    assert par(second).input_value() == "60 lb"
    assert second.locator("#id_keeps_days").input_value() == "200"
