"""What the browser understands of an entry is what the server understands."""

import random

import pytest
from django.templatetags.static import static

from stock.errors import MeasureError, SeveralReadingsError
from stock.measures.nouns import with_noun
from stock.measures.reading.spoken import read_spoken
from stock.measures.resolution import to_ledger
from stock.measures.slips import Record, Spread, question
from stock.web.counts.phone import phone_rules, phone_words
from tests.measures.said import sayings
from tests.measures.spoken_items import ITEMS, SAID, TARES

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

READ = """async ([said, items, grammar]) => {
  const from = (name) => import(`FOLDER${name}.js`);
  const [{ read }, { Words }, { toLedger }] =
    await Promise.all(["reading", "words", "fractions"].map(from));
  return said.map(([item, text, unit]) => {
    try {
      const reading = read(text, new Words(items[item], grammar), unit ?? null);
      return reading && toLedger(reading.base);
    } catch (error) {
      if (error.name !== "Unreadable") { throw error; }
      return error.readings.length ? error.readings : "refused";
    }
  });
}"""
ASK = """async ([cases, items, { grammar, rules }]) => {
  const from = (name) => import(`FOLDER${name}.js`);
  const [{ read }, { Words }, { question }] =
    await Promise.all(["reading", "words", "slips"].map(from));
  return cases.map(({ item, text, record }) => {
    const words = new Words(items[item], grammar);
    const slip = question(read(text, words), record, words, rules);
    return slip && [slip.kind, slip.instead ?? null];
  });
}"""
ECHO = """async ([said, items, grammar]) => {
  const from = (name) => import(`FOLDER${name}.js`);
  const [{ read }, { Words }, { echo }] =
    await Promise.all(["reading", "words", "echo"].map(from));
  return said.map(([item, text]) => {
    const words = new Words(items[item], grammar);
    return echo(read(text, words, null), words);
  });
}"""
READ, ASK, ECHO = (
    script.replace("FOLDER", static("stock/count/")) for script in (READ, ASK, ECHO)
)
# Spaces of every width and none, other scripts' digits, capitals that grow when made
# small, accents on their own, half a character, and what a phone puts in by itself.
ODD = (
    *(
        "",
        " ",
        "\t",
        "\n",
        "\xa0",
        "\u202f",
        "\u3000",
        "\u200b",
        "\ufeff",
        "\x1c",
        "\x85",
    ),
    *("\u2028", "\u0662", "\uff12", "\u00b2", "\u2152", "\u2189", "\u0130", "\u00df"),
    *(
        "\u1e9e",
        "\u03a3",
        "\u0301",
        "e\u0301",
        "\u212a",
        "\u2044",
        "\u2215",
        "\u00f7",
        "\u2013",
    ),
    *("\u2019", "\U0001f9c8", "\ud800", "\u2e2f", "\ufb01", ",", ",,", "'", "..", "&"),
)
WORDS = {name: phone_words(item, TARES) for name, item in ITEMS.items()}
NUMBERS = ("2", "12", "1/2", "2.5", "0.4", "1 3/4", "half a", "two", "a", "3/0", "5e9")
UNITS = (
    *("c", "case", "cases", "b", "bag", "lb", "oz", "#", "st", "carton", "flat"),
    *("full bag", "case-bin", "fl oz", "lb.5", "kg", "each", "e", "s", "x"),
)
LOOSE = ("case", "bag", "lb", "oz", "kg", "g", "each", "dozen", "cup", "tbsp", "quart")
BETWEEN = ("+", "and", ",", "-", "less", "\N{MINUS SIGN}", "and a half", "", "", "")
# Words of the grammar, and what a keyboard or a program makes of signs.
MORE = (
    *("of", "a", "and", "half", "quarters", "thirds", "couple", "twenty", "five", "no"),
    *("about", "~", "x", "#", "#10", "T", "t", "G", "gr", "eggs", "left", "3/4"),
    *("1,200", "1-1/2", "13\N{FRACTION SLASH}4", "\N{RIGHT DOUBLE QUOTATION MARK}"),
)
ENDINGS = ("", "", "- bin", "less 2 tubs", "-2.15 lb tare", "tare", "none", "+")


@pytest.fixture
def tab(open_tab):
    """A page of the site, from which the modules can be loaded."""
    page = open_tab()
    page.goto("/sign-in/")
    return page


def server_reads(item, text, unit=None):
    try:
        spoken = read_spoken(text, ITEMS[item], TARES, counting_unit=unit)
    except SeveralReadingsError as asked:
        return list(asked.readings)
    except MeasureError:
        return "refused"
    return None if spoken is None else f"{to_ledger(spoken.amount_base):.4f}"


def disagreements(tab, said):
    answers = tab.evaluate(READ, [said, WORDS, phone_rules()["grammar"]])
    return [
        (each, server_reads(*each), answer)
        for each, answer in zip(said, answers, strict=True)
        if answer != server_reads(*each)
    ]


