"""Contrast of the colour tokens, in the light and in the dark scheme.

Relative luminance and contrast ratio as defined in WCAG 2.2, section "Glossary"
(https://www.w3.org/TR/WCAG22/#dfn-relative-luminance and #dfn-contrast-ratio). The
bounds: 4.5:1 is its success criterion 1.4.3 (AA), 7:1 its 1.4.6 (AAA), 3:1 for edges
of controls and graphics its 1.4.11.
"""

import re
from pathlib import Path

import pytest
from django.conf import settings

TOKENS = Path(settings.BASE_DIR) / "stock/static/stock/tokens.css"

WORDS, FIGURES, SHAPES = 4.5, 7.0, 3.0
PAIRS = [
    ("ink", "paper", FIGURES),
    ("ink", "paper-deep", FIGURES),
    ("ink", "field", FIGURES),
    ("ink", "shelf", FIGURES),
    ("ink-soft", "paper", FIGURES),
    ("ink-soft", "paper-deep", WORDS),
    ("beet", "paper", WORDS),
    ("beet", "paper-deep", WORDS),
    ("slate", "paper", WORDS),
    ("slate", "paper-deep", WORDS),
    ("on-action", "action", WORDS),
    ("paper", "ink", FIGURES),
    ("edge", "paper", SHAPES),
    ("edge", "field", SHAPES),
    ("beet", "shelf", SHAPES),
    ("slate", "shelf", SHAPES),
]


def luminance(colour):
    digits = colour.removeprefix("#")
    if len(digits) == 3:
        digits = "".join(digit * 2 for digit in digits)
    red, green, blue = (
        channel / 12.92 if channel <= 0.04045 else ((channel + 0.055) / 1.055) ** 2.4
        for channel in (int(digits[i : i + 2], 16) / 255 for i in (0, 2, 4))
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(first, second):
    darker, lighter = sorted((luminance(first), luminance(second)))
    return (lighter + 0.05) / (darker + 0.05)


def schemes():
    """Return the tokens of each scheme; dark and print change what light says."""
    parts = re.split(r"@media ", TOKENS.read_text(encoding="utf-8"))
    light, dark, printed = (
        dict(re.findall(r"--([a-z-]+):\s*(#[0-9a-f]{3,6});", part)) for part in parts
    )
    return {"light": light, "dark": light | dark, "print": light | printed}


@pytest.mark.parametrize(
    ("first", "second", "ratio"),
    [
        ("#000", "#fff", 21.0),  # WCAG 2.2: "contrast ratios can range from 1 to 21"
        ("#fff", "#ffffff", 1.0),
        # (0.2126 + 0.05) / 0.05 by hand: pure red on black
        ("#f00", "#000", 5.252),
    ],
)
def test_the_formula_agrees_with_known_ratios(first, second, ratio):
    assert contrast(first, second) == pytest.approx(ratio)


@pytest.mark.parametrize("scheme", ["light", "dark", "print"])
@pytest.mark.parametrize(("front", "ground", "least"), PAIRS)
def test_every_pair_of_tokens_can_be_read(scheme, front, ground, least):
    tokens = schemes()[scheme]

    assert contrast(tokens[front], tokens[ground]) >= least


def test_the_dark_scheme_sets_every_colour_of_the_light_one_anew():
    parts = re.split(r"@media ", TOKENS.read_text(encoding="utf-8"))
    named = [set(re.findall(r"--([a-z-]+):\s*#", part)) for part in parts]

    assert named[0] - named[1] == set()
    assert named[0] - named[2] == set()


def test_no_other_stylesheet_names_a_colour():
    others = [sheet for sheet in TOKENS.parent.glob("*.css") if sheet != TOKENS]

    assert others
    for sheet in others:
        text = sheet.read_text(encoding="utf-8")
        assert not re.findall(r"#[0-9a-fA-F]{3,8}\b|rgba?\(|hsla?\(", text), sheet.name
