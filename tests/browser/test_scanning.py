"""A hand scanner types faster than pages answer, and presses Enter twice."""

import pytest
from playwright.sync_api import expect

from planning.models import DeliveryLine
from tests import build
from tests.browser.conftest import TODAY

pytestmark = pytest.mark.browser

GTIN = "12345678901231"
# A browser that reads bar codes by itself, and a camera that sees one.
READS_BAR_CODES = f"""
globalThis.BarcodeDetector = class {{
  static async getSupportedFormats() {{ return ["code_128"]; }}
  async detect() {{ return [{{rawValue: "01{GTIN}10CAM"}}]; }}
}};
navigator.mediaDevices.getUserMedia = async () =>
  document.createElement("canvas").captureStream();
HTMLMediaElement.prototype.play = async () => {{}};
"""


@pytest.fixture
def order(transactional_db, _day_stands_still):
    build.bakery(name="Crumb", time_zone="America/Chicago")
    butter = build.item("butter", place=build.place("walk-in"))
    pack = build.pack(butter, label="case", called="case", gtin=GTIN)
    return build.order(pack.supplier, deliver_on=TODAY, lines=[(pack, 6)])


def lots():
    return list(DeliveryLine.objects.order_by("pk").values_list("lot__code", flat=True))


def test_labels_scanned_without_a_pause_all_count_once(order, open_tab, sign_in):
    tab = open_tab(viewport={"width": 390, "height": 844})
    sign_in(tab)
    expect(tab.get_by_role("heading", level=1)).to_have_text("Today")
    tab.add_init_script(READS_BAR_CODES)
    tab.goto(f"/orders/{order.pk}/receive/")
    tab.get_by_label("Scan a label").focus()

    for lot in ("A1", "A1", "B2"):
        tab.keyboard.type(f"10{lot}")
        tab.keyboard.press("Control+]")  # how a keyboard types the separator
        tab.keyboard.type(f"01{GTIN}17260601")
        tab.keyboard.press("Enter")
        tab.keyboard.press("Enter")

    expect(tab.get_by_text("3 cases are to come.")).to_be_visible()
    assert lots() == ["A1", "A1", "B2"]
    expect(tab.get_by_label("Scan a label")).to_be_focused()
    expect(tab.get_by_role("textbox", name="Came")).to_have_value("3")

    tab.get_by_role("button", name="Use camera").click()

    expect(tab.get_by_text("2 cases are to come.")).to_be_visible()
    assert lots()[3:] == ["CAM"]
    assert tab.locator("video").count() == 0
