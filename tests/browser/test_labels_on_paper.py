"""Labels as they are printed: each code is read from the paper by another decoder."""

import subprocess

import numpy as np
import pytest
from playwright.sync_api import expect

from stock.labels.reading import read_label
from tests import build
from tests.browser.conftest import TODAY
from tests.libreoffice import found
from tests.stock.labels.decoding import texts_in

pytestmark = pytest.mark.browser

DOTS_PER_INCH = 200


def printed(tab, folder):
    """Return the pages that the open page prints, as pictures of grey values."""
    tab.pdf(path=folder / "labels.pdf", prefer_css_page_size=True)
    program = found("poppler-utils", "pdftoppm")
    subprocess.run(
        [program, "-gray", "-r", str(DOTS_PER_INCH), "labels.pdf", "page"],
        cwd=folder,
        check=True,
    )
    return [grey_of(path) for path in sorted(folder.glob("page-*.pgm"))]


def grey_of(path):
    kind, size, most, pixels = path.read_bytes().split(b"\n", 3)
    assert (kind, most) == (b"P5", b"255")
    width, height = map(int, size.split())
    return np.frombuffer(pixels, dtype=np.uint8).reshape(height, width)


@pytest.fixture
def lot_id(transactional_db, _day_stands_still):
    build.bakery(name="Crumb", time_zone="America/Chicago")
    cream = build.item(
        "Whole-milk ricotta, hand-dipped, in small baskets from the valley",
        place=build.place("walk-in"),
        allergens="milk; wheat; eggs; soybeans; hazelnuts; pistachios; sesame; "
        "almonds; walnuts; crustacean shellfish; fish",
    )
    return build.stock(
        cream, 900, lot="C7-1234567890/A-1234567890-XYZ", use_by=TODAY, kind="received"
    )


def test_a_sheet_and_a_strip_are_printed_whole_and_read_back(
    lot_id, open_tab, sign_in, tmp_path
):
    tab = open_tab()
    sign_in(tab)
    expect(tab.get_by_role("heading", level=1)).to_have_text("Today")
    sizes = {"letter": (8.5, 11), "a4": (8.27, 11.69), "strip": (2.44, 1.57)}
    for paper, (wide, high) in sizes.items():
        folder = tmp_path / paper
        folder.mkdir()
        tab.goto(f"/labels/?lot={lot_id}&copies=26&paper={paper}")
        expect(tab.get_by_role("button", name="Print")).to_be_visible()

        pages = printed(tab, folder)

        assert len(pages) == (26 if paper == "strip" else 2)
        height, width = pages[0].shape
        assert width == pytest.approx(wide * DOTS_PER_INCH, abs=3)
        assert height == pytest.approx(high * DOTS_PER_INCH, abs=3)
        texts = [text for page in pages for text in texts_in(page)]
        assert len(texts) == 26
        (text,) = set(texts)
        label = read_label(text, today=TODAY)
        assert (label.own_lot_id, label.use_by) == (lot_id, TODAY)
        assert cut_off(tab) == []


def cut_off(tab):
    """Return the labels whose words take more room on paper than they have."""
    tab.emulate_media(media="print")
    found = tab.evaluate(
        "() => [...document.querySelectorAll('.label')]"
        ".filter((each) => each.scrollHeight > each.clientHeight + 1)"
        ".map((each) => [each.scrollHeight, each.clientHeight])"
    )
    tab.emulate_media(media="null")
    return found
