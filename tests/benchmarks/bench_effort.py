"""How many keys a line of the demo's count takes, said as people say it.

Run: python -m tests.benchmarks.bench_effort [--lines]

`said_at_the_shelf.csv` says of every line of the demo's sheet what somebody who had not
seen the grammar would type, and what was meant. A letter is a key, so is Enter, so is a
quick button (written in brackets: `2[case]6`), and so is an answer to a question that
offers what was meant. What is refused, or asked without offering it, is typed again as
the list says. A figure that is taken for another without a question is a silent
misreading. Exit code 1 where the median is over 5, the mean over 7, or one is misread.
"""

import argparse
import csv
import os
import re
import statistics
import sys
import tempfile
from collections import Counter
from dataclasses import dataclass
from datetime import UTC, date, datetime
from fractions import Fraction
from pathlib import Path

LIST = Path(__file__).with_name("said_at_the_shelf.csv")
MOST_MEDIAN, MOST_MEAN = 5, 7
BUTTON = re.compile(r"\[([^\]]+)\]")
NEAR = Fraction(1, 1000)  # the same figure, said in other units
MOMENT = datetime(2026, 5, 5, 15, tzinfo=UTC)


@dataclass(frozen=True)
class Outcome:
    """What one line cost, and how it went."""

    line: str
    typed: str
    keys: int
    how: str  # taken, asked, refused or misread


def main() -> int:
    arguments = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    arguments.add_argument("--lines", action="store_true", help="show every line")
    shown = arguments.parse_args().lines
    _on_a_kitchen_of_its_own()
    outcomes = [_outcome(*pair) for pair in _said_of_lines()]
    for outcome in outcomes:
        if shown or outcome.how != "taken":
            print(f"{outcome.how:8} {outcome.keys:3}  {outcome.line}: {outcome.typed}")
    keys = [outcome.keys for outcome in outcomes]
    median, mean = statistics.median(keys), statistics.mean(keys)
    ways = Counter(outcome.how for outcome in outcomes)
    print(
        f"{len(keys)} lines: median {median:g} keys, mean {mean:.1f}; "
        + ", ".join(f"{how} {ways[how]}" for how in ("taken", "asked", "refused"))
        + f", misread {ways['misread']}"
    )
    return int(median > MOST_MEDIAN or mean > MOST_MEAN or bool(ways["misread"]))


def _on_a_kitchen_of_its_own() -> None:
    folder = tempfile.mkdtemp()
    os.environ["DATABASE_URL"] = f"sqlite:///{folder}/demo.sqlite3"
    os.environ["DJANGO_SETTINGS_MODULE"] = "stock.site.settings"
    import django
    from django.core.management import call_command

    django.setup()
    call_command("migrate", verbosity=0)
    from planning.demo import build_sheets, counted_on
    from planning.interchange.loading import load_kitchen

    day = date(2026, 5, 5)
    counted_at = datetime.combine(counted_on(day), datetime.min.time(), tzinfo=UTC)
    load_kitchen(build_sheets(day), at=counted_at)


def _said_of_lines():
    """Pair each line of the demo's sheet with its row of the list."""
    from stock.counts.counting import open_count, sheets

    with LIST.open(encoding="utf-8", newline="") as file:
        said = {
            (row["place"], row["item"], row["use_by"]): row
            for row in csv.DictReader(file)
        }
    lines = [
        line
        for sheet in sheets(open_count(counted_at=MOMENT, at=MOMENT).pk)
        for line in sheet.lines
    ]
    for line in lines:
        place, item = line.line.place.name, line.line.item.name
        yield line, said.pop((place, item, str(line.line.use_by or "")))
    if said:
        raise SystemExit(f"The demo's sheet has no such lines: {sorted(said)}")


def _outcome(line, row) -> Outcome:
    from stock.measures.reading.spoken import read_spoken

    meant_base = read_spoken(row["meant"], line.converter).amount_base
    typed = row["typed"]
    keys = len(BUTTON.sub("b", typed)) + 1
    again = len(BUTTON.sub("b", row["again"])) + 1
    how = _how(line, BUTTON.sub(r" \1 ", typed), meant_base)
    keys += {"taken": 0, "asked": 1, "refused": again, "misread": 0}[how]
    name = f"{line.line.place.name}, {line.line.item.name}"
    return Outcome(name, typed, keys, how)


def _how(line, text: str, meant_base: Fraction) -> str:
    from stock.errors import MeasureError, SeveralReadingsError
    from stock.measures.reading.spoken import read_spoken
    from stock.measures.slips import question

    unit = {"counting_unit": line.counting_unit}
    try:
        spoken = read_spoken(text, line.converter, line.tares, **unit)
    except SeveralReadingsError as error:
        return "asked" if _is_among(line, error.readings, meant_base) else "refused"
    except MeasureError:
        return "refused"
    slip = question(spoken, line.record, line.converter)
    is_meant = _is_same(spoken.amount_base, meant_base)
    if slip is None:
        return "taken" if is_meant else "misread"
    offered = [slip.instead.text] if slip.instead else []
    return "asked" if is_meant or _is_among(line, offered, meant_base) else "refused"


def _is_among(line, texts, meant_base: Fraction) -> bool:
    from stock.measures.reading.spoken import read_spoken

    return any(
        _is_same(read_spoken(text, line.converter).amount_base, meant_base)
        for text in texts
    )


def _is_same(one_base: Fraction, other_base: Fraction) -> bool:
    return abs(one_base - other_base) <= NEAR * max(one_base, other_base)


if __name__ == "__main__":
    sys.exit(main())
