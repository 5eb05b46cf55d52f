"""A tiny kitchen as text, for tests that change a few of its rows."""

from datetime import datetime

from tests.reference.by_hand import plan

MONDAY = "2026-05-04T08:00+00:00"

# One cake of one filling of one item, one supplier: each test changes a few rows.
KITCHEN = {
    "Items": ["item,measure,safety,par,keeps_days", "Sugar,mass,,,"],
    "Suppliers": [
        "supplier,delivery_days,cutoff_days,cutoff_time,usable",
        "Mill,Tue Fri,1,14:00,next day",
    ],
    "Packs": ["supplier,item,pack,holds,price", "Mill,Sugar,bag,1 kg,2.00"],
    "Recipes": [
        "recipe,yields,batch_step,loss_percent,lead_days,keeps_days,is_cake",
        "Jam,1 kg,,,1,3,",
        "Cake,1 each,,,1,,yes",
    ],
    "Recipe lines": [
        "recipe,component,quantity,yield_percent",
        "Cake,Jam,600 g,",
        "Jam,Sugar,500 g,",
    ],
    "Bake plan": ["reference,due,cake,quantity", "A,2026-05-08,Cake,1"],
}


def kitchen(**changed):
    """The kitchen above with some sheets changed; `_` in a name is a space."""
    texts = KITCHEN | {name.replace("_", " "): rows for name, rows in changed.items()}
    return {
        name: [dict(zip(head.split(","), row.split(","), strict=True)) for row in rows]
        for name, (head, *rows) in texts.items()
    }


def worked(*, at=MONDAY, days=7, start=None, tentative=True, **changed):
    return plan(
        kitchen(**changed),
        at=datetime.fromisoformat(at),
        from_date=start,
        days=days,
        tentative=tentative,
    )


def made(result, recipe="Jam"):
    return [
        (row["date"][8:], row["amount"], row["surplus"])
        for row in result["making"]
        if row["recipe"] == recipe
    ]


def needed(result, item="Sugar"):
    return [
        (row["date"][8:], row["amount"], row["late"])
        for row in result["demand"]
        if row["item"] == item
    ]


def column(result, name):
    return [row[name] for row in result["projection"]]


def bakes(*rows):
    return ["reference,due,cake,quantity,status", *rows]


def recipes(jam):
    return [KITCHEN["Recipes"][0], jam, KITCHEN["Recipes"][2]]


def stock(*rows):
    return ["item,quantity,use_by", *rows]