def test_the_browser_reads_the_list_written_by_hand_as_the_server_does(tab):
    said = [[row["item"], row["said"]] for row in SAID]

    assert disagreements(tab, said) == []


def test_the_browser_reads_the_forms_of_the_grammar_as_the_server_does(tab):
    said = [list(each) for each in sayings()]

    assert len(said) >= 3_000
    assert sum(type(server_reads(*each)) is list for each in said) > 1_000
    assert disagreements(tab, said) == []


def echoed(item, text):
    try:
        spoken = read_spoken(text, ITEMS[item], TARES)
    except MeasureError:
        return None
    return spoken and with_noun(spoken.understood, ITEMS[item])


def together(draw):
    """One to three amounts, as somebody would say them beside each other."""
    amounts = (f"{draw.choice(NUMBERS)} {draw.choice(LOOSE)}" for _ in range(3))
    return " + ".join(list(amounts)[: draw.randint(1, 3)])


def test_the_browser_echoes_an_entry_as_the_server_does(tab):
    draw = random.Random(8)
    thrown = [(draw.choice(list(ITEMS)), together(draw)) for _ in range(4_000)]
    forms = [(item, text) for item, text, *_ in sayings()]
    said = [each for each in [*forms, *thrown] if echoed(*each)]

    answers = tab.evaluate(ECHO, [said, WORDS, phone_rules()["grammar"]])

    assert len(said) > 8_000
    assert any(" + " in answer and " = " in answer for answer in answers)
    assert [
        (each, answer)
        for each, answer in zip(said, answers, strict=True)
        if answer != echoed(*each)
    ] == []


def thrown_together(draw):
    gap = draw.choice(["", " "])
    pieces = [draw.choice(NUMBERS), draw.choice(UNITS)]
    if draw.random() < 0.4:
        pieces += [draw.choice(BETWEEN), draw.choice(NUMBERS), draw.choice(UNITS)]
    return gap.join([*pieces, draw.choice(ENDINGS)])


def test_the_browser_reads_pieces_thrown_together_as_the_server_does(tab):
    draw = random.Random(4)
    said = [[draw.choice(list(ITEMS)), thrown_together(draw)] for _ in range(5_000)]

    assert sum(server_reads(*each) != "refused" for each in said) > 400
    assert disagreements(tab, said) == []


def test_the_browser_reads_words_in_any_order_as_the_server_does(tab):
    draw = random.Random(5)
    vocabulary = [*NUMBERS, *UNITS, *MORE, *BETWEEN]
    said = []
    for _ in range(8_000):
        pieces = [draw.choice(vocabulary) for _ in range(draw.randint(1, 6))]
        text = draw.choice(["", " ", " "]).join(pieces)
        unit = draw.choice([None, None, "each", "lb"])
        said.append([draw.choice(list(ITEMS)), text, unit])

    assert sum(server_reads(*each) != "refused" for each in said) > 400
    assert disagreements(tab, said) == []


def test_the_browser_reads_odd_characters_as_the_server_does(tab):
    draw = random.Random(7)
    said = []
    for _ in range(4_000):
        number, unit = draw.choice(NUMBERS[:7]), draw.choice(UNITS[:9])
        typed = list(f"{number} {unit}")
        typed.insert(draw.randrange(len(typed)), draw.choice(ODD))
        said.append([draw.choice(list(ITEMS)), "".join(typed)])

    assert sum(server_reads(*each) != "refused" for each in said) > 400
    assert disagreements(tab, said) == []


def test_the_browser_asks_about_the_same_entries_as_the_server(tab):
    draw = random.Random(6)
    cases, asked = [], []
    for item, text in 600 * [
        ("butter", "3 case"),
        ("butter", "12 lb 4 oz"),
        ("flour", "2.4 bag"),
        ("eggs", "12 flat"),
        ("cream", "21 carton"),
    ]:
        spoken = read_spoken(text, ITEMS[item])
        off = draw.choice([1, 1.07, 0.4, 1 / 36, 31, 1 / 12, 11.7, 0.52, 0])
        record = Record(
            expected_base=float(spoken.amount_base) * off,
            usual_base=draw.choice([0.0, float(spoken.amount_base)]),
            spread=Spread(draw.choice([0.0, 0.05]), draw.choice([0.03, 0.1, 0.3]), 5),
            not_counted_yet=draw.choice([(), ("freezer",)]),
        )
        slip = question(spoken, record, ITEMS[item])
        instead = slip.instead.text if slip and slip.instead else None
        asked.append([slip.kind.value, instead] if slip else None)
        cases.append(
            {
                "item": item,
                "text": text,
                "record": {
                    "expected_base": record.expected_base,
                    "usual_base": record.usual_base,
                    "middle": record.spread.middle,
                    "width": record.spread.width,
                    "not_counted_yet": record.not_counted_yet,
                    "words": "",
                },
            }
        )

    assert tab.evaluate(ASK, [cases, WORDS, phone_rules()]) == asked
    assert {kind for kind, _ in filter(None, asked)} >= {"pack", "place", "far off"}
