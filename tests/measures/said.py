"""Three thousand sayings of a counter: forms of amounts, put together by plain rules.

Not what they come to: they are for readers that have to agree, and for rules that hold
for whatever is said. The same list every time.
"""

from itertools import product

NUMBERS = (
    *("1", "2", "12", "0", "2.5", ".4", "1/2", "3/4", "12/32", "6/5", "1 3/4", "1-1/2"),
    *("½", "1¾", "1 and 2/3", "2 and a half", "two", "a", "an", "twenty-five", "no"),
    *(
        "ninety nine",
        "half a",
        "half of a",
        "half",
        "three quarters of a",
        "a third of",
    ),
    *(
        "1/4 of a",
        "a couple of",
        "a hundred",
        "two hundred and fifty",
        "hundred and a half",
        "36 x 1",
        "2 \N{MULTIPLICATION SIGN} 5",
        "about 6",
        "~3",
        "1,200",
        "1,5",
    ),
    *("13\N{FRACTION SLASH}4", "\N{FULLWIDTH DIGIT TWO}", "1 2/2", "1/0", "3 half"),
)
UNITS = {
    "butter": (
        *("case", "cases", "cs", "c", "bx", "b", "stick", "s", "lb", "lb.", "#", "oz"),
        *("cup", "T", "t", "Tbl", "tblsp", "gr", "gm", "kg", "G", "full case", ""),
        *("lb of butter", "cases left", "pints", "caes", "each", "pc", "dl"),
    ),
    "eggs": (
        *("eggs", "flat", "flats", "f", "fl", "case", "c", "dozen", "doz", "d", "ct"),
        *("dozen eggs", "pcs", "count", "gross", "gr", "e", "", "large eggs", "t"),
    ),
    "milk": (
        *("oz", "fl oz", "G", "g", "gal", "gallon", "jug", "j", "case", "c", "cup"),
        *("qt", "pt", "l", "L", "ltr", "cc", "cl", "oz weight", "", "T", "p"),
    ),
    "bread": ("c", "l", "loaf", "loaves", "case", "L", "liters", "g", "lf", "ls", ""),
    "cherries": ("#10 can", "can", "cans", "#10", "cn", "lb", "cherries"),
    "boxes": ("box", "boxes", "bx", "each", "cake boxes", "pk", "pack", ""),
    "ribbon": (
        "yd",
        "yds",
        "yard",
        "spool",
        "sp",
        '"',
        "\N{RIGHT DOUBLE QUOTATION MARK}",
    ),
}
COUNTING_UNITS = {
    "butter": "lb",
    "eggs": "flat",
    "milk": "jug",
    "bread": "loaf",
    "cherries": None,
    "boxes": "each",
    "ribbon": "yard",
}
ENDINGS = {
    "butter": (
        " and a half",
        " 6 lb",
        ", 6lb",
        " - bin",
        " - 3 oz",
        " less 2 tubs",
        " 5",
    ),
    "eggs": (" 5", " and a half", " + 7 each", " and a half dozen", " 1/2"),
    "milk": (" 8 oz", " and a quarter", " plus 1 cup", " 3"),
    "bread": (" 2l", " 3 loaves", " and a half"),
    "cherries": (" 1 #10 can", " and a half", " 2#10oz"),
    "boxes": (" 7", " and three quarters"),
    "ribbon": (" 5 yd", " and a half", " 4"),
}


def sayings():
    """Return (item, text, counting unit), each once."""
    said = {}
    for item, units in UNITS.items():
        for number, unit in product(NUMBERS, units):
            for text in (f"{number} {unit}", f"{number}{unit}"):
                said[item, text.strip(), None] = None
            said[item, f"{number} {unit}".strip(), COUNTING_UNITS[item]] = None
        for number, unit, ending in product(NUMBERS[:9], units, ENDINGS[item]):
            said[item, f"{number} {unit}{ending}", COUNTING_UNITS[item]] = None
    return list(said)
